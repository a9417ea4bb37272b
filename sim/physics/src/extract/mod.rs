//! From a measured sweep back to the values of a part, each with its uncertainty.
//!
//! Two ways. [`ImpedanceSweep::point_values`] reads L, C, R, Q and D at one frequency by
//! propagating the 2×2 covariance of R and X. [`ImpedanceSweep::fit`] fits a [`Model`] to the
//! whole sweep by weighted complex least squares, with weights from the random scatter of each
//! point; [`ImpedanceSweep::choose_model`] fits several and takes the one of least BIC.
//! [`ImpedanceSweep::self_resonance`] looks only for the zero crossing.
//!
//! With r the residuals divided by the random scatter, J their derivatives, s_j what the
//! systematic component j does to the readings in the same measure, a fit has
//!
//! - the covariance (JᵀJ)⁻¹ + Σ_j d_j·d_jᵀ, d_j = (JᵀJ)⁻¹·Jᵀ·s_j, that is, every systematic
//!   component moves the fitted values as it moves the readings, fully correlated over the sweep;
//! - χ² = |r|² − (S⊥ᵀr)ᵀ·(1 + S⊥ᵀS⊥)⁻¹·(S⊥ᵀr), S⊥ the part of all s_j that the model can't
//!   follow, with 2N − p degrees of freedom for N points and p values: that is rᵀV⁻¹r with
//!   V = 1 + S·Sᵀ, at its least.
//!
//! A systematic component counts as one constant over the sweep: a residual of a standard that
//! changes with frequency otherwise than the table of [`crate::Budget`] says is a misfit.
//!
//! Scatter and s_j are those of the circuit's impedance, not of the reading's, where the sweep has
//! [`SweepErrors`]: the fit is repeated until χ² stands, in two to four rounds. Taken at each
//! noisy reading, s_j would hold the noise itself, and V = 1 + S·Sᵀ could follow any pattern.
//!
//! Where a sweep comes without any random scatter, all points weigh alike relative to |Z|, the
//! scatter is taken from the residuals, and χ² can't be judged.
//!
//! A value that has no meaning is refused in words, never printed: above its self-resonance a coil
//! is a capacitor, and has no inductance to report. A parasitic that is small against its u is
//! given with it, below zero too, since to give only those that noise makes large is biased;
//! [`Value::upper_bound`] says what it is below. What is divided by it is refused.
//!
//! Sources: JCGM 102:2011 for the propagation of several values at once; weighted least squares
//! and Levenberg–Marquardt from any text on adjustment (cited from memory).
//!
//! ```
//! use jigwise_physics::*;
//! let part = Capacitor { capacitance_f: 10e-9, esr_ohm: 0.1, esl_h: 2e-9, leakage_ohm: None };
//! let freq_hz: Vec<f64> = (1..=60).map(|k| 1e6 * k as f64).collect();
//! let z_ohm: Vec<_> = freq_hz
//!     .iter()
//!     .map(|&f| part.immittance(f).unwrap().impedance().unwrap())
//!     .collect();
//! let random = vec![Covariance::circular(0.01f64.powi(2)); freq_hz.len()];
//! let sweep = ImpedanceSweep::new(&freq_hz, &z_ohm, &random, &[])?;
//! let found = sweep.fit(Model::Capacitor)?;
//! let esl = found.value(Quantity::Esl).unwrap();
//! assert!((esl.value - 2e-9).abs() < 1e-15 && esl.u < 0.01e-9);
//! # Ok::<(), ExtractError>(())
//! ```

mod bic;
mod crossing;
mod crystal_start;
mod curve;
mod error;
mod extracted;
mod fit;
mod form;
mod judge;
mod model;
mod point;
mod scatter;
mod shared_shifts;
mod start;
mod stub_start;
mod sweep;

pub use bic::{
    BIC_MARGIN, CALIBRATION_RESIDUAL, LowEnd, MAX_RELATIVE_RESIDUAL, ModelChoice, ROUNDING_RESIDUAL,
};
pub use error::{ExtractError, Reactive};
pub use extracted::{Extracted, Goodness, Quantity, Refused, Value};
pub use judge::MIN_POINTS_IN_WIDTH;
pub use model::Model;
pub use shared_shifts::{chi_square_below_zero, chi_square_with_shifts};
pub use sweep::{ImpedanceSweep, SweepErrors};
