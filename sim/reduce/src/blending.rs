//! What several fixtures say of one part at a frequency: their blend, and what it adds to the
//! agreement over the sweep.

use std::sync::Arc;

use jigwise_physics::{
    Blend, BlendError, Complex64, Fixture, MIN_T0_IN_SIGMA, Observation, RAW_STANDARD_READINGS,
    ReferenceImpedance,
};

use crate::fit_input::{Slot, Turning, scatter_without_slots, with_slots};
use crate::point_reducer::{HeldPoint, Nearness, Observed};
use crate::{ReducedPoint, Reducer, Source};

/// One fixture at one frequency.
pub(crate) struct Sight<'a> {
    pub(crate) sweep: &'a Reducer<'a>,
    pub(crate) held: HeldPoint,
    pub(crate) point: ReducedPoint,
    /// How its inverse bends, where an instrument is known.
    pub(crate) nearness: Option<Nearness>,
}

impl Sight<'_> {
    fn fixture(&self) -> Fixture {
        self.sweep.fixture()
    }

    /// True far enough from the pole of its inverse, and not bent.
    fn sees(&self) -> bool {
        self.nearness
            .is_some_and(|near| near.t0_in_sigma >= MIN_T0_IN_SIGMA && !near.is_bent)
    }

    /// True where its scatter is so narrow that the inverse bends it beside its width, though the
    /// pole is far: two such fixtures would meet beside the part, and seem to contradict each other.
    fn is_bent(&self) -> bool {
        self.nearness
            .is_some_and(|near| near.t0_in_sigma >= MIN_T0_IN_SIGMA && near.is_bent)
    }

    /// Its own value in ohms and the relative uncertainty of that.
    fn own_value(&self) -> Option<(f64, Complex64)> {
        let z = self.point.device.impedance()?;
        let e = self.point.uncertainty?.total.trace().sqrt() / z.norm();
        (!e.is_nan()).then_some((e, z))
    }
}

/// What a fixture says, seen from an estimate.
pub(crate) struct Told {
    freq_hz: f64,
    fixture: Fixture,
    /// The place of the first fixture with the same raw standards. Where standards are not known
    /// each fixture counts as one that read its own.
    standards: usize,
    observed: Observed,
}

/// The fixtures that see one frequency, in the order of [`Fixture::ALL`].
pub(crate) struct Sights<'a>(pub(crate) Vec<Sight<'a>>);

impl Sights<'_> {
    /// What every fixture that is `wanted` says, as far as it can be told from an estimate.
    fn told(&self, z_ohm: Complex64, wanted: impl Fn(&Sight<'_>) -> bool) -> Vec<Told> {
        let all = self.0.iter().enumerate();
        all.filter(|(_, sight)| wanted(sight))
            .filter_map(|(at, sight)| {
                Some(Told {
                    freq_hz: sight.point.freq_hz,
                    fixture: sight.fixture(),
                    standards: self.first_with_standards_of(at),
                    observed: sight.sweep.points(true).observed(&sight.held, z_ohm)?,
                })
            })
            .collect()
    }

    fn first_with_standards_of(&self, at: usize) -> usize {
        let standards = |at: usize| self.0[at].sweep.recipe().standards.as_ref();
        let is_same = |earlier: &usize| {
            let both = standards(*earlier).zip(standards(at));
            both.is_some_and(|(a, b)| Arc::ptr_eq(a, b))
        };
        (0..at).find(is_same).unwrap_or(at)
    }

    /// The value of the fixture that knows best, among those that see the part.
    fn best_value(&self) -> Option<Complex64> {
        let seeing = self.0.iter().filter(|sight| sight.sees());
        let best = seeing
            .filter_map(Sight::own_value)
            .min_by(|(a, _), (b, _)| a.total_cmp(b))?;
        Some(best.1)
    }

    /// The blend of the fixtures that see the part, whatever its p-value.
    pub(crate) fn blend(&self, reference: ReferenceImpedance) -> Result<Blend, BlendError> {
        let mut used = [false; 3];
        for sight in &self.0 {
            used[sight.fixture() as usize] = sight.sees();
        }
        let usable = used.iter().filter(|used| **used).count();
        let start = self.best_value().ok_or(BlendError::TooFew { usable })?;
        Blend::by_observing(start, used, reference, |z_ohm| {
            let told = self.told(z_ohm, |sight| sight.sees());
            let mut numbers = Numbers::over(&[]);
            (told.len() == usable).then(|| numbers.observations(told))
        })
    }

    /// What all fixtures say as seen from the blend, or from the best fixture's value where
    /// there is none; also those that see little, whose reading says at least that, but none that
    /// is bent. Nothing where no fixture sees the part.
    pub(crate) fn told_from(&self, blend: Option<&Blend>) -> Vec<Told> {
        let z_ohm = blend.map(|blend| blend.impedance_ohm);
        match z_ohm.or_else(|| self.best_value()) {
            Some(z_ohm) => self.told(z_ohm, |sight| !sight.is_bent()),
            None => Vec::new(),
        }
    }
}

/// The numbers that steps go by: what the calibration leaves is one error in all fixtures, what
/// belongs to a connection or a blank is each fixture's own.
pub(crate) struct Numbers {
    known: Vec<Slot>,
    turning: Option<Turning>,
}

impl Numbers {
    /// For points of a sweep at these frequencies, Hz.
    pub(crate) fn over(freq_hz: &[f64]) -> Self {
        Self {
            known: Vec::new(),
            turning: Turning::over(freq_hz),
        }
    }

    pub(crate) fn observations(&mut self, told: Vec<Told>) -> Vec<Observation> {
        told.into_iter()
            .map(|one| {
                let first = one.standards * 2 * RAW_STANDARD_READINGS;
                let of_standards = one.observed.of_standards.into_iter();
                Observation {
                    residual_ohm: one.observed.residual_ohm,
                    own_noise: one.observed.own_noise
                        + scatter_without_slots(&one.observed.steps, self.turning),
                    common_noise: of_standards.map(|(at, step)| (first + at, step)).collect(),
                    constants: self.of(one.freq_hz, one.fixture, &one.observed.steps),
                }
            })
            .collect()
    }

    fn of(
        &mut self,
        freq_hz: f64,
        fixture: Fixture,
        steps: &[(Source, Complex64)],
    ) -> Vec<(usize, Complex64)> {
        with_slots(fixture, steps, freq_hz, self.turning)
            .map(|(slot, step)| {
                let at = self.known.iter().position(|known| *known == slot);
                let at = at.unwrap_or_else(|| {
                    self.known.push(slot);
                    self.known.len() - 1
                });
                (at, step)
            })
            .collect()
    }
}
