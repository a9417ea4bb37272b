//! A reduced sweep as the extraction of part values takes it.

use jigwise_physics::{
    Cause, Complex64, Covariance, ExtractError, Fixture, ImpedanceSweep, NoisePoint, NoiseScale,
    SweepErrors,
};
use jigwise_touchstone::Sweep;

use crate::point_reducer::Expected;
use crate::soundness::{Soundness, resistance};
use crate::thin::fitted;
use crate::{Recipe, ReduceError, ReducedPoint, Reducer, Source};

/// Readings and systematic steps of a sweep as the extraction of part values takes them.
#[derive(Debug, Clone, Default)]
pub struct FitInput {
    /// Frequencies, Hz, rising.
    pub freq_hz: Vec<f64>,
    /// Z, Ω.
    pub z_ohm: Vec<Complex64>,
    /// Covariance from noise, Ω².
    pub random: Vec<Covariance>,
    /// For each systematic component one step in ohms at every point.
    pub shifts: Vec<Vec<Complex64>>,
    /// Where each comes from.
    pub sources: Vec<Source>,
    /// The same at any other impedance; `None` without an instrument.
    pub(crate) errors: Option<ExpectedErrors>,
    /// Whether the readings can be those of one passive part.
    pub soundness: Soundness,
}

impl FitInput {
    /// The sweep to extract values from.
    ///
    /// # Errors
    /// [`ExtractError`] where there is no point.
    pub fn sweep(&self) -> Result<ImpedanceSweep<'_>, ExtractError> {
        let sweep = ImpedanceSweep::new(&self.freq_hz, &self.z_ohm, &self.random, &self.shifts)?;
        Ok(match &self.errors {
            Some(errors) => sweep.with_errors(errors),
            None => sweep,
        })
    }
}

/// What each of the shifts is of: the fixture, where its error is that of one, the source, and the
/// number of the real number of it.
pub(crate) type Slot = (Option<Fixture>, Source, usize);

/// How raw match turns over a sweep: it is reflections behind some length of line, and so are its
/// products with what the calibration left.
///
/// Their sum is taken for Σ cₖ·√wₖ·e^(−jωτₖ) of K independent constants, the delays τₖ evenly from
/// zero to [`MAX_DELAY_S`] and wₖ ~ e^(−τₖ/[`MEAN_DELAY_S`]) with the sum 1: what reflects near the
/// port is the larger part. At one frequency that is the variance of the budget; over a narrow sweep
/// it is one constant, over a wide one it turns slowly. As scatter of its own at each point it would
/// hide noise and ripple below its size, and drop out of the values of many points.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Turning {
    step_s: f64,
    terms: usize,
}

/// Twice the way through analyzer and cable to the farthest connector that still reflects, some
/// 30 cm of cable (common practice, no source).
const MAX_DELAY_S: f64 = 3e-9;
/// Mean delay of what reflects (common practice, no source).
const MEAN_DELAY_S: f64 = 0.7e-9;
/// Most terms: 24 columns more in a fit. They serve sweeps up to 1.8 GHz wide.
const MAX_TERMS: usize = 12;

impl Turning {
    /// For a sweep of these frequencies, Hz. `None` where it is too wide: there the products count
    /// as scatter.
    pub(crate) fn over(freq_hz: &[f64]) -> Option<Self> {
        let [first, .., last] = freq_hz else {
            return Some(Self::NONE);
        };
        // Two for each turn of the longest delay, so that nothing comes back within the sweep.
        let terms = 2 + (2.0 * (last - first) * MAX_DELAY_S) as usize;
        (terms <= MAX_TERMS).then(|| Self {
            step_s: MAX_DELAY_S / (terms - 1) as f64,
            terms,
        })
    }

    const NONE: Self = Self {
        step_s: 0.0,
        terms: 1,
    };

    /// √wₖ·e^(−jωτₖ) for each k.
    fn factors(self, freq_hz: f64) -> impl Iterator<Item = Complex64> {
        let turn = -std::f64::consts::TAU * freq_hz * self.step_s;
        let weight = move |k: usize| (-self.step_s * k as f64 / MEAN_DELAY_S).exp();
        let sum: f64 = (0..self.terms).map(weight).sum();
        (0..self.terms)
            .map(move |k| Complex64::from_polar((weight(k) / sum).sqrt(), turn * k as f64))
    }
}

fn turns_with_frequency(source: Source) -> bool {
    matches!(
        source,
        Source::Cause {
            cause: Cause::RawMatch,
            ..
        }
    )
}

/// The slots of a point's steps, with the steps. What turns with frequency has as many as there are
/// terms; none where the sweep is too wide for them.
pub(crate) fn with_slots(
    fixture: Fixture,
    steps: &[(Source, Complex64)],
    freq_hz: f64,
    turning: Option<Turning>,
) -> impl Iterator<Item = (Slot, Complex64)> {
    let mut earlier = None;
    steps.iter().flat_map(move |&(source, step)| {
        // A complex cause comes as two steps in a row.
        let which = usize::from(earlier == Some(source));
        earlier = Some(source);
        let fixture = (!source.is_of_calibration()).then_some(fixture);
        let turning = match turns_with_frequency(source) {
            true => turning,
            false => Some(Turning::NONE),
        };
        let factors = turning.into_iter().flat_map(move |t| t.factors(freq_hz));
        factors
            .enumerate()
            .map(move |(k, factor)| ((fixture, source, 2 * k + which), step * factor))
    })
}

/// Scatter of what has no slot: the products with the raw match in a sweep too wide for terms.
pub(crate) fn scatter_without_slots(
    steps: &[(Source, Complex64)],
    turning: Option<Turning>,
) -> Covariance {
    steps
        .iter()
        .filter(|(source, _)| turning.is_none() && turns_with_frequency(*source))
        .map(|(_, step)| Covariance::along(*step))
        .fold(Covariance::ZERO, |sum, one| sum + one)
}

/// Scatter and shifts of every point for a part of any impedance.
#[derive(Debug, Clone, Default)]
pub(crate) struct ExpectedErrors {
    points: Vec<Expected>,
    slots: Vec<Slot>,
    turning: Option<Turning>,
    noise_scale: NoiseScale,
}

impl SweepErrors for ExpectedErrors {
    fn at(&self, point: usize, z_ohm: Complex64, shifts: &mut [Complex64]) -> Option<Covariance> {
        let expected = self.points.get(point)?;
        let mut steps = Vec::with_capacity(shifts.len());
        let random = expected.at(z_ohm, &mut steps)? + scatter_without_slots(&steps, self.turning);
        let (fixture, freq_hz) = (expected.fixture(), expected.freq_hz());
        // The steps of a point come in the order of the slots, so the next slot is most likely next.
        let mut next = 0;
        with_slots(fixture, &steps, freq_hz, self.turning).for_each(|(slot, step)| {
            let at = match self.slots.get(next) {
                Some(known) if *known == slot => Some(next),
                _ => self.slots.iter().position(|known| *known == slot),
            };
            if let Some((at, shift)) = at.and_then(|at| Some((at, shifts.get_mut(at)?))) {
                *shift = step;
                next = at + 1;
            }
        });
        Some(random)
    }

    fn noise_scale(&self) -> NoiseScale {
        self.noise_scale
    }

    fn seen_from(&self, point: usize, read_ohm: Complex64, z_ohm: Complex64) -> Option<Complex64> {
        self.points.get(point)?.seen_from(read_ohm, z_ohm)
    }
}

/// How well the noise is known of those of the points that were corrected elsewhere, where these
/// are not a few among others.
fn noise_scale(points: &[Expected], z_ohm: &[Complex64]) -> NoiseScale {
    let elsewhere: Vec<NoisePoint> = points
        .iter()
        .zip(z_ohm)
        .filter_map(|(point, z)| point.noise_point(*z))
        .collect();
    match points.first() {
        Some(first) if 2 * elsewhere.len() > points.len() => first.budget().noise_scale(&elsewhere),
        _ => NoiseScale::KNOWN,
    }
}

/// Reduces a sweep, thinned evenly to at most 2001 points, for [`jigwise_physics::ImpedanceSweep`].
/// Points without a finite impedance, and one at 0 Hz, are left out. Without an instrument there
/// is neither scatter nor shift.
///
/// # Errors
/// As [`reduce_with`](crate::reduce_with).
pub fn fit_input(
    sweep: &Sweep,
    fixture: Fixture,
    recipe: &Recipe,
) -> Result<FitInput, ReduceError> {
    Reducer::new(sweep, fixture, recipe)?.fit_input()
}

impl Reducer<'_> {
    /// As [`fit_input`].
    ///
    /// # Errors
    /// As [`reduce_with`](crate::reduce_with).
    pub fn fit_input(&self) -> Result<FitInput, ReduceError> {
        let mut growing = GrowingInput::new(self.has_budget(), self.freq_hz());
        let mut steps = Vec::new();
        for k in fitted(self.len()) {
            match self.points(true).point(k, Some(&mut steps)) {
                Ok(point) => growing.push(&point, self, &steps)?,
                Err(ReduceError::Blank { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        growing.finished(&[self])
    }
}

/// Fit input that grows point by point, each from a fixture of its own.
pub(crate) struct GrowingInput {
    input: FitInput,
    has_budget: bool,
    errors: ExpectedErrors,
}

impl GrowingInput {
    /// For points of a sweep at these frequencies.
    pub(crate) fn new(has_budget: bool, freq_hz: &[f64]) -> Self {
        Self {
            input: FitInput::default(),
            has_budget,
            errors: ExpectedErrors {
                turning: Turning::over(freq_hz),
                ..ExpectedErrors::default()
            },
        }
    }

    /// The input, with the first law that is broken: the identity of one of the fixtures that
    /// points are from, or R ≥ 0.
    pub(crate) fn finished(mut self, of: &[&Reducer<'_>]) -> Result<FitInput, ReduceError> {
        let mut input = self.input;
        self.errors.noise_scale = noise_scale(&self.errors.points, &input.z_ohm);
        for reducer in of {
            if input.soundness.stands() {
                input.soundness = reducer.identity()?;
            }
        }
        if self.has_budget {
            if input.soundness.stands() {
                input.soundness = resistance(&input.z_ohm, input.shifts.len(), &self.errors);
            }
            input.errors = Some(self.errors);
        }
        Ok(input)
    }

    /// Adds a point, unless it is an open, at rest, or of unknown uncertainty.
    pub(crate) fn push(
        &mut self,
        point: &ReducedPoint,
        reducer: &Reducer<'_>,
        steps: &[(Source, Complex64)],
    ) -> Result<(), ReduceError> {
        let at_rest = point.freq_hz == 0.0;
        let Some(z) = point.device.impedance().filter(|_| !at_rest) else {
            return Ok(());
        };
        let random = match (self.has_budget, point.uncertainty) {
            (true, None) => return Ok(()),
            (_, known) => known.map_or(Covariance::ZERO, |known| known.random),
        };
        let input = &mut self.input;
        let before = input.freq_hz.len();
        let known = if self.has_budget { steps } else { &[] };
        let turning = self.errors.turning;
        let random = random + scatter_without_slots(known, turning);
        for (slot, step) in with_slots(reducer.fixture(), known, point.freq_hz, turning) {
            let slots = &mut self.errors.slots;
            let at = slots.iter().position(|known| *known == slot);
            let at = at.unwrap_or_else(|| {
                slots.push(slot);
                input.sources.push(slot.1);
                input.shifts.push(vec![Complex64::ZERO; before]);
                slots.len() - 1
            });
            input.shifts[at].push(step);
        }
        for shifts in &mut input.shifts {
            shifts.resize(before + 1, Complex64::ZERO);
        }
        input.freq_hz.push(point.freq_hz);
        input.z_ohm.push(z);
        input.random.push(random);
        let expected = reducer.points(self.has_budget).expected(point.freq_hz)?;
        self.errors.points.extend(expected);
        Ok(())
    }
}
