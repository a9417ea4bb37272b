//! What a residual of the standards does to a corrected reading.

use num_complex::Complex64;

use crate::{
    Budget, Cause, Correction, Covariance, Fixture, MeasuredStandards, Residuals, Scattering, solve,
};

/// Half width of the cross of residuals over which a derivative is taken. What it leaves out
/// is of fourth order, near 1e-13, as much as rounding puts in.
const STEP: f64 = 5e-4;
/// Raw readings of standards: three reflections at each port, the through's four, isolation both
/// ways.
pub const RAW_STANDARD_READINGS: usize = 12;

impl Correction {
    /// By how much a unit residual of the standards moves a corrected reading: the complex
    /// derivative at zero, of each parameter.
    ///
    /// The readings of the standards are kept and the calibration solved again with standards
    /// that truly are [`crate::Definitions::with_residuals`]; the reading got less the reading
    /// that would have been right is the shift. Its sign is that of
    /// [`crate::Budget::calibration_shift`], with which it agrees to first order for small raw
    /// match. All quantities are analytic in the residual, so the derivative is the mean
    /// (1/4h)·Σ f(h·u)/u over u = 1, j, −1, −j with h = 5e-4. A one-port has a closed form,
    /// [`Correction::shift_one_port`].
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

    /// Covariance of the corrected S21 of a through fixture from the noise of the part's own four
    /// raw readings, dimensionless. Each is moved on its own; noise does not repeat, so the
    /// contributions add. What the noise of the standards adds is
    /// [`Correction::noise_of_standards`].
    pub fn own_noise_of_through(&self, raw: &Scattering, budget: &Budget) -> Covariance {
        self.own_noise(raw, budget, |corrected| corrected.s21)
    }

    /// As [`Correction::own_noise_of_through`], of whatever `reading` makes of the corrected
    /// parameters.
    pub fn own_noise(
        &self,
        raw: &Scattering,
        budget: &Budget,
        reading: impl Fn(&Scattering) -> Complex64,
    ) -> Covariance {
        let through = Fixture::SeriesThrough;
        let own = [
            (raw.s11, Fixture::Reflect),
            (raw.s12, through),
            (raw.s21, through),
            (raw.s22, Fixture::Reflect),
        ];
        let mut sum = Covariance::ZERO;
        for (at, (value, kind)) in own.into_iter().enumerate() {
            let slope = slope(|step| {
                let mut moved = *raw;
                *parameters(&mut moved)[at] += step;
                Some(reading(&self.apply(&moved)))
            });
            sum = sum + through_slope(budget.noise_of(value, kind), slope);
        }
        sum
    }

    /// Covariance from the noise of the standards' readings of whatever `reading` makes of a
    /// correction: one corrected reading, or a sum of several with complex weights. A part and
    /// its blanks are corrected alike, so what the standards' noise does to one it does to the
    /// others, and only the sum tells what is left.
    ///
    /// Each raw reading is moved on its own and the calibration solved again; a moved calibration
    /// that can't be solved counts as no contribution. Dimensionless.
    pub fn noise_of_standards(
        &self,
        budget: &Budget,
        reading: impl Fn(&Self) -> Complex64,
    ) -> Covariance {
        let mut sum = Covariance::ZERO;
        self.each_reading_of_standards(budget, reading, |_, noise, slope| {
            sum = sum + noise.through(slope);
        });
        sum
    }

    /// As [`Correction::noise_of_standards`], as the steps of independent real numbers of
    /// variance 1: two for each raw reading of the standards, numbered from 0. What two
    /// corrections by the same standards have in common are the steps of the same number.
    pub fn steps_of_standards(
        &self,
        budget: &Budget,
        reading: impl Fn(&Self) -> Complex64,
    ) -> Vec<(usize, Complex64)> {
        steps(|take| self.each_reading_of_standards(budget, reading, take))
    }

    /// Hands on every raw reading of the standards: its number, its noise, and the derivative of
    /// `reading` by it.
    pub(super) fn each_reading_of_standards(
        &self,
        budget: &Budget,
        reading: impl Fn(&Self) -> Complex64,
        mut take: impl FnMut(usize, Covariance, Complex64),
    ) {
        for at in 0..RAW_STANDARD_READINGS {
            let Some(noise) = self.noise_of_reading(budget, at) else {
                continue;
            };
            let slope = slope(|step| {
                let mut measured = self.measured;
                let (value, _) = reading_at(&mut measured, at)?;
                *value += step;
                solve(self.method, &measured, &self.definitions)
                    .ok()
                    .map(|moved| reading(&moved))
            });
            if let Some(slope) = slope {
                take(at, noise, slope);
            }
        }
    }

    /// What is random about the raw reading of the standards with a number; `None` where it was
    /// not measured.
    pub(super) fn noise_of_reading(&self, budget: &Budget, at: usize) -> Option<Covariance> {
        let mut measured = self.measured;
        let (value, kind) = reading_at(&mut measured, at)?;
        Some(budget.noise_of(*value, kind) + Covariance::circular(0.5 * self.doubts[at]))
    }

    pub(super) fn derivative<const N: usize>(
        &self,
        cause: Cause,
        reading: impl Fn(&Self) -> [Complex64; N],
    ) -> Option<[Complex64; N]> {
        if !cause.is_of_a_standard() {
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

impl Cause {
    /// True for what a standard may differ by from what it is taken for.
    pub(super) const fn is_of_a_standard(self) -> bool {
        matches!(
            self,
            Self::Load
                | Self::Open
                | Self::Short
                | Self::ThroughTracking
                | Self::Crosstalk
                | Self::LoadMatch
        )
    }
}

/// Two steps for each raw reading that `each` hands on.
pub(super) fn steps(
    each: impl FnOnce(&mut dyn FnMut(usize, Covariance, Complex64)),
) -> Vec<(usize, Complex64)> {
    let mut steps = Vec::with_capacity(2 * RAW_STANDARD_READINGS);
    each(&mut |at, noise, slope| {
        let factor = noise.cholesky();
        steps.push((2 * at, factor.colour(1.0, 0.0) * slope));
        steps.push((2 * at + 1, factor.colour(0.0, 1.0) * slope));
    });
    steps
}

fn parameters(s: &mut Scattering) -> [&mut Complex64; 4] {
    [&mut s.s11, &mut s.s12, &mut s.s21, &mut s.s22]
}

/// The raw reading of the standards with a number, and what kind of reading it is.
fn reading_at(measured: &mut MeasuredStandards, at: usize) -> Option<(&mut Complex64, Fixture)> {
    let through = Fixture::SeriesThrough;
    match at {
        0..6 => {
            let trio = &mut measured.reflections[at / 3];
            let reading = [&mut trio.open, &mut trio.short, &mut trio.load]
                .into_iter()
                .nth(at % 3)?;
            reading.as_mut().map(|value| (value, Fixture::Reflect))
        }
        6..10 => {
            let kind = [Fixture::Reflect, through, through, Fixture::Reflect][at - 6];
            let reading = measured.through.as_mut()?;
            parameters(reading)
                .into_iter()
                .nth(at - 6)
                .map(|value| (value, kind))
        }
        _ => {
            let isolation = measured.isolation.as_mut()?;
            [&mut isolation.forward, &mut isolation.reverse]
                .into_iter()
                .nth(at - 10)
                .map(|value| (value, through))
        }
    }
}

/// The derivative of an analytic function at zero, as in [`Correction::shift`].
pub(super) fn slope(f: impl Fn(Complex64) -> Option<Complex64>) -> Option<Complex64> {
    let mut sum = Complex64::ZERO;
    for turn in [Complex64::ONE, Complex64::I, -Complex64::ONE, -Complex64::I] {
        sum += f(turn * STEP)? * turn.conj() / (4.0 * STEP);
    }
    (sum.re.is_finite() && sum.im.is_finite()).then_some(sum)
}

fn through_slope(noise: Covariance, slope: Option<Complex64>) -> Covariance {
    slope.map_or(Covariance::ZERO, |slope| noise.through(slope))
}
