//! A reduced sweep as the extraction of part values takes it.

use jigwise_physics::{Complex64, Covariance, Fixture};
use jigwise_touchstone::Sweep;

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
}

/// Most points that a fit is made from; more say nothing new and cost time.
const MAX_FITTED: usize = 2_001;

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
                Ok(point) => growing.push(&point, self.fixture(), &steps),
                Err(ReduceError::Blank { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(growing.input)
    }
}

/// The points of a sweep that a fit is made from.
pub(crate) fn fitted(len: usize) -> impl Iterator<Item = usize> {
    (0..len).step_by(len.div_ceil(MAX_FITTED).max(1))
}

/// Fit input that grows point by point, each from a fixture of its own.
pub(crate) struct GrowingInput {
    pub(crate) input: FitInput,
    has_budget: bool,
    /// What each of the shifts is of: the fixture, where its error is that of one, the source,
    /// and whether it is the first or the second real number of it.
    slots: Vec<(Option<Fixture>, Source, usize)>,
}

impl GrowingInput {
    pub(crate) fn new(has_budget: bool) -> Self {
        Self {
            input: FitInput::default(),
            has_budget,
            slots: Vec::new(),
        }
    }

    /// Adds a point, unless it is an open, at rest, or of unknown uncertainty.
    pub(crate) fn push(
        &mut self,
        point: &ReducedPoint,
        fixture: Fixture,
        steps: &[(Source, Complex64)],
    ) {
        let at_rest = point.freq_hz == 0.0;
        let Some(z) = point.device.impedance().filter(|_| !at_rest) else {
            return;
        };
        let random = match (self.has_budget, point.uncertainty) {
            (true, None) => return,
            (_, known) => known.map_or(Covariance::ZERO, |known| known.random),
        };
        let input = &mut self.input;
        let before = input.freq_hz.len();
        let mut earlier = None;
        for &(source, step) in steps.iter().filter(|_| self.has_budget) {
            // A complex cause comes as two steps in a row.
            let which = usize::from(earlier == Some(source));
            earlier = Some(source);
            let key = (
                (!source.is_of_calibration()).then_some(fixture),
                source,
                which,
            );
            let at = self.slots.iter().position(|slot| *slot == key);
            let at = at.unwrap_or_else(|| {
                self.slots.push(key);
                input.sources.push(source);
                input.shifts.push(vec![Complex64::ZERO; before]);
                self.slots.len() - 1
            });
            input.shifts[at].push(step);
        }
        for shifts in &mut input.shifts {
            shifts.resize(before + 1, Complex64::ZERO);
        }
        input.freq_hz.push(point.freq_hz);
        input.z_ohm.push(z);
        input.random.push(random);
    }
}
