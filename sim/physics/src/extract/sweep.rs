use std::fmt;

use num_complex::Complex64;

use super::ExtractError;
use crate::number::positive;
use crate::{Covariance, MIN_T0_IN_SIGMA, NoiseScale, NumberError};

/// What the errors of a sweep do to an impedance that is not the one read.
///
/// A reading holds its own noise. Scatter and systematic shifts taken at each noisy reading hold
/// it too, follow the residuals of a fit, and make its χ² too small. A fit therefore asks for
/// both at the impedance of its circuit.
pub trait SweepErrors: fmt::Debug + Sync {
    /// The covariance of R and X from noise, Ω², at point number `point` of the sweep for a part
    /// of `z_ohm`. Writes into `shifts` the shift of each systematic component, Ω, in the order of
    /// [`ImpedanceSweep::shifts`]. `None` where no error of the reading is small in ohms.
    fn at(&self, point: usize, z_ohm: Complex64, shifts: &mut [Complex64]) -> Option<Covariance>;

    /// Where a point whose ohms are `read_ohm` lies to first order, seen from a part of `z_ohm`, Ω:
    /// the reading's distance in ohms by the slope at that part. `None` takes the ohms as they are.
    fn seen_from(
        &self,
        _point: usize,
        _read_ohm: Complex64,
        _z_ohm: Complex64,
    ) -> Option<Complex64> {
        None
    }

    /// How well that covariance is known.
    fn noise_scale(&self) -> NoiseScale {
        NoiseScale::KNOWN
    }
}

/// Impedance over frequency, with what is known of its errors.
#[derive(Debug, Clone, Copy)]
pub struct ImpedanceSweep<'a> {
    freq_hz: &'a [f64],
    z_ohm: &'a [Complex64],
    random: &'a [Covariance],
    shifts: &'a [Vec<Complex64>],
    errors: Option<&'a dyn SweepErrors>,
    /// The numbers of these points in the sweep that `errors` are of; `None` for all.
    numbers: Option<&'a [usize]>,
}

impl<'a> ImpedanceSweep<'a> {
    /// A sweep. `random` is the covariance of R and X at each point (Ω²), independent from point
    /// to point; `shifts` has one list for each systematic component of the uncertainty: the
    /// change in ohms that one standard deviation of it makes at each point, to first order.
    ///
    /// # Errors
    /// [`ExtractError`] for lists of different lengths, for frequencies that do not rise from
    /// above zero, and for numbers that are not finite.
    pub fn new(
        freq_hz: &'a [f64],
        z_ohm: &'a [Complex64],
        random: &'a [Covariance],
        shifts: &'a [Vec<Complex64>],
    ) -> Result<Self, ExtractError> {
        let expected = freq_hz.len();
        let lengths = [("impedances", z_ohm.len()), ("covariances", random.len())];
        let shift_lengths = shifts.iter().map(|s| ("systematic shifts", s.len()));
        for (what, found) in lengths.into_iter().chain(shift_lengths) {
            if found != expected {
                return Err(ExtractError::Lengths {
                    what,
                    found,
                    expected,
                });
            }
        }
        if expected == 0 {
            return Err(ExtractError::TooFewPoints {
                found: 0,
                needed: 1,
            });
        }
        for &hz in freq_hz {
            positive("frequency in hertz", hz)?;
        }
        if let Some(k) = (1..expected).find(|&k| freq_hz[k] <= freq_hz[k - 1]) {
            return Err(ExtractError::NotRising {
                point: k + 1,
                freq_hz: freq_hz[k],
                before_hz: freq_hz[k - 1],
            });
        }
        for &z in z_ohm {
            crate::number::finite("impedance in ohms", z)?;
        }
        for &shift in shifts.iter().flatten() {
            crate::number::finite("systematic shift in ohms", shift)?;
        }
        for covariance in random {
            check_covariance(covariance)?;
        }
        Ok(Self {
            freq_hz,
            z_ohm,
            random,
            shifts,
            errors: None,
            numbers: None,
        })
    }

    /// The same sweep, whose fits take scatter and shifts at the impedance of their circuit.
    #[must_use]
    pub fn with_errors(self, errors: &'a dyn SweepErrors) -> Self {
        Self {
            errors: Some(errors),
            ..self
        }
    }

    pub(super) fn has_errors(&self) -> bool {
        self.errors.is_some()
    }

    pub(super) fn noise_scale(&self) -> NoiseScale {
        self.errors
            .map_or(NoiseScale::KNOWN, SweepErrors::noise_scale)
    }

    /// Number of points.
    pub fn points(&self) -> usize {
        self.freq_hz.len()
    }

    /// Frequencies, Hz, rising.
    pub fn freq_hz(&self) -> &'a [f64] {
        self.freq_hz
    }

    /// Impedances, Ω.
    pub fn z_ohm(&self) -> &'a [Complex64] {
        self.z_ohm
    }

    /// Random covariance of R and X at each point, Ω².
    pub fn random(&self) -> &'a [Covariance] {
        self.random
    }

    /// The shifts of each systematic component, Ω.
    pub fn shifts(&self) -> &'a [Vec<Complex64>] {
        self.shifts
    }

    /// Random and systematic covariance of one point together, Ω².
    pub fn total(&self, point: usize) -> Covariance {
        self.shifts
            .iter()
            .fold(self.random[point], |sum, component| {
                sum + Covariance::along(component[point])
            })
    }

    /// True where the random scatter of at least one point is given.
    pub fn has_random_scatter(&self) -> bool {
        self.random.iter().any(|scatter| scatter.trace() > 0.0)
    }

    /// The point whose frequency is nearest to `freq_hz`.
    pub fn nearest(&self, freq_hz: f64) -> usize {
        let above = self.freq_hz.partition_point(|&hz| hz < freq_hz);
        let last = self.points() - 1;
        if above == 0 || above > last {
            return above.min(last);
        }
        let below = above - 1;
        if freq_hz - self.freq_hz[below] <= self.freq_hz[above] - freq_hz {
            below
        } else {
            above
        }
    }

    /// The number of a point in the sweep that the errors are of.
    fn number(&self, point: usize) -> usize {
        self.numbers.map_or(point, |numbers| numbers[point])
    }

    pub(crate) fn span_hz(&self) -> (f64, f64) {
        (self.freq_hz[0], self.freq_hz[self.points() - 1])
    }
}

fn check_covariance(covariance: &Covariance) -> Result<(), NumberError> {
    let is_scatter = covariance.re >= 0.0
        && covariance.im >= 0.0
        && covariance.determinant() >= -1e-9 * covariance.re * covariance.im;
    if covariance.is_finite() && is_scatter {
        return Ok(());
    }
    let half_spread = 0.25 * (covariance.re - covariance.im).powi(2) + covariance.cross.powi(2);
    Err(NumberError::Negative {
        what: "smallest principal variance of an impedance",
        value: 0.5 * covariance.trace() - half_spread.sqrt(),
    })
}

/// A sweep made from another one: some of its points, or with its errors taken elsewhere.
pub(super) struct OwnedSweep<'a> {
    freq_hz: Vec<f64>,
    z_ohm: Vec<Complex64>,
    random: Vec<Covariance>,
    shifts: Vec<Vec<Complex64>>,
    errors: Option<&'a dyn SweepErrors>,
    numbers: Vec<usize>,
}

impl<'a> OwnedSweep<'a> {
    /// The points a fit can use: not those with a |Z| above the median that is nearer than 6σ to
    /// what an open would read. There Z = A + B/T scatters over the pole of its inverse, no
    /// Gaussian describes it, and it tells next to nothing. For a large |Z| the distance |t0|/σ
    /// is |Z|/σ(Z).
    pub(super) fn of_usable(sweep: &ImpedanceSweep<'a>) -> Self {
        let mut sizes: Vec<f64> = sweep.z_ohm().iter().map(|z| z.norm()).collect();
        sizes.sort_by(f64::total_cmp);
        let median = sizes[sizes.len() / 2];
        let kept: Vec<usize> = (0..sweep.points())
            .filter(|&k| {
                let size = sweep.z_ohm()[k].norm();
                let sigma = sweep.total(k).principal_variances().0.sqrt();
                size <= median || size >= MIN_T0_IN_SIGMA * sigma
            })
            .collect();
        Self {
            freq_hz: kept.iter().map(|&k| sweep.freq_hz()[k]).collect(),
            z_ohm: kept.iter().map(|&k| sweep.z_ohm()[k]).collect(),
            random: kept.iter().map(|&k| sweep.random()[k]).collect(),
            shifts: sweep
                .shifts()
                .iter()
                .map(|shift| kept.iter().map(|&k| shift[k]).collect())
                .collect(),
            errors: sweep.errors,
            numbers: kept.iter().map(|&k| sweep.number(k)).collect(),
        }
    }

    /// All points, scatter and shifts taken where the part is `z_ohm`; as they were at a point
    /// where they are not small there. `None` for a sweep without [`SweepErrors`].
    pub(super) fn with_errors_at(sweep: &ImpedanceSweep<'a>, z_ohm: &[Complex64]) -> Option<Self> {
        let errors = sweep.errors?;
        let mut moved = Self {
            freq_hz: sweep.freq_hz().to_vec(),
            z_ohm: sweep.z_ohm().to_vec(),
            random: sweep.random().to_vec(),
            shifts: sweep.shifts().to_vec(),
            errors: sweep.errors,
            numbers: (0..sweep.points()).map(|k| sweep.number(k)).collect(),
        };
        let mut shifts = vec![Complex64::ZERO; moved.shifts.len()];
        for (k, &z) in z_ohm.iter().enumerate() {
            shifts.fill(Complex64::ZERO);
            let random = errors.at(moved.numbers[k], z, &mut shifts);
            let is_known = shifts.iter().all(|s| s.re.is_finite() && s.im.is_finite());
            let Some(random) = random.filter(|c| is_known && check_covariance(c).is_ok()) else {
                continue;
            };
            moved.random[k] = random;
            if let Some(seen) = errors.seen_from(moved.numbers[k], moved.z_ohm[k], z) {
                moved.z_ohm[k] = seen;
            }
            for (all, shift) in moved.shifts.iter_mut().zip(&shifts) {
                all[k] = *shift;
            }
        }
        Some(moved)
    }

    pub(super) fn sweep(&self) -> ImpedanceSweep<'_> {
        ImpedanceSweep {
            freq_hz: &self.freq_hz,
            z_ohm: &self.z_ohm,
            random: &self.random,
            shifts: &self.shifts,
            errors: self.errors,
            numbers: Some(&self.numbers),
        }
    }
}
