//! Devices as they are built: a value and what comes with it.
//!
//! A [`Part`] holds numbers only and is `Copy`. Its [`Part::immittance`] is the circuit given in
//! the documentation of each kind. Beside it stand the derived numbers of the trade:
//! self-resonance, Q, the frequencies of a crystal.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | ω | 2π·f | rad/s |
//! | R, L, C | resistance, inductance, capacitance | Ω, H, F |
//! | ESR, ESL | resistance and inductance in series with a capacitance | Ω, H |
//! | fs, fp | series and parallel resonance of a crystal | Hz |
//! | Zc, τ | characteristic impedance of a line and its delay one way | Ω, s |
//!
//! ```
//! use jigwise_physics::{Capacitor, Part};
//! let part = Part::from(Capacitor {
//!     capacitance_f: 100e-9,
//!     esr_ohm: 0.05,
//!     esl_h: 1e-9,
//!     leakage_ohm: None,
//! });
//! // Above 15.9 MHz this capacitor is a coil.
//! assert!(part.immittance(20e6)?.impedance().unwrap().im > 0.0);
//! # Ok::<(), jigwise_physics::NumberError>(())
//! ```

mod capacitor;
mod choke;
mod crystal;
mod inductor;
mod resistor;
mod rlc;
mod stub;

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::{Immittance, NumberError};

pub use capacitor::Capacitor;
pub use choke::Choke;
pub use crystal::{Crystal, PhaseFrequencies};
pub use inductor::{Inductor, SkinLoss};
pub use resistor::Resistor;
pub use rlc::{ParallelRlc, SeriesRlc};
pub use stub::{LineEnd, Stub};

/// A device model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Part {
    /// Resistor with parallel capacitance and lead inductance.
    Resistor(Resistor),
    /// Capacitor with ESR, ESL and leakage.
    Capacitor(Capacitor),
    /// Coil with winding resistance and capacitance.
    Inductor(Inductor),
    /// R, L and C one after the other.
    SeriesRlc(SeriesRlc),
    /// R, L and C side by side.
    ParallelRlc(ParallelRlc),
    /// Quartz crystal.
    Crystal(Crystal),
    /// Winding on a lossy core.
    Choke(Choke),
    /// Line with an open or a short at its end.
    Stub(Stub),
}

impl Part {
    /// True for a resistor, capacitor or coil without parasitics.
    pub fn is_ideal(&self) -> bool {
        match self {
            Self::Resistor(part) => part.is_ideal(),
            Self::Capacitor(part) => part.is_ideal(),
            Self::Inductor(part) => part.is_ideal(),
            Self::SeriesRlc(_)
            | Self::ParallelRlc(_)
            | Self::Crystal(_)
            | Self::Choke(_)
            | Self::Stub(_) => false,
        }
    }

    /// The device at `freq_hz`.
    ///
    /// # Errors
    /// [`NumberError`] for a frequency or a main value that is not finite and above zero, and
    /// for a parasitic that is not finite and zero or more.
    pub fn immittance(&self, freq_hz: f64) -> Result<Immittance, NumberError> {
        match self {
            Self::Resistor(part) => part.immittance(freq_hz),
            Self::Capacitor(part) => part.immittance(freq_hz),
            Self::Inductor(part) => part.immittance(freq_hz),
            Self::SeriesRlc(part) => part.immittance(freq_hz),
            Self::ParallelRlc(part) => part.immittance(freq_hz),
            Self::Crystal(part) => part.immittance(freq_hz),
            Self::Choke(part) => part.immittance(freq_hz),
            Self::Stub(part) => part.immittance(freq_hz),
        }
    }
}

macro_rules! part_from {
    ($($kind:ident),*) => {$(
        impl From<$kind> for Part {
            fn from(part: $kind) -> Self {
                Self::$kind(part)
            }
        }
    )*};
}

part_from!(
    Resistor,
    Capacitor,
    Inductor,
    SeriesRlc,
    ParallelRlc,
    Crystal,
    Choke,
    Stub
);

/// 1/(2π√(LC)) in hertz; infinite where one of them is zero.
pub(crate) fn resonance_hz(inductance_h: f64, capacitance_f: f64) -> f64 {
    1.0 / (TAU * (inductance_h * capacitance_f).sqrt())
}

/// 1/(1/Z + jωC): a capacitance across `z`.
fn shunted(z: Complex64, omega: f64, capacitance_f: f64) -> Complex64 {
    z / (1.0 + z * Complex64::new(0.0, omega * capacitance_f))
}
