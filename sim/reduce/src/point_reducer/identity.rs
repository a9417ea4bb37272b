//! What is uncertain about the identity of a through fixture, S21 ∓ S11 = 1.
//!
//! For a sweep corrected elsewhere, with small raw match, S11 = R and S21 = T of one part move by
//!
//! | residual | of S11 | of S21 |
//! | --- | --- | --- |
//! | δL | −(1 − R² − T²) | 2·T·R |
//! | δO | −(R + R²)/2 | −T·R/2 |
//! | δS | (R − R²)/2 | −T·R/2 |
//! | λ | T² | T·R |
//! | δT | 0 | T |
//! | δX | 0 | 1 |
//!
//! that is −(δD + R·δT + R²·δs + T²·δl) and −T·R·(δs + δl) with directivity δD = δL, tracking
//! (δO − δS)/2, source match δs = (δO + δS)/2 − δL and load match δl = −λ − δL. The column of S21
//! is that of [`Budget`]. Load and, in shunt-through, open keep the identity, in series-through
//! load and short: their errors are those of another part. Own derivation.

use jigwise_physics::{Budget, Cause, Complex64, Correction, Covariance, Fixture, Scattering};

use super::{PointReducer, Read};
use crate::ReduceError;
use crate::smooth::Smooth;

/// The miss of the identity at one point, and what may be wrong with it.
pub(crate) struct IdentityErrors {
    pub(crate) miss: Complex64,
    pub(crate) random: Covariance,
    /// Each systematic error with the parameter that it is of by itself (0 for both, 1 for S11, 2
    /// for S21), whether it is a real number, and what one standard uncertainty does.
    pub(crate) steps: Vec<((Cause, u8), bool, Complex64)>,
}

impl PointReducer<'_> {
    /// `None` without a budget, and in reflect.
    pub(crate) fn identity_errors(&self, k: usize) -> Result<Option<IdentityErrors>, ReduceError> {
        let freq_hz = self.sweep.frequency_hz()[k];
        let budget = self.budget(freq_hz);
        let Some(budget) = budget.filter(|_| self.fixture != Fixture::Reflect) else {
            return Ok(None);
        };
        let smooth = Smooth::new(budget, freq_hz);
        let own = self.correction_at((k, freq_hz), None)?;
        let part = self.read(self.sweep, k, freq_hz, own.as_ref())?;
        let correction = self.correction_at((k, freq_hz), Some(&smooth))?;
        let raw = self.readings_of(self.sweep, |to, from| {
            smooth.reading(self.sweep, k, to, from)
        });
        let smoothed = self.read_raw(raw, freq_hz, correction.as_ref())?;
        let sign = if self.fixture == Fixture::ShuntThrough {
            -1.0
        } else {
            1.0
        };
        let turns = self.turns(freq_hz)?;
        let combined = |s: &Scattering| s.s21 * turns[1] + sign * s.s11 * turns[0];
        let miss = part.corrected.s21 + sign * part.corrected.s11 - 1.0;
        let random = match &correction {
            Some(correction) => {
                correction.own_noise(&raw, budget, combined)
                    + correction.noise_of_standards(budget, |moved| combined(&moved.apply(&raw)))
            }
            None => noise_when_corrected(budget, &smoothed.corrected, sign),
        };
        let steps = self.identity_steps(budget, correction.as_ref(), &smoothed, &combined, sign);
        Ok(Some(IdentityErrors {
            miss,
            random,
            steps,
        }))
    }

    fn identity_steps(
        &self,
        budget: &Budget,
        correction: Option<&Correction>,
        read: &Read,
        combined: &dyn Fn(&Scattering) -> Complex64,
        sign: f64,
    ) -> Vec<((Cause, u8), bool, Complex64)> {
        let Scattering { s11, s21, .. } = read.corrected;
        let mut steps = Vec::new();
        for cause in Cause::ALL.into_iter().filter(|c| c.stays_over_a_sweep()) {
            let sigma = budget.sigma(cause, self.fixture);
            if sigma == 0.0 {
                continue;
            }
            let mut add = |of: u8, step: Complex64| {
                steps.push(((cause, of), cause.is_real(), step * sigma));
            };
            let exact = correction.and_then(|correction| correction.shift(&read.raw, cause));
            if let Some(shift) = exact {
                add(0, combined(&shift));
                continue;
            }
            match cause {
                Cause::Reconnect => {
                    add(1, sign.into());
                    add(2, Complex64::ONE);
                }
                Cause::Drift => {
                    add(1, sign * s11);
                    add(2, s21);
                }
                Cause::CablePhase => {
                    add(1, sign * s11 * Complex64::I);
                    add(2, s21 * Complex64::I);
                }
                // At the part: another part, which keeps the identity.
                Cause::Contact | Cause::GroundLoop => {}
                _ => add(0, of_residual(cause, s11, s21, sign)),
            }
        }
        steps
    }
}

/// What a unit residual of a calibration made elsewhere adds to S21 ± S11.
fn of_residual(cause: Cause, r: Complex64, t: Complex64, sign: f64) -> Complex64 {
    let (of_s11, of_s21) = match cause {
        Cause::Load => (r * r + t * t - 1.0, 2.0 * t * r),
        Cause::Open => (-0.5 * (r + r * r), -0.5 * t * r),
        Cause::Short => (0.5 * (r - r * r), -0.5 * t * r),
        Cause::LoadMatch => (t * t, t * r),
        Cause::ThroughTracking => (Complex64::ZERO, t),
        Cause::Crosstalk => (Complex64::ZERO, Complex64::ONE),
        Cause::Directivity => (Complex64::ONE, Complex64::ZERO),
        Cause::ReflectTracking => (r, Complex64::ZERO),
        Cause::SourceMatch => (r * r, Complex64::ZERO),
        _ => (Complex64::ZERO, Complex64::ZERO),
    };
    of_s21 + sign * of_s11
}

/// Noise of S21 ± S11 of a file corrected elsewhere: that of the two readings, that of the
/// standards as in [`Budget::standards_noise`], and the residuals times the raw match.
fn noise_when_corrected(budget: &Budget, s: &Scattering, sign: f64) -> Covariance {
    let (r, t) = (s.s11, s.s21);
    let (reflected, passed) = (Fixture::Reflect, Fixture::SeriesThrough);
    let mut random = budget.noise_of(t, passed) + budget.noise_of(r, reflected);
    for (cause, reading, kind) in [
        (Cause::Load, 0.0, reflected),
        (Cause::Open, 1.0, reflected),
        (Cause::Short, -1.0, reflected),
        (Cause::LoadMatch, 0.0, reflected),
        (Cause::ThroughTracking, 1.0, passed),
        (Cause::Crosstalk, 0.0, passed),
    ] {
        let mut slope = of_residual(cause, r, t, sign);
        if cause == Cause::Crosstalk {
            slope *= 1.0 - t;
        }
        let noise = budget.noise_of(Complex64::from(reading), kind);
        random = random
            + noise.through(slope)
            + Covariance::circular((budget.raw_match() * budget.sigma(cause, passed)).powi(2));
    }
    random
}
