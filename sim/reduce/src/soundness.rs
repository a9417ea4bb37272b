//! Whether the ohms of a sweep stand: whether its readings can be those of one passive part.
//!
//! With an instrument there is one χ² over the sweep for each law, with the residuals of the
//! calibration shared by all points, so that one error that bends the whole sweep counts once:
//!
//! - identity: S21 − S11 − 1 or S21 + S11 − 1, complex, over all points;
//! - resistance: R over the points where it is below zero. Noise about R = 0 gives as much at half
//!   of the points, and no fault is seen in that.
//!
//! The ohms stand where p ≥ [`REFUSED_P`]. Without an instrument they don't where the identity is
//! missed by more than [`IDENTITY`]`.broken` at a tenth of the points or more.
//!
//! The identity is not judged in reflect, where S11 holds zeros only, and where the calibration
//! leaves S11 or S21 raw.

use std::fmt;

use jigwise_bench::words::fixture_title;
use jigwise_physics::{
    Complex64, Fixture, NoiseScale, REFUSED_P, SweepErrors, chi_square_below_zero,
    chi_square_with_shifts, p_value,
};
use jigwise_quantity::fixed;

use crate::point_reducer::IdentityErrors;
use crate::thin::fitted;
use crate::{IDENTITY, ReduceError, Reducer};

/// Share of the points that may miss the identity where no instrument says by how much.
const MAX_SHARE_MISSED: f64 = 0.1;

/// Whether the ohms of a sweep stand.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Soundness {
    /// The laws hold, or can't be judged.
    #[default]
    Stands,
    /// Without an instrument: the identity is missed by more than its limit.
    IdentityMissed {
        /// The fixture.
        fixture: Fixture,
        /// Points that miss it.
        count: usize,
        /// Of how many.
        of: usize,
    },
    /// The identity is missed by more than the uncertainties explain.
    IdentityMisfit {
        /// The fixture.
        fixture: Fixture,
        /// χ² over the sweep.
        chi_square: f64,
        /// Its degrees of freedom.
        degrees_of_freedom: u32,
    },
    /// The resistance is further below zero than the uncertainties explain.
    NegativeResistance {
        /// χ² over the points below zero.
        chi_square: f64,
        /// Their number.
        degrees_of_freedom: u32,
    },
}

impl Soundness {
    /// True where values may be taken from the ohms.
    pub fn stands(&self) -> bool {
        *self == Self::Stands
    }
}

impl fmt::Display for Soundness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let refused = |f: &mut fmt::Formatter<'_>, chi_square, nu| {
            write!(
                f,
                "(χ² {} with {nu} degrees of freedom, p below {REFUSED_P})",
                fixed(chi_square, 1)
            )
        };
        match *self {
            Self::Stands => f.write_str("The ohms stand."),
            Self::IdentityMissed { fixture, count, of } => write!(
                f,
                "The ohms don't stand: in {} S21 and S11 miss the identity of one part by more \
                 than {} at {count} of {of} points. Check the fixture named, the reference plane \
                 and the calibration of S11; no circuit values are given.",
                fixture_title(fixture),
                IDENTITY.broken
            ),
            Self::IdentityMisfit {
                fixture,
                chi_square,
                degrees_of_freedom,
            } => {
                write!(
                    f,
                    "The ohms don't stand: in {} S21 and S11 miss the identity of one part by more \
                     than the uncertainties explain ",
                    fixture_title(fixture)
                )?;
                refused(f, chi_square, degrees_of_freedom)?;
                f.write_str(
                    ". Check the fixture named, the reference plane, the calibration of S11 and \
                     the instrument; no circuit values are given.",
                )
            }
            Self::NegativeResistance {
                chi_square,
                degrees_of_freedom,
            } => {
                f.write_str(
                    "The ohms don't stand: R is below zero by more than the uncertainties explain ",
                )?;
                refused(f, chi_square, degrees_of_freedom)?;
                f.write_str(
                    ", which no passive part reads. Check the standards, the blanks and the \
                     instrument; no circuit values are given.",
                )
            }
        }
    }
}

/// Columns of systematic shifts that grow point by point, in standard deviations of the noise.
struct Judged<K> {
    residuals: Vec<f64>,
    keys: Vec<K>,
    shifts: Vec<Vec<f64>>,
}

impl<K: PartialEq> Judged<K> {
    const fn new() -> Self {
        Self {
            residuals: Vec::new(),
            keys: Vec::new(),
            shifts: Vec::new(),
        }
    }

    fn push<const N: usize>(
        &mut self,
        residuals: [f64; N],
        shifts: impl Iterator<Item = (K, [f64; N])>,
    ) {
        let before = self.residuals.len();
        for (key, shift) in shifts {
            let at = self.keys.iter().position(|known| *known == key);
            let at = at.unwrap_or_else(|| {
                self.keys.push(key);
                self.shifts.push(vec![0.0; before]);
                self.keys.len() - 1
            });
            self.shifts[at].extend(shift);
        }
        for shifts in &mut self.shifts {
            shifts.resize(before + N, 0.0);
        }
        self.residuals.extend(residuals);
    }

    /// χ² with its degrees of freedom, where p is below [`REFUSED_P`].
    fn refused(&self) -> Option<(f64, u32)> {
        let nu = u32::try_from(self.residuals.len()).ok()?;
        let chi_square = chi_square_with_shifts(&self.residuals, &self.shifts)?;
        (nu > 0 && p_value(chi_square, nu) < REFUSED_P).then_some((chi_square, nu))
    }

    /// The same for the law that none of the residuals is below zero.
    fn refused_below_zero(&self, scale: NoiseScale) -> Option<(f64, u32)> {
        let (chi_square, nu) = chi_square_below_zero(&self.residuals, &self.shifts)?;
        (nu > 0 && scale.p_value(chi_square, nu) < REFUSED_P).then_some((chi_square, nu))
    }
}

impl Reducer<'_> {
    /// Whether the identity of the fixture holds over the sweep.
    pub(crate) fn identity(&self) -> Result<Soundness, ReduceError> {
        let fixture = self.fixture();
        if fixture == Fixture::Reflect || !self.has_identity() {
            return Ok(Soundness::Stands);
        }
        let points = self.points(self.has_budget());
        if !self.has_budget() {
            let (mut count, mut of) = (0, 0);
            for k in fitted(self.len()) {
                match points.point(k, None) {
                    Ok(point) => {
                        of += 1;
                        let miss = point.consistency.unwrap_or(0.0);
                        count += usize::from(miss > IDENTITY.broken);
                    }
                    Err(ReduceError::Blank { .. }) => {}
                    Err(error) => return Err(error),
                }
            }
            let is_missed = count > 0 && count as f64 >= MAX_SHARE_MISSED * of as f64;
            return Ok(if is_missed {
                Soundness::IdentityMissed { fixture, count, of }
            } else {
                Soundness::Stands
            });
        }
        let mut judged = Judged::new();
        for k in fitted(self.len()) {
            let Some(IdentityErrors {
                miss,
                random,
                steps,
            }) = points.identity_errors(k)?
            else {
                continue;
            };
            let factor = random.cholesky();
            if !(factor.re > 0.0 && factor.im > 0.0) {
                continue;
            }
            // A complex error is two real ones at a right angle.
            let columns = steps.into_iter().flat_map(|(source, is_real, step)| {
                let turned = (!is_real).then_some((source, true, step * Complex64::I));
                [Some((source, false, step)), turned].into_iter().flatten()
            });
            judged.push(
                factor.whiten(miss),
                columns.map(|(source, turned, step)| ((source, turned), factor.whiten(step))),
            );
        }
        Ok(match judged.refused() {
            Some((chi_square, degrees_of_freedom)) => Soundness::IdentityMisfit {
                fixture,
                chi_square,
                degrees_of_freedom,
            },
            None => Soundness::Stands,
        })
    }
}

/// Whether R is below zero no further than noise and systematic errors take it; `shifts` is how
/// many of them `errors` has.
pub(crate) fn resistance(
    z_ohm: &[Complex64],
    shifts: usize,
    errors: &dyn SweepErrors,
) -> Soundness {
    let mut judged = Judged::new();
    let mut shifts = vec![Complex64::ZERO; shifts];
    for (k, z) in z_ohm.iter().enumerate() {
        shifts.fill(Complex64::ZERO);
        // Where the law still holds, free of the noise of R, and as far from the open, whose
        // neighbourhood holds readings of any R.
        let at = Complex64::new(0.0, z.norm().copysign(z.im));
        let Some(random) = errors.at(k, at, &mut shifts) else {
            continue;
        };
        // Shifts are of first order: their square over |Z| is what they leave out. It is much the
        // same from point to point, so it is one more shift, and scatter for what differs.
        let square = random.trace() + shifts.iter().map(|s| s.norm_sqr()).sum::<f64>();
        let left_out = square / at.norm().max(f64::MIN_POSITIVE);
        let sigma = random.re.sqrt().hypot(left_out);
        if sigma > 0.0 {
            let second_order = [left_out];
            let columns = shifts.iter().map(|shift| shift.re).chain(second_order);
            judged.push(
                [z.re / sigma],
                columns
                    .enumerate()
                    .map(|(which, shift)| (which, [shift / sigma])),
            );
        }
    }
    match judged.refused_below_zero(errors.noise_scale()) {
        Some((chi_square, degrees_of_freedom)) => Soundness::NegativeResistance {
            chi_square,
            degrees_of_freedom,
        },
        None => Soundness::Stands,
    }
}
