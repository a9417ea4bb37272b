//! Parts named in ohms, on the reference of 50 Ω.

use jigwise_physics::{Immittance, ReferenceImpedance};
use num_complex::Complex64;

use crate::parts::part;

/// 50 Ω.
pub const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

/// re + j·im.
pub fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

/// The part r + jx in ohms.
///
/// # Panics
/// For NaN and infinity.
#[track_caller]
pub fn ohm(r: f64, x: f64) -> Immittance {
    part(c(r, x))
}
