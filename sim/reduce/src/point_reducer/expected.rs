//! One point as a part of a given impedance would read there: what noise and systematic errors
//! do to its ohms, free of the noise of the part's own reading.

use jigwise_bench::Blank;
use jigwise_physics::{
    Budget, Complex64, Correction, Covariance, Fixture, Immittance, NoisePoint, PortExtension,
    Scattering,
};
use jigwise_touchstone::Sweep;

use super::uncertainty::Propagation;
use super::{HeldPoint, PointReducer, Read};
use crate::frequency::{point_at, point_near};
use crate::smooth::Smooth;
use crate::{ReduceError, Source};

/// Correction, plane and blanks of one point, ready for any part.
///
/// The raw readings of standards and blanks are smoothed over frequency: their noise is in the
/// residuals of a fit, and shifts that held it too would follow it.
#[derive(Debug, Clone)]
pub(crate) struct Expected {
    freq_hz: f64,
    propagation: Propagation,
    budget: Budget,
    correction: Option<Correction>,
    blanks: Vec<Read>,
    /// What moving the planes multiplies S11, S21 and S22 by.
    turns: [Complex64; 3],
}

impl PointReducer<'_> {
    /// `None` without a budget.
    pub(crate) fn expected(&self, freq_hz: f64) -> Result<Option<Expected>, ReduceError> {
        let Some(budget) = self.budget(freq_hz) else {
            return Ok(None);
        };
        let smooth = Smooth::new(budget, freq_hz);
        let near = point_at(self.sweep.frequency_hz(), freq_hz).unwrap_or_default();
        let correction = self.correction_at((near, freq_hz), Some(&smooth))?;
        let blank = |sweep: &Sweep| {
            let k = point_near(sweep.frequency_hz(), near, freq_hz)?;
            let raw = self.readings_of(sweep, |to, from| smooth.reading(sweep, k, to, from));
            Some(self.read_raw(raw, freq_hz, correction.as_ref()))
        };
        let blanks = self.blank_sweeps().filter_map(blank);
        Ok(Some(Expected {
            freq_hz,
            propagation: self.propagation(),
            budget: *budget,
            correction,
            blanks: blanks.collect::<Result<_, _>>()?,
            turns: self.turns(freq_hz)?,
        }))
    }

    /// The same with the readings of standards and blanks as they are.
    pub(super) fn expected_of(&self, held: &HeldPoint) -> Result<Option<Expected>, ReduceError> {
        let Some(budget) = self.budget(held.freq_hz) else {
            return Ok(None);
        };
        Ok(Some(Expected {
            freq_hz: held.freq_hz,
            propagation: self.propagation(),
            budget: *budget,
            correction: held.correction.as_deref().copied(),
            blanks: held.blanks.clone(),
            turns: self.turns(held.freq_hz)?,
        }))
    }

    /// What moving the planes multiplies S11, S21 and S22 by.
    pub(super) fn turns(&self, freq_hz: f64) -> Result<[Complex64; 3], ReduceError> {
        let one = Complex64::ONE;
        let flat = Scattering {
            s11: one,
            s12: one,
            s21: one,
            s22: one,
        };
        let [first, second] = self.extension();
        let turned = PortExtension::scattering(&flat, first, second, freq_hz)?;
        Ok([turned.s11, turned.s21, turned.s22])
    }
}

impl Expected {
    pub(crate) fn budget(&self) -> &Budget {
        &self.budget
    }

    /// Where the noise of a part of `z_ohm` has to be looked at; `None` where the correction, and
    /// with it the noise, is known.
    pub(crate) fn noise_point(&self, z_ohm: Complex64) -> Option<NoisePoint> {
        if self.correction.is_some() {
            return None;
        }
        let part = self.read(Immittance::from_impedance(z_ohm).ok()?)?;
        Some(NoisePoint {
            freq_hz: self.freq_hz,
            fixture: self.propagation.fixture,
            device: part.device,
        })
    }

    pub(crate) fn freq_hz(&self) -> f64 {
        self.freq_hz
    }

    pub(crate) fn fixture(&self) -> Fixture {
        self.propagation.fixture
    }

    /// The covariance of R and X from noise, Ω², of a part of `z_ohm`, and into `steps` the step
    /// of each systematic source. `None` where no error of the reading is small in ohms.
    pub(crate) fn at(
        &self,
        z_ohm: Complex64,
        steps: &mut Vec<(Source, Complex64)>,
    ) -> Option<Covariance> {
        let device = Immittance::from_impedance(z_ohm).ok()?;
        let part = self.read(device)?;
        let correction = self.correction.as_ref();
        let found = self.propagation.propagated(
            &self.budget,
            correction,
            &part,
            &self.blanks,
            device,
            Some(steps),
        )?;
        Some(found.random)
    }

    /// Where the part's reading puts it to first order seen from `z_ohm`, Ω:
    /// z + (S(read) − S(z))·dZ/dS. A reading scatters like a Gaussian, and its ohms far less so
    /// where the fixture hardly sees the part.
    pub(crate) fn seen_from(&self, read_ohm: Complex64, z_ohm: Complex64) -> Option<Complex64> {
        const STEP: f64 = 1e-5;
        let of = |ohm: Complex64| {
            let read = self.read(Immittance::from_impedance(ohm).ok()?)?;
            Some(self.propagation.of_fixture(&read.corrected))
        };
        let step = z_ohm * STEP;
        let slope = (of(z_ohm + step)? - of(z_ohm - step)?) / (2.0 * step);
        let seen = z_ohm + (of(read_ohm)? - of(z_ohm)?) / slope;
        seen.is_finite().then_some(seen)
    }

    /// What the part reads, with the fixture around it.
    pub(super) fn read(&self, part: Immittance) -> Option<Read> {
        let Propagation {
            fixture, reference, ..
        } = self.propagation;
        let mut devices = [Immittance::OPEN; Blank::MAX_PER_FIXTURE];
        for (device, blank) in devices.iter_mut().zip(&self.blanks) {
            *device = blank.device;
        }
        let device = Blank::put_back(fixture, part, &devices[..self.blanks.len()]).ok()?;
        let s11 = fixture.port_reflection(device, reference).value()?;
        let s21 = match fixture {
            Fixture::Reflect => Complex64::ZERO,
            _ => fixture.reading(device, reference).value()?,
        };
        let corrected = Scattering {
            s11,
            s12: s21,
            s21,
            s22: if fixture == Fixture::Reflect {
                s21
            } else {
                s11
            },
        };
        let [first, through, second] = self.turns;
        let flat = Scattering {
            s11: s11 / first,
            s12: s21 / through,
            s21: s21 / through,
            s22: corrected.s22 / second,
        };
        let raw = match &self.correction {
            Some(correction) => correction.raw_of(fixture, &flat),
            None => flat,
        };
        Some(Read {
            freq_hz: self.freq_hz,
            raw,
            doubt: 0.0,
            corrected,
            device,
            turn: match fixture {
                Fixture::Reflect => first,
                _ => through,
            },
        })
    }
}
