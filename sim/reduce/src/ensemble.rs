//! One part measured in several fixtures, point by point.

use std::ops::Range;
use std::sync::OnceLock;

use jigwise_physics::{
    Agreement, AgreementTally, BlendError, Complex64, Fixture, Immittance, NoiseScale,
    ReferenceImpedance,
};

use crate::blending::{Numbers, Sight, Sights};
use crate::cores::{fill_on_all_cores, on_all_cores};
use crate::fit_input::GrowingInput;
use crate::frequency::point_at;
use crate::thin::fitted;
use crate::{
    EnsembleError, FitInput, IDENTITY, PartPoint, ReduceError, ReducedPoint, Reducer, Source,
};

/// Points that are reduced before they are handed on.
const RUN: usize = 4_096;

/// The sweeps of one part, each in a fixture of its own, taken with one calibration.
#[derive(Debug)]
pub struct Ensemble<'a> {
    seen: [Option<Reducer<'a>>; 3],
    first: Fixture,
    has_budget: bool,
    agreement: OnceLock<Option<Agreement>>,
}

impl<'a> Ensemble<'a> {
    /// The sweeps of one part. The frequencies are those of the first sweep. Uncertainty is
    /// told where each of them has a budget.
    ///
    /// # Errors
    /// [`EnsembleError`] for two sweeps of one fixture, and for sweeps whose frequencies or
    /// references differ.
    pub fn new(sweeps: Vec<Reducer<'a>>) -> Result<Self, EnsembleError> {
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
        let has_budget = sweeps.iter().all(Reducer::has_budget);
        for sweep in sweeps {
            let fixture = sweep.fixture();
            if seen[fixture as usize].replace(sweep).is_some() {
                return Err(EnsembleError::Twice { fixture });
            }
        }
        Ok(Self {
            seen,
            first,
            has_budget,
            agreement: OnceLock::new(),
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
        steps: Option<&mut [Vec<(Source, Complex64)>; 3]>,
    ) -> Result<PartPoint, ReduceError> {
        let freq_hz = self.freq_hz()[index];
        if self.fixtures() == 1 {
            return self.only_point(index, steps);
        }
        let sights = self.sights(index, steps)?;
        let reference = self.reference();
        let mut seen = [None; 3];
        for sight in &sights.0 {
            seen[sight.sweep.fixture() as usize] = Some(sight.point);
        }
        let chosen = best(&seen, reference, self.has_budget).unwrap_or(self.first);
        let blend = (self.has_budget && sights.0.len() > 1).then(|| {
            // Whether they are of one part is judged over the whole sweep.
            match self.agreement().filter(Agreement::is_contradiction) {
                Some(agreement) => Err(BlendError::from(agreement)),
                None => sights.blend(reference),
            }
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

    /// The point of a part in one fixture, with nothing to choose and nothing to blend.
    fn only_point(
        &self,
        index: usize,
        steps: Option<&mut [Vec<(Source, Complex64)>; 3]>,
    ) -> Result<PartPoint, ReduceError> {
        let at = self.first as usize;
        let steps = steps.map(|steps| &mut steps[at]);
        let point = self.leading().points(true).point(index, steps)?;
        let mut seen = [None; 3];
        seen[at] = Some(point);
        Ok(PartPoint {
            freq_hz: point.freq_hz,
            seen,
            chosen: self.first,
            blend: None,
            device: point.device,
        })
    }

    /// What each fixture sees at one of the frequencies; an error where none sees anything.
    fn sights(
        &self,
        index: usize,
        mut steps: Option<&mut [Vec<(Source, Complex64)>; 3]>,
    ) -> Result<Sights<'_>, ReduceError> {
        let freq_hz = self.freq_hz()[index];
        let mut sights = Vec::with_capacity(3);
        let mut refused = None;
        for (which, sweep) in self.seen.iter().enumerate() {
            let Some(sweep) = sweep else { continue };
            let all = sweep.freq_hz();
            let at = match all.get(index) {
                Some(same) if *same == freq_hz => index,
                _ => point_at(all, freq_hz).unwrap_or_default(),
            };
            let steps = steps.as_deref_mut().map(|steps| &mut steps[which]);
            let points = sweep.points(true);
            let held = points.held(at)?;
            match points.reduced(&held, steps) {
                Ok((point, nearness)) => sights.push(Sight {
                    sweep,
                    held,
                    point,
                    nearness,
                }),
                Err(error @ ReduceError::Blank { .. }) => {
                    refused.get_or_insert(error);
                }
                Err(error) => return Err(error),
            }
        }
        match refused {
            Some(error) if sights.is_empty() => Err(error),
            _ => Ok(Sights(sights)),
        }
    }

    /// Whether the fixtures tell of one part: one p-value for the whole sweep, from at most 2001
    /// of its points. `None` without an instrument, for one fixture, and where no point is seen
    /// by two.
    ///
    /// What the calibration leaves is the same in all fixtures, and so is the noise of raw
    /// standards that they share. Where they were corrected elsewhere, each is taken to have read
    /// its own standards.
    pub fn agreement(&self) -> Option<Agreement> {
        *self.agreement.get_or_init(|| {
            if !self.has_budget || self.fixtures() < 2 {
                return None;
            }
            let indices: Vec<usize> = fitted(self.freq_hz().len()).collect();
            let told = on_all_cores(0..indices.len(), |k| {
                // A point that can't be reduced is told of where the points are.
                let sights = self.sights(indices[k], None).ok()?;
                let blend = sights.blend(self.reference()).ok();
                Some(sights.told_from(blend.as_ref()))
            });
            let mut numbers = Numbers::over(self.freq_hz());
            let scales: Vec<_> = self.sweeps().map(Reducer::noise_scale).collect();
            let mut tally = AgreementTally::with_noise_scale(NoiseScale::mean_of(&scales));
            for told in told.flatten() {
                tally.add(&numbers.observations(told));
            }
            tally.finish()
        })
    }

    /// A run of points, in order, computed on all cores.
    ///
    /// # Panics
    /// Where a point does not exist.
    pub fn run(&self, points: Range<usize>) -> Vec<Result<PartPoint, ReduceError>> {
        on_all_cores(points, |index| self.point(index)).collect()
    }

    /// Hands on every point that can be told, in order, a run at a time; after each run
    /// `progress` gets the share that is done.
    ///
    /// # Errors
    /// What `take` returns, and a refusal other than that of a blank.
    pub fn each<E: From<ReduceError>>(
        &self,
        take: impl FnMut(&PartPoint) -> Result<(), E>,
        progress: impl FnMut(f64),
    ) -> Result<(), E> {
        self.each_made(|point| point, take, progress)
    }

    /// As [`Ensemble::each`], with what `make` makes of a point on the core that reduced it.
    ///
    /// # Errors
    /// What `take` returns, and a refusal other than that of a blank.
    pub fn each_made<T: Send, E: From<ReduceError>>(
        &self,
        make: impl Fn(PartPoint) -> T + Sync,
        mut take: impl FnMut(&T) -> Result<(), E>,
        mut progress: impl FnMut(f64),
    ) -> Result<(), E> {
        let len = self.freq_hz().len();
        let mut lists = Vec::new();
        for start in (0..len).step_by(RUN) {
            let end = (start + RUN).min(len);
            fill_on_all_cores(&mut lists, start..end, |index| self.point(index).map(&make));
            // Handed on where they lie: a point is large.
            for found in lists.iter().flatten() {
                match found {
                    Ok(made) => take(made)?,
                    Err(ReduceError::Blank { .. }) => {}
                    Err(error) => return Err(error.clone().into()),
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
    pub fn fit_input(&self) -> Result<FitInput, ReduceError> {
        let mut growing = GrowingInput::new(self.has_budget, self.freq_hz());
        let mut used = [None; 3];
        let mut steps = [const { Vec::new() }; 3];
        for index in fitted(self.freq_hz().len()) {
            let point = match self.point_and_steps(index, Some(&mut steps)) {
                Ok(point) => point,
                Err(ReduceError::Blank { .. }) => continue,
                Err(error) => return Err(error),
            };
            let reducer = self.seen[point.chosen as usize].as_ref();
            if let Some((best, reducer)) = point.best().zip(reducer) {
                growing.push(best, reducer, &steps[point.chosen as usize])?;
                used[point.chosen as usize] = Some(reducer);
            }
        }
        let used: Vec<_> = used.into_iter().flatten().collect();
        growing.finished(&used)
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
                .uncertainty
                .map(|known| known.total.trace().sqrt() / size);
            return (false, e.filter(|e| !e.is_nan()).unwrap_or(f64::INFINITY));
        }
        let broken = point.consistency.is_some_and(|c| c > IDENTITY.broken);
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
