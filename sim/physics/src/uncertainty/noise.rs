//! What hides a small change in one reading: its random scatter, and the steps of the display.

use num_complex::Complex64;

use crate::{Covariance, Draws};

/// Random scatter of one reading: variances of the floor per component, and along the radial
/// and tangential axes relative to |S|².
#[derive(Debug, Clone, Copy)]
pub(crate) struct Noise {
    pub floor: f64,
    pub radial: f64,
    pub tangential: f64,
}

impl Noise {
    /// Covariance of `reading`: the floor, and trace noise along and across the reading.
    pub(crate) fn covariance(self, reading: Complex64) -> Covariance {
        Covariance::circular(self.floor)
            + Covariance::along(reading) * self.radial
            + Covariance::along(reading * Complex64::I) * self.tangential
    }

    /// `reading` with one draw of this noise.
    pub(crate) fn added_to(self, reading: Complex64, draws: &mut Draws) -> Complex64 {
        let trace = Complex64::new(
            self.radial.sqrt() * draws.normal(),
            self.tangential.sqrt() * draws.normal(),
        );
        reading + draws.circular(self.floor) + reading * trace
    }
}

/// The display steps in the form the crossings need.
#[derive(Debug, Clone, Copy)]
pub(crate) struct DisplaySteps {
    /// 1 − g, g the ratio of |S|² of one step.
    pub one_less_gain: f64,
    /// Tangent of the step of phase.
    pub tangent: f64,
}

impl DisplaySteps {
    /// Of a step δ|S|/|S| and an angle below 90°.
    pub(crate) fn new(magnitude: f64, phase_rad: f64) -> Self {
        Self {
            one_less_gain: -(2.0 * magnitude).exp_m1(),
            tangent: phase_rad.tan(),
        }
    }
}
