//! What a residual of the standards does to a corrected reading.

use num_complex::Complex64;

use crate::{Cause, Correction, Residuals, Scattering, solve};

/// Half width of the cross of residuals over which a derivative is taken. What it leaves out
/// is of fourth order, near 1e-13, as much as rounding puts in.
const STEP: f64 = 5e-4;

impl Correction {
    /// By how much a unit residual of the standards moves a corrected reading: the complex
    /// derivative at zero, of each parameter.
    ///
    /// The readings of the standards are kept and the calibration solved again with standards
    /// that truly are [`crate::Definitions::with_residuals`]; the reading got less the reading
    /// that would have been right is the shift. Its sign is that of
    /// [`crate::Budget::calibration_shift`], with which it agrees to first order for small raw
    /// match. All quantities are analytic in the residual, so the derivative is the mean
    /// (1/4h)·Σ f(h·u)/u over u = 1, j, −1, −j with h = 5e-4.
    ///
    /// `None` for causes that belong to no standard, and where the calibration so moved can't
    /// be solved.
    ///
    /// ```
    /// use jigwise_physics::{
    ///     Cause, Complex64, Definitions, Fixture, MeasuredStandards, Method, RawAnalyzer,
    ///     Scattering, solve,
    /// };
    ///
    /// let (analyzer, freq_hz) = (RawAnalyzer::new(1), 1e8);
    /// let truth = Definitions::IDEAL;
    /// let measured = analyzer.measure_standards(&truth, freq_hz, &[], None);
    /// let correction = solve(Method::OnePort, &measured, &truth)?;
    /// // The load moves every impedance by −2·δL, so Γ by −(1 − Γ²)·δL.
    /// let gamma = Complex64::new(0.3, 0.4);
    /// let raw = analyzer.terms(freq_hz).forward.one_port.raw(gamma);
    /// let shift = correction.shift_one_port(raw, Cause::Load).unwrap();
    /// assert!((shift + 1.0 - gamma * gamma).norm() < 1e-10);
    /// # Ok::<(), jigwise_physics::CalibrationError>(())
    /// ```
    pub fn shift(&self, raw: &Scattering, cause: Cause) -> Option<Scattering> {
        let parameters = |s: Scattering| [s.s11, s.s12, s.s21, s.s22];
        let [s11, s12, s21, s22] = self.derivative(cause, |moved| parameters(moved.apply(raw)))?;
        Some(Scattering { s11, s12, s21, s22 })
    }

    /// As [`Correction::shift`], of a one-port at port 1.
    pub fn shift_one_port(&self, raw: Complex64, cause: Cause) -> Option<Complex64> {
        let [gamma] = self.derivative(cause, |moved| [moved.apply_one_port(raw)])?;
        Some(gamma)
    }

    fn derivative<const N: usize>(
        &self,
        cause: Cause,
        reading: impl Fn(&Self) -> [Complex64; N],
    ) -> Option<[Complex64; N]> {
        let of_a_standard = matches!(
            cause,
            Cause::Load
                | Cause::Open
                | Cause::Short
                | Cause::ThroughTracking
                | Cause::Crosstalk
                | Cause::LoadMatch
        );
        if !of_a_standard {
            return None;
        }
        let mut sum = [Complex64::ZERO; N];
        for turn in [Complex64::ONE, Complex64::I, -Complex64::ONE, -Complex64::I] {
            let residuals = Residuals::NONE.with(cause, turn * STEP);
            let truth = self.definitions.with_residuals(&residuals);
            let right = solve(self.method, &self.measured, &truth).ok()?;
            for (sum, value) in sum.iter_mut().zip(reading(&right)) {
                *sum -= value * turn.conj() / (4.0 * STEP);
            }
        }
        sum.iter()
            .all(|value| value.re.is_finite() && value.im.is_finite())
            .then_some(sum)
    }
}
