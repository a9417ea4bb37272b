//! One part measured in several fixtures, point by point.

use std::fmt;
use std::ops::Range;

use jigwise_physics::{
    Blend, BlendError, Budget, Complex64, Covariance, Fixture, Immittance, ReferenceImpedance,
    Trust,
};

use super::recipe::point_at;
use super::reducer::on_all_cores;
use super::{CONSISTENCY_LIMIT, Judged, MOST_FITTED, ReduceError, ReducedPoint, Reducer, Source};
use jigwise_bench::words::fixture_key;
use jigwise_quantity::engineering;

/// Points that are reduced before they are handed on.
const RUN: usize = 4_096;

/// The sweeps of one part, each in a fixture of its own, taken with one calibration.
#[derive(Debug)]
pub struct Ensemble<'a> {
    seen: [Option<Reducer<'a>>; 3],
    first: Fixture,
    budget: Option<&'a Budget>,
}

/// One frequency of a part seen in one to three fixtures.
#[derive(Debug, Clone)]
pub struct PartPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// What each fixture gives, in the order of [`Fixture::ALL`].
    pub seen: [Option<ReducedPoint>; 3],
    /// The fixture that knows the part best here.
    pub chosen: Fixture,
    /// The blend, where an instrument is known and the part was measured in two fixtures.
    pub blend: Option<Result<Blend, BlendError>>,
    device: Immittance,
}

impl PartPoint {
    /// The point of the chosen fixture.
    pub fn best(&self) -> Option<&ReducedPoint> {
        self.seen[self.chosen as usize].as_ref()
    }

    /// The blend, where there is one.
    pub fn blended(&self) -> Option<&Blend> {
        self.blend.as_ref()?.as_ref().ok()
    }

    /// The part: the blend where there is one, otherwise what the chosen fixture gives.
    pub fn device(&self) -> Immittance {
        self.device
    }

    /// Covariance of R and X of [`Self::device`], Ω², k = 1.
    pub fn covariance(&self) -> Option<Covariance> {
        match self.blended() {
            Some(blend) => Some(blend.covariance),
            None => Some(self.best()?.knowledge?.total),
        }
    }

    /// Standard uncertainties of R and X, Ω.
    pub fn uncertainty_ohm(&self) -> Option<(f64, f64)> {
        let total = self.covariance()?;
        Some((total.re.sqrt(), total.im.sqrt()))
    }

    /// Which statement of uncertainty holds: that of the fixture it rests on most.
    pub fn trust(&self) -> Option<Trust> {
        Some(self.best()?.knowledge?.trust)
    }

    /// [`Self::device`] with what belongs to the reading of the chosen fixture.
    pub fn as_reduced(&self) -> Option<ReducedPoint> {
        Some(ReducedPoint {
            device: self.device,
            ..*self.best()?
        })
    }
}

/// Why sweeps don't belong together.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum EnsembleError {
    /// Two sweeps of one fixture.
    Twice {
        /// The fixture.
        fixture: Fixture,
    },
    /// A sweep lacks a frequency of the first one.
    MissesFrequency {
        /// Its place among the sweeps given, from 0.
        which: usize,
        /// The first frequency it lacks, Hz.
        freq_hz: f64,
    },
    /// Sweeps with different references.
    OtherReference {
        /// Its place among the sweeps given, from 0.
        which: usize,
        /// Its reference, Ω.
        found_ohm: f64,
        /// That of the first, Ω.
        expected_ohm: f64,
    },
    /// No sweep at all.
    Nothing,
}

impl std::error::Error for EnsembleError {}

impl fmt::Display for EnsembleError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Twice { fixture } => write!(
                f,
                "two sweeps are in {}; give one sweep for each fixture, and name the fixtures in \
                 the order of the sweeps",
                fixture_key(fixture)
            ),
            Self::MissesFrequency { freq_hz, .. } => write!(
                f,
                "it was not measured at {}, where the first one was; sweep it again with the \
                 frequencies of the first",
                engineering(freq_hz, "Hz", 9)
            ),
            Self::OtherReference {
                found_ohm,
                expected_ohm,
                ..
            } => write!(
                f,
                "it refers to {found_ohm} Ω and the first one to {expected_ohm} Ω; export both \
                 with the same reference"
            ),
            Self::Nothing => f.write_str("no sweep; give at least one"),
        }
    }
}

impl<'a> Ensemble<'a> {
    /// The sweeps of one part. The frequencies are those of the first sweep; the budget, where
    /// there is one, is for all.
    ///
    /// # Errors
    /// [`EnsembleError`] for two sweeps of one fixture, and for sweeps whose frequencies or
    /// references differ.
    pub fn new(
        sweeps: Vec<Reducer<'a>>,
        budget: Option<&'a Budget>,
    ) -> Result<Self, EnsembleError> {
        let mut seen = [None, None, None];
        let Some(first) = sweeps.first().map(Reducer::fixture) else {
            return Err(EnsembleError::Nothing);
        };
        for (which, sweep) in sweeps.iter().enumerate().skip(1) {
            let (found, expected) = (sweep.reference(), sweeps[0].reference());
            if found != expected {
                return Err(EnsembleError::OtherReference {
                    which,
                    found_ohm: found.ohm(),
                    expected_ohm: expected.ohm(),
                });
            }
            let misses = |freq_hz: &&f64| point_at(sweep.freq_hz(), **freq_hz).is_none();
            if let Some(&freq_hz) = sweeps[0].freq_hz().iter().find(misses) {
                return Err(EnsembleError::MissesFrequency { which, freq_hz });
            }
        }
        for sweep in sweeps {
            let fixture = sweep.fixture();
            if seen[fixture as usize].replace(sweep).is_some() {
                return Err(EnsembleError::Twice { fixture });
            }
        }
        Ok(Self {
            seen,
            first,
            budget,
        })
    }

    /// The sweeps, in the order of [`Fixture::ALL`].
    pub fn sweeps(&self) -> impl Iterator<Item = &Reducer<'a>> {
        self.seen.iter().flatten()
    }

    fn leading(&self) -> &Reducer<'a> {
        // `new` put it there.
        self.seen[self.first as usize]
            .as_ref()
            .unwrap_or_else(|| unreachable!("no sweep in the first fixture"))
    }

    /// The frequencies, Hz, rising.
    pub fn freq_hz(&self) -> &[f64] {
        self.leading().freq_hz()
    }

    /// The reference of the readings.
    pub fn reference(&self) -> ReferenceImpedance {
        self.leading().reference()
    }

    /// Number of fixtures, at least one.
    pub fn fixtures(&self) -> usize {
        self.sweeps().count()
    }

    /// One point.
    ///
    /// # Errors
    /// [`ReduceError`] where no fixture's blanks can correct the point, or the standards can't
    /// be solved.
    ///
    /// # Panics
    /// Where the point does not exist.
    pub fn point(&self, index: usize) -> Result<PartPoint, ReduceError> {
        self.point_and_steps(index, None)
    }

    fn point_and_steps(
        &self,
        index: usize,
        mut steps: Option<&mut [Vec<(Source, Complex64)>; 3]>,
    ) -> Result<PartPoint, ReduceError> {
        let freq_hz = self.freq_hz()[index];
        let mut seen = [None; 3];
        let mut refused = None;
        for (which, sweep) in self.seen.iter().enumerate() {
            let Some(sweep) = sweep else { continue };
            let all = sweep.freq_hz();
            let at = match all.get(index) {
                Some(same) if *same == freq_hz => index,
                _ => point_at(all, freq_hz).unwrap_or_default(),
            };
            let steps = steps.as_deref_mut().map(|steps| &mut steps[which]);
            match sweep.judge(true).point(at, steps) {
                Ok(point) => seen[which] = Some(point),
                Err(error @ ReduceError::Blank { .. }) => {
                    refused.get_or_insert(error);
                }
                Err(error) => return Err(error),
            }
        }
        let reference = self.reference();
        let chosen = match (best(&seen, reference, self.budget.is_some()), refused) {
            (Some(chosen), _) => chosen,
            (None, Some(error)) => return Err(error),
            (None, None) => self.first,
        };
        let blend = self
            .budget
            .filter(|_| seen.iter().flatten().count() > 1)
            .map(|budget| {
                // What each fixture would read of the part alone, without strays.
                budget.blend(Fixture::ALL.map(|fixture| {
                    let point = seen[fixture as usize].as_ref()?;
                    fixture.reading(point.device, reference).value()
                }))
            });
        let blended = match &blend {
            Some(Ok(blend)) => Some(Immittance::from_impedance(blend.impedance_ohm)?),
            _ => None,
        };
        let own = seen[chosen as usize].map_or(Immittance::OPEN, |point| point.device);
        Ok(PartPoint {
            freq_hz,
            seen,
            chosen,
            blend,
            device: blended.unwrap_or(own),
        })
    }

    /// A run of points, in order, computed on all cores.
    ///
    /// # Panics
    /// Where a point does not exist.
    pub fn run(&self, points: Range<usize>) -> Vec<Result<PartPoint, ReduceError>> {
        on_all_cores(points, |index| self.point(index))
    }

    /// Hands on every point that can be told, in order, a run at a time; after each run
    /// `progress` gets the share that is done.
    ///
    /// # Errors
    /// What `take` returns, and a refusal other than that of a blank.
    pub fn each<E: From<ReduceError>>(
        &self,
        mut take: impl FnMut(&PartPoint) -> Result<(), E>,
        mut progress: impl FnMut(f64),
    ) -> Result<(), E> {
        let len = self.freq_hz().len();
        for start in (0..len).step_by(RUN) {
            let end = (start + RUN).min(len);
            for found in self.run(start..end) {
                match found {
                    Ok(point) => take(&point)?,
                    Err(ReduceError::Blank { .. }) => {}
                    Err(error) => return Err(error.into()),
                }
            }
            progress(end as f64 / len as f64);
        }
        Ok(())
    }

    /// Readings and systematic steps as the extraction of part values takes them, at most 2001
    /// points: at each frequency those of the chosen fixture. What the calibration leaves is
    /// one and the same error in all fixtures; what comes of connecting the part is not.
    ///
    /// # Errors
    /// As [`Ensemble::point`], but for blanks.
    pub fn judged(&self) -> Result<Judged, ReduceError> {
        let mut judged = Judged::default();
        let mut slots: Vec<(Option<Fixture>, Source, usize)> = Vec::new();
        let mut steps = [const { Vec::new() }; 3];
        let stride = self.freq_hz().len().div_ceil(MOST_FITTED);
        for index in (0..self.freq_hz().len()).step_by(stride) {
            let point = match self.point_and_steps(index, Some(&mut steps)) {
                Ok(point) => point,
                Err(ReduceError::Blank { .. }) => continue,
                Err(error) => return Err(error),
            };
            let Some(best) = point.best() else { continue };
            let z = best.device.impedance();
            let (Some(z), true) = (z, point.freq_hz > 0.0) else {
                continue;
            };
            let random = match (self.budget, best.knowledge) {
                (Some(_), None) => continue,
                (_, knowledge) => knowledge.map_or(Covariance::ZERO, |known| known.random),
            };
            let before = judged.freq_hz.len();
            let own = if self.budget.is_some() {
                steps[point.chosen as usize].as_slice()
            } else {
                &[]
            };
            let mut earlier = None;
            for &(source, step) in own {
                // A complex cause comes as two steps in a row.
                let which = usize::from(earlier == Some(source));
                earlier = Some(source);
                let shared = matches!(source, Source::Cause { cause, .. }
                    if cause.is_of_calibration());
                let key = ((!shared).then_some(point.chosen), source, which);
                let at = slots.iter().position(|slot| *slot == key);
                let at = at.unwrap_or_else(|| {
                    slots.push(key);
                    judged.sources.push(source);
                    judged.shifts.push(vec![Complex64::ZERO; before]);
                    slots.len() - 1
                });
                judged.shifts[at].push(step);
            }
            for shifts in &mut judged.shifts {
                shifts.resize(before + 1, Complex64::ZERO);
            }
            judged.freq_hz.push(point.freq_hz);
            judged.z_ohm.push(z);
            judged.random.push(random);
        }
        Ok(judged)
    }
}

/// The fixture with the least relative uncertainty. Where none is known, the one whose equal
/// relative error of the reading does least in ohms, among those that keep their identity.
fn best(
    seen: &[Option<ReducedPoint>; 3],
    reference: ReferenceImpedance,
    has_budget: bool,
) -> Option<Fixture> {
    let rank = |fixture: Fixture, point: &ReducedPoint| -> (bool, f64) {
        let size = point.magnitude_ohm().unwrap_or(f64::INFINITY);
        if has_budget {
            let e = point
                .knowledge
                .map(|known| known.total.trace().sqrt() / size);
            return (false, e.filter(|e| !e.is_nan()).unwrap_or(f64::INFINITY));
        }
        let broken = point.consistency.is_some_and(|c| c > CONSISTENCY_LIMIT);
        let e = fixture.relative_sensitivity(point.device, reference) * point.reading.norm();
        (broken, if e.is_nan() { f64::INFINITY } else { e })
    };
    Fixture::ALL
        .into_iter()
        .filter_map(|fixture| {
            let point = seen[fixture as usize].as_ref()?;
            Some((rank(fixture, point), fixture))
        })
        .min_by(|(a, _), (b, _)| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))
        .map(|(_, fixture)| fixture)
}
