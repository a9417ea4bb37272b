//! From raw readings of an analyzer to corrected ones: standards, error terms, and the methods
//! that find the terms from the standards.
//!
//! | symbol | meaning |
//! | --- | --- |
//! | m | raw reading, what the receivers show |
//! | Γ | true reflection at the reference plane |
//! | e00 | directivity |
//! | e11 | source match |
//! | e10e01 | reflection tracking |
//! | e22 | load match, with the other port as the receiver |
//! | e10e32 | through tracking |
//! | e30 | crosstalk |
//!
//! All of them are dimensionless and belong to one frequency. A prime marks the reverse
//! direction, in which port 2 sends.
//!
//! A [`Kit`] of standards becomes [`Definitions`] at a frequency: what each standard is taken
//! for. [`solve()`] turns the [`MeasuredStandards`] with them into a [`Correction`]. It is a pure
//! function of both, so the uncertainty by a standard is had by moving its definition.
//!
//! ```
//! use jigwise_physics::{
//!     Complex64, Definitions, Fixture, Immittance, Kit, Method, Network, RawAnalyzer,
//!     ReferenceImpedance, solve,
//! };
//!
//! let (z0, freq_hz) = (ReferenceImpedance::FIFTY_OHM, 1e9);
//! let analyzer = RawAnalyzer::new(7);
//! let standards = Definitions::of(&Kit::IDEAL, freq_hz, z0)?;
//! let measured = analyzer.measure_standards(&standards, freq_hz, &[], None);
//! let correction = solve(Method::BothDirections, &measured, &standards)?;
//!
//! let part = Immittance::from_impedance(Complex64::new(20.0, -15.0))?;
//! let network = Network::shunt(part).scattering(z0).unwrap();
//! let raw = analyzer.measure(&network, freq_hz, None);
//! let ohms = |s21| {
//!     let back = Fixture::ShuntThrough.immittance(s21, z0).unwrap();
//!     back.impedance().unwrap()
//! };
//! let off = |z: Complex64| (z - Complex64::new(20.0, -15.0)).norm();
//! assert!(off(ohms(raw.s21)) > 1.0);
//! assert!(off(ohms(correction.apply(&raw).s21)) < 1e-12);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Sources: A. Rumiantsev and N. Ridler, "VNA calibration", IEEE Microwave Magazine 9(3),
//! 86–99, 2008; J. Kruppa and K. F. Sodomsky, IEEE Trans. MTT-19(1), 122, 1971 (explicit
//! correction with twelve terms); R. B. Marks, 50th ARFTG Conference, 115–126, 1997 (switch
//! terms); A. Ferrero and U. Pisani, IEEE Microwave and Guided Wave Letters 2(12), 505–507,
//! 1992 (unknown through). Bibliographic data seen, equations derived here and checked against
//! scikit-rf 2.2.0.

mod analyzer;
mod correction;
mod error;
mod measured;
mod method;
mod one_port;
mod one_port_sensitivity;
mod raw_reading;
mod sensitivity;
mod solve;
mod standard;
mod step;
mod terms;
mod two_port_sensitivity;

pub use analyzer::{Connection, RawAnalyzer};
pub use correction::Correction;
pub use error::CalibrationError;
pub use measured::{Definitions, Isolation, Kit, MeasuredStandards, Port, SwitchTerms};
pub use method::{Method, Normaliser};
pub use one_port::{MIN_SEPARATION, OnePortFit, OnePortTerms};
pub use sensitivity::RAW_STANDARD_READINGS;
pub use solve::solve;
pub use standard::{OffsetLine, Standard, Termination, ThroughStandard};
pub use step::{CalibrationStep, Piece, ReflectionStandard, Trio};
pub use terms::{DirectionTerms, TwelveTerms};
pub use two_port_sensitivity::ThroughDerivatives;
