//! One point of a sweep in ohms: corrected, moved to the part's plane, with its blanks taken off.

mod expected;
mod identity;
mod observed;
mod uncertainty;

use jigwise_bench::Blank;
use jigwise_physics::{
    Bands, Budget, Complex64, Correction, Fixture, Immittance, Method, NoisePoint, Port,
    PortExtension, ReferenceImpedance, Scattering,
};
use jigwise_touchstone::Sweep;

pub(crate) use expected::Expected;
pub(crate) use identity::IdentityErrors;
pub(crate) use observed::Observed;
pub(crate) use uncertainty::Nearness;
use uncertainty::Propagation;

use crate::frequency::point_near;
use crate::regrid::Regridded;
use crate::smooth::Smooth;
use crate::{Recipe, ReduceError, ReducedPoint, Source, StandardSweeps};

/// A sweep turned into ohms point by point.
pub(super) struct PointReducer<'a> {
    pub(super) sweep: &'a Sweep,
    pub(super) fixture: Fixture,
    pub(super) reference: ReferenceImpedance,
    pub(super) recipe: &'a Recipe,
    /// The recipe's standards, at the part's frequencies.
    pub(super) standards: Option<&'a StandardSweeps>,
    /// The recipe's blanks, where they were brought to the part's frequencies.
    pub(super) blanks: &'a [Option<Regridded>],
    /// The budgets, or `None` where the uncertainty is not asked for now.
    pub(super) budgets: Option<&'a Bands>,
    /// What is made of the standards, where there are any.
    pub(super) method: Method,
    /// True where S12 is a reading of its own and not S21 taken twice.
    pub(super) is_two_way: bool,
}

/// One reading, corrected and moved to the part's plane.
#[derive(Debug, Clone, Copy)]
struct Read {
    freq_hz: f64,
    raw: Scattering,
    /// E|δ|² of the raw reading beside its noise.
    doubt: f64,
    corrected: Scattering,
    device: Immittance,
    /// What moving the plane multiplies the reading by.
    turn: Complex64,
}

/// One frequency's readings of the part and its blanks, corrected and ready to be looked at.
pub(crate) struct HeldPoint {
    freq_hz: f64,
    /// Boxed, since it is large and most sweeps have none.
    correction: Option<Box<Correction>>,
    part: Read,
    blanks: Vec<Read>,
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

impl<'a> PointReducer<'a> {
    /// The budget at a frequency; `None` where the uncertainty is not asked for now. A reducer has
    /// none of frequencies above the last band.
    pub(super) fn budget(&self, freq_hz: f64) -> Option<&'a Budget> {
        self.budgets?.at(freq_hz)
    }

    /// The point, and where an instrument is known each systematic source's step in ohms: the
    /// change of Z by one standard uncertainty of one real number.
    pub(super) fn point(
        &self,
        k: usize,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Result<ReducedPoint, ReduceError> {
        let (point, _) = self.reduced(&self.held(k)?, steps)?;
        Ok(point)
    }

    /// What is read at a frequency.
    pub(super) fn held(&self, k: usize) -> Result<HeldPoint, ReduceError> {
        let freq_hz = self.sweep.frequency_hz()[k];
        let correction = self.correction_at((k, freq_hz), None)?.map(Box::new);
        let part = self.read(self.sweep, k, freq_hz, correction.as_deref())?;
        let blank = |(sweep, moved): (&Sweep, &Option<Regridded>)| match moved {
            Some(moved) => {
                let read = self.read(&moved.sweep, k, freq_hz, correction.as_deref())?;
                let doubt = moved.doubts[k] * moved.doubts[k];
                Ok(Read { doubt, ..read })
            }
            None => {
                let k = point_near(sweep.frequency_hz(), k, freq_hz).unwrap_or_default();
                self.read(sweep, k, freq_hz, correction.as_deref())
            }
        };
        let blanks = self.recipe.blanks.iter().zip(self.blanks).map(blank);
        let blanks = blanks.collect::<Result<_, _>>()?;
        Ok(HeldPoint {
            freq_hz,
            correction,
            part,
            blanks,
        })
    }

    /// Where the noise of a point has to be looked at, as far as the correction is not known.
    pub(super) fn noise_point(&self, k: usize) -> Option<NoisePoint> {
        if self.recipe.standards.is_some() {
            return None;
        }
        let held = self.held(k).ok()?;
        Some(NoisePoint {
            freq_hz: held.freq_hz,
            fixture: self.fixture,
            device: held.part.device,
        })
    }

    /// The point that is held, and how its inverse bends where an instrument is known.
    pub(super) fn reduced(
        &self,
        held: &HeldPoint,
        steps: Option<&mut Vec<(Source, Complex64)>>,
    ) -> Result<(ReducedPoint, Option<Nearness>), ReduceError> {
        let HeldPoint {
            freq_hz,
            correction,
            part,
            blanks,
        } = held;
        let freq_hz = *freq_hz;
        let mut devices = [Immittance::OPEN; Blank::MAX_PER_FIXTURE];
        for (device, blank) in devices.iter_mut().zip(blanks) {
            *device = blank.device;
        }
        let found = Blank::take_off(self.fixture, part.device, &devices[..blanks.len()])
            .map_err(|error| ReduceError::Blank { freq_hz, error })?;
        let reading = self.of_fixture(&part.corrected);
        let known = self.budget(freq_hz).and_then(|budget| {
            let (propagation, correction) = (self.propagation(), correction.as_deref());
            propagation.uncertainty(budget, correction, part, blanks, found.part, steps)
        });
        let point = ReducedPoint {
            freq_hz,
            reading,
            device: found.part,
            consistency: self.fixture.consistency(part.corrected.s11, reading),
            reciprocity: self
                .is_two_way
                .then(|| (part.corrected.s21 - part.corrected.s12).norm()),
            power_out: part.power_out(self.fixture),
            removed: found.removed,
            uncertainty: known.map(|(uncertainty, _)| uncertainty),
        };
        Ok((point, known.map(|(_, nearness)| nearness)))
    }

    /// The correction at a point and its frequency, from the readings of the standards or from smoothed ones.
    fn correction_at(
        &self,
        at: (usize, f64),
        smooth: Option<&Smooth<'_>>,
    ) -> Result<Option<Correction>, ReduceError> {
        let reading = |sweep: &Sweep, k, to, from| match smooth {
            Some(smooth) => smooth.reading(sweep, k, to, from),
            None => sweep.s(k, to, from),
        };
        self.standards
            .map(|standards| {
                let (method, port) = (self.method, self.recipe.port);
                standards.correction_by(method, port, at, self.reference, reading)
            })
            .transpose()
    }

    /// The blanks at the part's frequencies.
    fn blank_sweeps(&self) -> impl Iterator<Item = &Sweep> {
        let both = self.recipe.blanks.iter().zip(self.blanks);
        both.map(|(sweep, moved)| moved.as_ref().map_or(sweep, |moved| &moved.sweep))
    }

    fn propagation(&self) -> Propagation {
        Propagation {
            fixture: self.fixture,
            reference: self.reference,
            blank_share: self.recipe.blank_share,
            strays: self.recipe.strays,
        }
    }

    fn read(
        &self,
        sweep: &Sweep,
        k: usize,
        freq_hz: f64,
        correction: Option<&Correction>,
    ) -> Result<Read, ReduceError> {
        let s = |to, from| sweep.s(k, to, from);
        self.read_raw(self.readings_of(sweep, s), freq_hz, correction)
    }

    /// The readings of a sweep that the fixture has, zero for the others; `s` gives each by its
    /// ports.
    fn readings_of(&self, sweep: &Sweep, s: impl Fn(usize, usize) -> Complex64) -> Scattering {
        let zero = Complex64::ZERO;
        if sweep.ports() < 2 || self.fixture == Fixture::Reflect {
            let port = self.recipe.port.number().min(sweep.ports());
            Scattering {
                s11: s(port, port),
                s12: zero,
                s21: zero,
                s22: zero,
            }
        } else {
            Scattering {
                s11: s(1, 1),
                s12: s(1, 2),
                s21: s(2, 1),
                s22: s(2, 2),
            }
        }
    }

    fn read_raw(
        &self,
        raw: Scattering,
        freq_hz: f64,
        correction: Option<&Correction>,
    ) -> Result<Read, ReduceError> {
        let reflect = self.fixture == Fixture::Reflect;
        let zero = Complex64::ZERO;
        let flat = match correction {
            Some(correction) => correction.apply_in(self.fixture, &raw),
            None => raw,
        };
        if !self.of_fixture(&flat).is_finite() {
            return Err(ReduceError::NoReading { freq_hz });
        }
        let [one, two] = self.extension();
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
            doubt: 0.0,
            corrected,
            device,
            turn,
        })
    }

    /// How far the planes are moved, that of the reflection's port first.
    fn extension(&self) -> [&PortExtension; 2] {
        match (self.recipe.port, &self.recipe.extension) {
            (Port::One, [one, two]) | (Port::Two, [two, one]) => [one, two],
        }
    }

    fn of_fixture(&self, s: &Scattering) -> Complex64 {
        self.propagation().of_fixture(s)
    }
}
