//! A reduced sweep as the extraction of part values takes it.

use jigwise_physics::{
    Cause, Complex64, Covariance, ExtractError, Fixture, ImpedanceSweep, SweepErrors,
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

/// What each of the shifts is of: the fixture, where its error is that of one, the source, and
/// whether it is the first or the second real number of it.
pub(crate) type Slot = (Option<Fixture>, Source, usize);

/// Raw match turns with frequency, as no error that is one constant over the sweep does: in a fit
/// its products count as scatter.
fn turns_with_frequency(source: Source) -> bool {
    matches!(
        source,
        Source::Cause {
            cause: Cause::RawMatch,
            ..
        }
    )
}

fn scatter_by_raw_match(steps: &[(Source, Complex64)]) -> Covariance {
    steps
        .iter()
        .filter(|(source, _)| turns_with_frequency(*source))
        .map(|(_, step)| Covariance::along(*step))
        .fold(Covariance::ZERO, |sum, one| sum + one)
}

/// The slots of a point's steps, with the steps.
pub(crate) fn with_slots(
    fixture: Fixture,
    steps: &[(Source, Complex64)],
) -> impl Iterator<Item = (Slot, Complex64)> {
    let mut earlier = None;
    steps.iter().map(move |&(source, step)| {
        // A complex cause comes as two steps in a row.
        let which = usize::from(earlier == Some(source));
        earlier = Some(source);
        let fixture = (!source.is_of_calibration()).then_some(fixture);
        ((fixture, source, which), step)
    })
}

/// Those of the steps that stay over the sweep.
fn constant_slots(
    fixture: Fixture,
    steps: &[(Source, Complex64)],
) -> impl Iterator<Item = (Slot, Complex64)> {
    with_slots(fixture, steps).filter(|((_, source, _), _)| !turns_with_frequency(*source))
}

/// Scatter and shifts of every point for a part of any impedance.
#[derive(Debug, Clone, Default)]
pub(crate) struct ExpectedErrors {
    points: Vec<Expected>,
    slots: Vec<Slot>,
}

impl SweepErrors for ExpectedErrors {
    fn at(&self, point: usize, z_ohm: Complex64, shifts: &mut [Complex64]) -> Option<Covariance> {
        let expected = self.points.get(point)?;
        let mut steps = Vec::with_capacity(shifts.len());
        let random = expected.at(z_ohm, &mut steps)? + scatter_by_raw_match(&steps);
        for (slot, step) in constant_slots(expected.fixture(), &steps) {
            let at = self.slots.iter().position(|known| *known == slot);
            if let Some(shift) = at.and_then(|at| shifts.get_mut(at)) {
                *shift = step;
            }
        }
        Some(random)
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
        let mut growing = GrowingInput::new(self.has_budget());
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
    pub(crate) fn new(has_budget: bool) -> Self {
        Self {
            input: FitInput::default(),
            has_budget,
            errors: ExpectedErrors::default(),
        }
    }

    /// The input, with the first law that is broken: the identity of one of the fixtures that
    /// points are from, or R ≥ 0.
    pub(crate) fn finished(self, of: &[&Reducer<'_>]) -> Result<FitInput, ReduceError> {
        let mut input = self.input;
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
        let random = random + scatter_by_raw_match(known);
        for (slot, step) in constant_slots(reducer.fixture(), known) {
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
