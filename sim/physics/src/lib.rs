//! The physics of measuring an impedance with a vector network analyzer in three
//! fixtures. Numbers only: no files, no text formats, no window.
//!
//! One part is one point. A device is an [`Immittance`], a pair (v, i) known up to a
//! common factor, so an open (1, 0) and a short (0, 1) are ordinary points. Each
//! [`Fixture`] is a [`Mobius`] map from that point to what the analyzer reads, so the
//! inverse, the derivative and exact differences are closed forms of one small type.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | Z | impedance of the device, v/i | Ω |
//! | Z0 | [`ReferenceImpedance`] of the analyzer, positive and real | Ω |
//! | z | Z/Z0 | 1 |
//! | S | reading: S11 in the reflect fixture, S21 in both through fixtures | 1 |
//! | Γ | reflection coefficient (Z − Z0)/(Z + Z0) | 1 |
//! | K | relative sensitivity \|dZ/dS\|/\|Z\| | 1 |
//!
//! ```
//! use jigwise_physics::{Complex64, Fixture, Immittance, ReferenceImpedance};
//!
//! let z0 = ReferenceImpedance::FIFTY_OHM;
//! let part = Immittance::from_impedance(Complex64::new(1_000.0, 0.0))?;
//! let through = Fixture::SeriesThrough.reading(part, z0).value().unwrap();
//! assert!((through.re - 1.0 / 11.0).abs() < 1e-15);
//! let back = Fixture::SeriesThrough.immittance(through, z0)?;
//! assert!((back.impedance().unwrap().re - 1_000.0).abs() < 1e-9);
//! # Ok::<(), jigwise_physics::NumberError>(())
//! ```

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod calibration;
mod extract;
mod network;
pub(crate) mod number;
mod part;
mod point;
mod uncertainty;

pub use calibration::*;
pub use extract::*;
pub use network::*;
pub use num_complex::Complex64;
pub use number::{EntryError, NEPER_PER_DB, NumberError};
pub use part::*;
pub use point::*;
pub use uncertainty::*;
