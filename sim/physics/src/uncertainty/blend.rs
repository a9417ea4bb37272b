//! One estimate of a device from its readings in several fixtures.
//!
//! The readings share the residuals of their calibration, so each residual δ_j keeps its name
//! and its complex sensitivity coefficient a_fj in fixture f: the readings f ≠ g have the complex
//! covariance Σ_j a_fj·a_gj*·E|δ_j|², with the products of the residuals with the raw match alike,
//! and on the diagonal everything else is added. Z minimises χ²
//! = rᵀ·V⁻¹·r, r_f = S_f − S_f(Z), by Gauss–Newton in the relative step ε = δZ/Z, with dS_f/dε =
//! D_f and V taken at the estimate, until it stands still. For n fixtures χ² has 2(n − 1) degrees
//! of freedom.
//!
//! Source: generalised least squares with a full covariance matrix, e.g. JCGM 107 and any text
//! on adjustment (cited from memory).

use crate::uncertainty::chi_square::p_value;
use crate::uncertainty::view::View;
use crate::{
    Budget, Cause, Complex64, Covariance, Fixture, Immittance, MIN_T0_IN_SIGMA, NumberError,
    distance_from_pole,
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
    /// Fewer than two readings are [`MIN_T0_IN_SIGMA`] or more from the pole of their inverse.
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
                "{usable} of the readings lie {MIN_T0_IN_SIGMA}σ or more from the pole of their inverse: give \
                 readings of two fixtures that can see the part"
            ),
            Self::Contradiction {
                chi_square,
                degrees_of_freedom,
                p,
            } => write!(
                f,
                "the readings contradict each other (χ² {chi_square:.1} with \
                 {degrees_of_freedom} degrees of freedom, p {p:.1e}): look for a stray, a wrong \
                 fixture or a wrong budget before blending"
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

/// Six real equations at most: real and imaginary part of three readings.
const MAX_EQUATIONS: usize = 6;
type Square = [[f64; MAX_EQUATIONS]; MAX_EQUATIONS];

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
        let mut start = None;
        let mut least = f64::INFINITY;
        for (fixture, reading) in Fixture::ALL.into_iter().zip(readings) {
            let Some(reading) = reading else { continue };
            let device = fixture.immittance(reading, self.z0)?;
            let Some((t0_in_sigma, e)) = self.standing(fixture, device) else {
                continue;
            };
            if t0_in_sigma < MIN_T0_IN_SIGMA {
                continue;
            }
            used[fixture as usize] = true;
            if e < least {
                least = e;
                start = device.impedance();
            }
        }
        let usable = used.iter().filter(|&&used| used).count();
        let Some(start) = start.filter(|_| usable >= 2) else {
            return Err(BlendError::TooFew { usable });
        };
        let readings: [Option<Complex64>; 3] =
            std::array::from_fn(|k| readings[k].filter(|_| used[k]));
        let (z, normal, chi_square) = self.fit(start, &readings).ok_or(BlendError::NoEstimate)?;

        let degrees_of_freedom = 2 * (usable as u32 - 1);
        let p = p_value(chi_square, degrees_of_freedom);
        if p < REFUSED_P {
            return Err(BlendError::Contradiction {
                chi_square,
                degrees_of_freedom,
                p,
            });
        }
        let determinant = normal.determinant();
        let relative = Covariance {
            re: normal.im / determinant,
            im: normal.re / determinant,
            cross: -normal.cross / determinant,
        };
        Ok(Blend {
            impedance_ohm: z,
            covariance: relative.through(z),
            chi_square,
            degrees_of_freedom,
            p,
            is_doubtful: p < DOUBTFUL_P,
            used,
            cautions: [
                StandingCaution::CommonStandards,
                StandingCaution::Level {
                    ratio: self.level_ratio(z, &used)?,
                },
            ],
        })
    }

    /// |t0|/σ and e of one fixture.
    fn standing(&self, fixture: Fixture, device: Immittance) -> Option<(f64, f64)> {
        let reading = self.reading_covariance(fixture, device)?;
        let sigma = reading.principal_variances().0.sqrt();
        let t0 = distance_from_pole(fixture, device, self.z0)?;
        Some((t0 / sigma, self.figure_of_merit(fixture, device)?))
    }

    fn level_ratio(&self, z: Complex64, used: &[bool; 3]) -> Result<f64, NumberError> {
        let device = Immittance::from_impedance(z)?;
        // |v + Z0·i|² and its like alone differ between the fixtures.
        let sizes = Fixture::ALL
            .into_iter()
            .filter(|&fixture| used[fixture as usize])
            .map(|fixture| {
                fixture
                    .weighted_sum(device.v(), device.i(), self.z0.ohm())
                    .norm_sqr()
            });
        let (low, high) = sizes.fold((f64::INFINITY, 0.0f64), |(low, high), size| {
            (low.min(size), high.max(size))
        });
        Ok(high / low)
    }

    /// Ẑ, the normal matrix for the relative step, and χ².
    fn fit(
        &self,
        start: Complex64,
        readings: &[Option<Complex64>; 3],
    ) -> Option<(Complex64, Covariance, f64)> {
        const MAX_STEPS: usize = 60;
        const AT_REST: f64 = 1e-13;
        let mut z = start;
        for _ in 0..MAX_STEPS {
            let device = Immittance::from_impedance(z).ok()?;
            let mut views = [None; 3];
            for (view, (fixture, reading)) in
                views.iter_mut().zip(Fixture::ALL.into_iter().zip(readings))
            {
                if let Some(reading) = reading {
                    *view = Some((self.view(fixture, device)?, *reading));
                }
            }
            let mut size = 0;
            let mut left_over = [0.0; MAX_EQUATIONS];
            let mut along_re = [0.0; MAX_EQUATIONS];
            let mut along_im = [0.0; MAX_EQUATIONS];
            for (view, reading) in views.iter().flatten() {
                let rest = reading - view.s;
                (left_over[size], left_over[size + 1]) = (rest.re, rest.im);
                (along_re[size], along_re[size + 1]) = (view.slope.re, view.slope.im);
                (along_im[size], along_im[size + 1]) = (-view.slope.im, view.slope.re);
                size += 2;
            }
            let lower = cholesky(self.joint_covariance(&views), size)?;
            let [left_over, along_re, along_im] =
                [left_over, along_re, along_im].map(|column| whiten(&lower, column, size));
            let normal = Covariance {
                re: dot(&along_re, &along_re),
                im: dot(&along_im, &along_im),
                cross: dot(&along_re, &along_im),
            };
            let (a, b) = (dot(&along_re, &left_over), dot(&along_im, &left_over));
            let determinant = normal.determinant();
            let step = Complex64::new(
                (normal.im * a - normal.cross * b) / determinant,
                (normal.re * b - normal.cross * a) / determinant,
            );
            if !step.re.is_finite() || !step.im.is_finite() {
                return None;
            }
            if step.norm_sqr().sqrt() <= AT_REST {
                return Some((z, normal, dot(&left_over, &left_over)));
            }
            // Far off, a step of more than half would leave the neighbourhood it was taken in.
            let shorter = (0.5 / step.norm_sqr().sqrt()).min(1.0);
            z *= 1.0 + step * shorter;
        }
        None
    }

    /// V: own scatter in the blocks of the diagonal, common residuals everywhere.
    fn joint_covariance(&self, views: &[Option<(View, Complex64)>; 3]) -> Square {
        let mut v = [[0.0; MAX_EQUATIONS]; MAX_EQUATIONS];
        let present = || views.iter().flatten().map(|(view, _)| view).enumerate();
        for (f, first) in present() {
            for (g, second) in present() {
                let block = if f == g {
                    let total = self.total(first);
                    [[total.re, total.cross], [total.cross, total.im]]
                } else {
                    let common: Complex64 = Cause::OF_CALIBRATION
                        .iter()
                        .map(|&cause| {
                            first.sensitivity_to(cause)
                                * second.sensitivity_to(cause).conj()
                                * self.mean_square(cause, first.fixture)
                        })
                        .sum();
                    let half = (common + self.shared_by_raw_match(first, second)) * 0.5;
                    [[half.re, -half.im], [half.im, half.re]]
                };
                for (row, values) in block.iter().enumerate() {
                    v[2 * f + row][2 * g..2 * g + 2].copy_from_slice(values);
                }
            }
        }
        v
    }
}

fn dot(a: &[f64; MAX_EQUATIONS], b: &[f64; MAX_EQUATIONS]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// L with L·Lᵀ = V for the leading `size` rows; `None` unless V is positive definite.
fn cholesky(v: Square, size: usize) -> Option<Square> {
    let mut lower = [[0.0; MAX_EQUATIONS]; MAX_EQUATIONS];
    for row in 0..size {
        for column in 0..=row {
            let known: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
            let rest = v[row][column] - known;
            lower[row][column] = if row == column {
                if rest <= 0.0 {
                    return None;
                }
                rest.sqrt()
            } else {
                rest / lower[column][column]
            };
        }
    }
    Some(lower)
}

/// L⁻¹·b.
fn whiten(lower: &Square, b: [f64; MAX_EQUATIONS], size: usize) -> [f64; MAX_EQUATIONS] {
    let mut x = [0.0; MAX_EQUATIONS];
    for row in 0..size {
        let known: f64 = (0..row).map(|k| lower[row][k] * x[k]).sum();
        x[row] = (b[row] - known) / lower[row][row];
    }
    x
}
