//! One point of a sweep in ohms: corrected, moved to the part's plane, with its blanks taken off.

mod uncertainty;

use jigwise_bench::Blank;
use jigwise_physics::{
    Budget, Complex64, Correction, Fixture, Immittance, Method, Port, PortExtension,
    ReferenceImpedance, Scattering,
};
use jigwise_touchstone::Sweep;

use crate::frequency::point_at;
use crate::{Recipe, ReduceError, ReducedPoint, Source};

/// A sweep turned into ohms point by point.
pub(super) struct PointReducer<'a> {
    pub(super) sweep: &'a Sweep,
    pub(super) fixture: Fixture,
    pub(super) reference: ReferenceImpedance,
    pub(super) recipe: &'a Recipe,
    /// The budget, or `None` where the uncertainty is not asked for now.
    pub(super) budget: Option<&'a Budget>,
    /// What is made of the standards, where there are any.
    pub(super) method: Method,
    /// True where S12 is a reading of its own and not S21 taken twice.
    pub(super) is_two_way: bool,
}

/// One reading, corrected and moved to the part's plane.
struct Read {
    freq_hz: f64,
    raw: Scattering,
    corrected: Scattering,
    device: Immittance,
    /// What moving the plane multiplies the reading by.
    turn: Complex64,
}

impl Read {
    fn power_out(&self, fixture: Fixture) -> f64 {
        let back = self.corrected.s11.norm_sqr();
        if fixture == Fixture::Reflect {
            back
        } else {
            back + self.corrected.s21.norm_sqr()
        }
    }
}

impl PointReducer<'_> {
    /// The point, and where an instrument is known each systematic source's step in ohms: the
    /// change of Z by one standard uncertainty of one real number.
    pub(super) fn point(
        &self,
        k: usize,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Result<ReducedPoint, ReduceError> {
        let freq_hz = self.sweep.frequency_hz()[k];
        let correction = self
            .recipe
            .standards
            .as_ref()
            .map(|standards| {
                standards.correction(self.method, self.recipe.port, freq_hz, self.reference)
            })
            .transpose()?;
        let correction = correction.as_ref();
        let part = self.read(self.sweep, k, freq_hz, correction)?;
        let mut blanks = Vec::with_capacity(self.recipe.blanks.len());
        let mut devices = [Immittance::OPEN; Blank::MAX_PER_FIXTURE];
        for (sweep, device) in self.recipe.blanks.iter().zip(&mut devices) {
            let k = point_at(sweep.frequency_hz(), freq_hz).unwrap_or_default();
            let blank = self.read(sweep, k, freq_hz, correction)?;
            *device = blank.device;
            blanks.push(blank);
        }
        let found = Blank::take_off(self.fixture, part.device, &devices[..blanks.len()])
            .map_err(|error| ReduceError::Blank { freq_hz, error })?;
        let reading = self.of_fixture(&part.corrected);
        let uncertainty = self.budget.and_then(|budget| {
            self.uncertainty(budget, correction, &part, &blanks, found.part, steps)
        });
        Ok(ReducedPoint {
            freq_hz,
            reading,
            device: found.part,
            consistency: self.fixture.consistency(part.corrected.s11, reading),
            reciprocity: self
                .is_two_way
                .then(|| (part.corrected.s21 - part.corrected.s12).norm()),
            power_out: part.power_out(self.fixture),
            removed: found.removed,
            uncertainty,
        })
    }

    fn read(
        &self,
        sweep: &Sweep,
        k: usize,
        freq_hz: f64,
        correction: Option<&Correction>,
    ) -> Result<Read, ReduceError> {
        let reflect = self.fixture == Fixture::Reflect;
        let zero = Complex64::ZERO;
        let raw = if sweep.ports() < 2 || reflect {
            let port = self.recipe.port.number().min(sweep.ports());
            Scattering {
                s11: sweep.s(k, port, port),
                s12: zero,
                s21: zero,
                s22: zero,
            }
        } else {
            Scattering {
                s11: sweep.s(k, 1, 1),
                s12: sweep.s(k, 1, 2),
                s21: sweep.s(k, 2, 1),
                s22: sweep.s(k, 2, 2),
            }
        };
        let flat = match correction {
            Some(correction) => correction.apply_in(self.fixture, &raw),
            None => raw,
        };
        if !self.of_fixture(&flat).is_finite() {
            return Err(ReduceError::NoReading { freq_hz });
        }
        let [one, two] = match (self.recipe.port, &self.recipe.extension) {
            (Port::One, [one, two]) | (Port::Two, [two, one]) => [one, two],
        };
        let stays = PortExtension::default();
        let corrected = if (*one, *two) == (stays, stays) {
            flat
        } else {
            PortExtension::scattering(&flat, one, two, freq_hz)?
        };
        let (before, after) = if reflect {
            (flat.s11, corrected.s11)
        } else {
            (flat.s21, corrected.s21)
        };
        let device = self.fixture.immittance(after, self.reference)?;
        let turn = if before == zero {
            Complex64::ONE
        } else {
            after / before
        };
        Ok(Read {
            freq_hz,
            raw,
            corrected,
            device,
            turn,
        })
    }

    fn of_fixture(&self, s: &Scattering) -> Complex64 {
        match self.fixture {
            Fixture::Reflect => s.s11,
            _ => s.s21,
        }
    }
}
