//! One estimate of a device from its readings in several fixtures.
//!
//! Seen from an estimate Z, each fixture f says by r_f = (S_f − S_f(Z))·dZ/dS_f how far the part
//! lies from it, in ohms to first order ([`Observation`]). The r_f share the residuals of their
//! calibration: each component j of the uncertainty keeps its name and its step s_fj in ohms in
//! every fixture, so that V_fg = Σ_j s_fj·s_gjᵀ, and on the diagonal each fixture's own noise is
//! added. The δZ that makes χ² = (r − δZ)ᵀ·V⁻¹·(r − δZ) least moves the estimate, readings, steps
//! and noise are looked at again from there, and so on until it stands still. For n fixtures χ²
//! has 2(n − 1) degrees of freedom.
//!
//! Source: generalised least squares with a full covariance matrix, e.g. JCGM 107 and any text
//! on adjustment (cited from memory).

use crate::uncertainty::chi_square::{p_value, p_words};
use crate::uncertainty::observation::{Equations, Observation};
use crate::{
    Budget, Cause, Complex64, Covariance, Fixture, Immittance, MIN_T0_IN_SIGMA, NumberError,
    ReferenceImpedance, distance_from_pole,
};

/// Below this p-value the readings are blended with a warning.
pub const DOUBTFUL_P: f64 = 0.05;
/// Below this p-value readings are not blended, and a circuit is not taken for the part.
pub const REFUSED_P: f64 = 0.001;
/// A caution that holds for every blend, however well the readings agree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StandingCaution {
    /// Agreement can't reveal a wrong load or through: a 51 Ω load taken for 50 Ω makes all
    /// three fixtures read 1.96 % low, in perfect agreement.
    CommonStandards,
    /// The fixtures drive the part at different levels, by the ratio given (largest to
    /// smallest power taken in); a part that depends on level is not the same part in each.
    Level {
        /// Largest power over smallest, 1 or more.
        ratio: f64,
    },
}

/// One estimate of a device from the readings of several fixtures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blend {
    /// Ẑ in ohms.
    pub impedance_ohm: Complex64,
    /// Covariance of R and X, Ω².
    pub covariance: Covariance,
    /// χ² of the residuals.
    pub chi_square: f64,
    /// 2(n − 1) for n fixtures.
    pub degrees_of_freedom: u32,
    /// p-value of χ²: the probability of one at least as large.
    pub p: f64,
    /// True where p < [`DOUBTFUL_P`].
    pub is_doubtful: bool,
    /// Which readings were used, in the order of [`Fixture::ALL`].
    pub used: [bool; 3],
    /// The cautions to state with the estimate.
    pub cautions: [StandingCaution; 2],
}

/// Why readings can't be blended.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum BlendError {
    /// A reading is no number.
    Number(NumberError),
    /// Fewer than two readings are [`MIN_T0_IN_SIGMA`] or more from the pole of their inverse
    /// without being bent by it.
    TooFew {
        /// How many are.
        usable: usize,
    },
    /// p < [`REFUSED_P`]: the readings contradict each other within this budget.
    Contradiction {
        /// χ² of the residuals.
        chi_square: f64,
        /// Its degrees of freedom.
        degrees_of_freedom: u32,
        /// Its p-value.
        p: f64,
    },
    /// The search for the estimate did not converge.
    NoEstimate,
}

impl std::fmt::Display for BlendError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(error) => error.fmt(f),
            Self::TooFew { usable } => write!(
                f,
                "{usable} of the readings see the part well enough for a blend: {MIN_T0_IN_SIGMA}σ or \
                 more from the pole of their inverse, and no doubt along one direction that this \
                 inverse bends; give readings of two fixtures that do"
            ),
            Self::Contradiction {
                chi_square,
                degrees_of_freedom,
                p,
            } => write!(
                f,
                "the readings contradict each other (χ² {chi_square:.1} with \
                 {degrees_of_freedom} degrees of freedom, p {}): look for a stray, a wrong fixture or \
                 a wrong budget before blending",
                p_words(*p)
            ),
            Self::NoEstimate => f.write_str(
                "no impedance fits the readings: check that each was taken in the fixture it is \
                 given for",
            ),
        }
    }
}

impl std::error::Error for BlendError {}

impl From<NumberError> for BlendError {
    fn from(error: NumberError) -> Self {
        Self::Number(error)
    }
}

impl Blend {
    /// The blend of the fixtures that are `used`, from `start` in ohms. `observe` gives what they
    /// say as seen from an impedance, in the order of [`Fixture::ALL`], and `None` where one
    /// can't be told from there. A contradiction is told by [`Self::p`] and not refused.
    ///
    /// # Errors
    /// [`BlendError::TooFew`] for fewer than two fixtures, [`BlendError::NoEstimate`] where the
    /// estimate does not come to rest.
    pub fn by_observing(
        start: Complex64,
        used: [bool; 3],
        z0: ReferenceImpedance,
        mut observe: impl FnMut(Complex64) -> Option<Vec<Observation>>,
    ) -> Result<Self, BlendError> {
        const MAX_STEPS: usize = 60;
        /// A step of this part of the standard uncertainty is the last: what it leaves is smaller by
        /// the relative uncertainty once more.
        const LAST_STEP: f64 = 1e-4;
        let usable = used.iter().filter(|&&used| used).count();
        if usable < 2 {
            return Err(BlendError::TooFew { usable });
        }
        let mut z = start;
        for _ in 0..MAX_STEPS {
            let mean = observe(z).and_then(|seen| Equations::of(&seen).mean());
            let mean = mean.ok_or(BlendError::NoEstimate)?;
            let u_ohm = mean.covariance.trace().sqrt();
            let size = mean.step_ohm.norm();
            if !size.is_finite() || !u_ohm.is_finite() {
                return Err(BlendError::NoEstimate);
            }
            // A step far beyond the uncertainty and of more than half the impedance would leave
            // the neighbourhood it was taken in.
            let farthest = (0.5 * z.norm()).max(3.0 * u_ohm);
            if size > 0.0 {
                z += mean.step_ohm * (farthest / size).min(1.0);
            }
            if size > LAST_STEP * u_ohm {
                continue;
            }
            let degrees_of_freedom = 2 * (usable as u32 - 1);
            let p = p_value(mean.chi_square, degrees_of_freedom);
            return Ok(Self {
                impedance_ohm: z,
                covariance: mean.covariance,
                chi_square: mean.chi_square,
                degrees_of_freedom,
                p,
                is_doubtful: p < DOUBTFUL_P,
                used,
                cautions: [
                    StandingCaution::CommonStandards,
                    StandingCaution::Level {
                        ratio: level_ratio(z, used, z0)?,
                    },
                ],
            });
        }
        Err(BlendError::NoEstimate)
    }
}

impl Budget {
    /// Blends the readings S of one part in the fixtures where it was measured, in the order of
    /// [`Fixture::ALL`], all taken with one calibration.
    ///
    /// # Errors
    /// [`BlendError`] for readings that are no numbers, fewer than two usable ones, and a
    /// contradiction between them.
    ///
    /// ```
    /// use jigwise_physics::*;
    /// let z0 = ReferenceImpedance::FIFTY_OHM;
    /// let budget = Budget::new(&Instrument::HANDHELD, z0, 0).unwrap();
    /// // A 51 Ω load was taken for 50 Ω: all three fixtures read 50/51 of the part, and agree.
    /// let shown = Immittance::from_impedance(Complex64::new(100.0 * 50.0 / 51.0, 0.0))?;
    /// let readings = Fixture::ALL.map(|fixture| fixture.reading(shown, z0).value());
    /// let blend = budget.blend(readings).unwrap();
    /// assert!((blend.impedance_ohm.re - 98.0392).abs() < 1e-4);
    /// assert!(blend.p > 0.999);
    /// # Ok::<(), NumberError>(())
    /// ```
    pub fn blend(&self, readings: [Option<Complex64>; 3]) -> Result<Blend, BlendError> {
        let mut used = [false; 3];
        let mut start = Complex64::ZERO;
        let mut least = f64::INFINITY;
        for (fixture, reading) in Fixture::ALL.into_iter().zip(readings) {
            let Some(reading) = reading else { continue };
            let device = fixture.immittance(reading, self.z0)?;
            let Some((t0_in_sigma, e)) = self.standing(fixture, device) else {
                continue;
            };
            let Some(z) = device
                .impedance()
                .filter(|_| t0_in_sigma >= MIN_T0_IN_SIGMA)
            else {
                continue;
            };
            used[fixture as usize] = true;
            if e < least {
                (least, start) = (e, z);
            }
        }
        let blend = Blend::by_observing(start, used, self.z0, |z| {
            let seen = Fixture::ALL.into_iter().zip(readings).zip(used);
            seen.filter(|(_, used)| *used)
                .map(|((fixture, reading), _)| self.observed(fixture, reading?, z))
                .collect()
        })?;
        if blend.p < REFUSED_P {
            return Err(BlendError::Contradiction {
                chi_square: blend.chi_square,
                degrees_of_freedom: blend.degrees_of_freedom,
                p: blend.p,
            });
        }
        Ok(blend)
    }

    /// What one reading says, seen from `z_ohm`: what the calibration leaves is common to the
    /// fixtures, the rest the reading's own.
    fn observed(
        &self,
        fixture: Fixture,
        reading: Complex64,
        z_ohm: Complex64,
    ) -> Option<Observation> {
        let device = Immittance::from_impedance(z_ohm).ok()?;
        let view = self.view(fixture, device)?;
        let ohm_per_reading = 1.0 / view.per_ohm;
        let own = Cause::ALL
            .into_iter()
            .filter(|cause| !cause.is_of_calibration() && *cause != Cause::RawMatch)
            .map(|cause| self.by_cause(cause, &view))
            .fold(Covariance::ZERO, |sum, one| sum + one);
        let of_residuals = Cause::OF_CALIBRATION
            .iter()
            .map(|&cause| view.sensitivity_to(cause) * self.sigma(cause, fixture));
        let mut constants = Vec::with_capacity(6 * Cause::OF_CALIBRATION.len());
        for (at, step) in of_residuals.chain(self.raw_match_steps(&view)).enumerate() {
            // Real and imaginary part of the residual, at a right angle.
            let step = step * ohm_per_reading;
            constants.push((2 * at, step));
            constants.push((2 * at + 1, step * Complex64::I));
        }
        Some(Observation {
            residual_ohm: (reading - view.s) * ohm_per_reading,
            own_noise: own.through(ohm_per_reading),
            common_noise: Vec::new(),
            constants,
        })
    }

    /// |t0|/σ and e of one fixture.
    fn standing(&self, fixture: Fixture, device: Immittance) -> Option<(f64, f64)> {
        let reading = self.reading_covariance(fixture, device)?;
        let sigma = reading.principal_variances().0.sqrt();
        let t0 = distance_from_pole(fixture, device, self.z0)?;
        Some((t0 / sigma, self.figure_of_merit(fixture, device)?))
    }
}

/// Largest over smallest power that the part takes in, over the fixtures used.
fn level_ratio(z: Complex64, used: [bool; 3], z0: ReferenceImpedance) -> Result<f64, NumberError> {
    let device = Immittance::from_impedance(z)?;
    // |v + Z0·i|² and its like alone differ between the fixtures.
    let sizes = Fixture::ALL
        .into_iter()
        .filter(|&fixture| used[fixture as usize])
        .map(|fixture| {
            fixture
                .weighted_sum(device.v(), device.i(), z0.ohm())
                .norm_sqr()
        });
    let (low, high) = sizes.fold((f64::INFINITY, 0.0f64), |(low, high), size| {
        (low.min(size), high.max(size))
    });
    Ok(high / low)
}
