//! What an instrument adds at random to a simulated measurement.

use jigwise_physics::{
    Bands, Budget, Cause, Complex64, Draws, Fixture, Immittance, Residuals, Scattering,
};
use jigwise_quantity::engineering;

use crate::scenario::{INSTRUMENT, ScenarioError};

/// What an instrument adds at random. The residuals of the standards are drawn once, for all
/// frequencies of a measurement; where the instrument differs by band, they keep their draw and
/// take the size of the band.
#[derive(Debug, Clone)]
pub(crate) struct Noise {
    bands: Bands,
    draws: Draws,
    /// Those of the first band.
    residuals: Residuals,
    /// For what the first band has none of.
    units: Residuals,
}

impl Noise {
    /// Draws the residuals of the standards. The raw match is the front end's own.
    pub(crate) fn new(bands: &Bands, seed: u64) -> Self {
        let bands = bands
            .all()
            .iter()
            .map(|(up_to_hz, budget)| (*up_to_hz, budget.without_raw_match()))
            .collect();
        let bands = Bands::new(bands);
        let mut draws = Draws::new(seed);
        let mut residuals = Residuals::NONE;
        let mut units = Residuals::NONE;
        if let Some((_, first)) = bands.all().first() {
            residuals = first.draw_calibration(&mut draws);
        }
        // One band asks nothing of them, and its other draws stay what they are.
        if bands.all().len() > 1 {
            units = Residuals::draw_units(&mut Draws::new(!seed));
        }
        Self {
            bands,
            draws,
            residuals,
            units,
        }
    }

    /// The same residuals of the standards, with another stream for everything else.
    pub(crate) fn with_stream(self, seed: u64) -> Self {
        Self {
            draws: Draws::new(seed),
            ..self
        }
    }

    /// Draws what happens when a part is connected.
    pub(crate) fn connect(&mut self) -> Connection {
        Connection::drawn(&mut self.draws)
    }

    /// The instrument at a frequency.
    ///
    /// # Errors
    /// [`ScenarioError`] above its last band.
    pub(crate) fn at(&mut self, freq_hz: f64) -> Result<NoiseAt<'_>, ScenarioError> {
        let budget = self.bands.at(freq_hz).ok_or_else(|| above(freq_hz))?;
        let residuals = match self.bands.all() {
            [(_, first), _, ..] => self.residuals.in_band(first, budget, &self.units),
            _ => self.residuals,
        };
        Ok(NoiseAt {
            budget,
            draws: &mut self.draws,
            residuals,
        })
    }
}

fn above(freq_hz: f64) -> ScenarioError {
    ScenarioError::free(format!(
        "the instrument has no figures at {}; add a band without up_to for all higher \
         frequencies, or end the sweep below",
        engineering(freq_hz, "Hz", 4)
    ))
    .about(vec![INSTRUMENT.into()])
}

/// [`Noise`] at one frequency.
#[derive(Debug)]
pub(crate) struct NoiseAt<'a> {
    pub(crate) budget: &'a Budget,
    draws: &'a mut Draws,
    pub(crate) residuals: Residuals,
}

impl NoiseAt<'_> {
    pub(crate) fn lend(&mut self) -> (&Budget, &mut Draws) {
        (self.budget, &mut *self.draws)
    }
}

/// What stays as it is from one connecting of the part to the next, each of unit size.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Connection {
    contact: f64,
    cable_phase: f64,
    ground_loop: Complex64,
    reconnect: Complex64,
    drift: Complex64,
}

impl Connection {
    fn drawn(draws: &mut Draws) -> Self {
        Self {
            contact: draws.normal(),
            cable_phase: draws.normal(),
            ground_loop: draws.circular(1.0),
            reconnect: draws.circular(1.0),
            drift: draws.circular(1.0),
        }
    }

    /// As large as a budget has it.
    pub(crate) fn sized(&self, budget: &Budget, fixture: Fixture) -> Sized {
        let sigma = |cause| budget.sigma(cause, fixture);
        Sized {
            contact_ohm: sigma(Cause::Contact) * self.contact,
            loop_ohm: match fixture {
                Fixture::ShuntThrough => self.ground_loop * sigma(Cause::GroundLoop),
                Fixture::Reflect | Fixture::SeriesThrough => Complex64::ZERO,
            },
            reconnect: self.reconnect * sigma(Cause::Reconnect),
            drift: 1.0 + self.drift * sigma(Cause::Drift),
            cable_phase: Complex64::cis(sigma(Cause::CablePhase) * self.cable_phase),
        }
    }
}

/// A [`Connection`] with the sizes of an instrument.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sized {
    /// Resistance of one contact.
    contact_ohm: f64,
    /// The ground loop in the branch of shunt-through.
    loop_ohm: Complex64,
    /// Added to the reading.
    reconnect: Complex64,
    /// Times the reading: drift of the analyzer.
    drift: Complex64,
    /// Times the reading: phase of the cables.
    cable_phase: Complex64,
}

impl Sized {
    /// The device with its contacts and the ground loop in series.
    pub(crate) fn device(&self, fixture: Fixture, device: Immittance) -> Immittance {
        let ohm = self.loop_ohm + fixture.contact_factor() * self.contact_ohm;
        Immittance::from_impedance(ohm).map_or(device, |extra| device.in_series_with(extra))
    }

    fn reading(&self, s: Complex64) -> Complex64 {
        s * self.drift * self.cable_phase + self.reconnect
    }

    /// Moves the parameters that are the fixture's reading.
    pub(crate) fn readings(&self, fixture: Fixture, s: Scattering) -> Scattering {
        match fixture {
            Fixture::Reflect => Scattering {
                s11: self.reading(s.s11),
                ..s
            },
            Fixture::ShuntThrough | Fixture::SeriesThrough => Scattering {
                s12: self.reading(s.s12),
                s21: self.reading(s.s21),
                ..s
            },
        }
    }
}
