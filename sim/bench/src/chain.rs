//! The one chain from a part to its corrected reading: the connection, the strays of the
//! fixture, the raw analyzer and its correction, with the noise of an instrument or without.

use std::fmt::Display;

use jigwise_physics::{
    Budget, Cause, Complex64, Correction, Draws, EntryError, Fixture, Immittance, Mobius, Port,
    Ratio, RawAnalyzer, ReferenceImpedance, Residuals, Scattering, Strays, solve,
};

use crate::front_end::FrontEnd;
use crate::scenario::{CalibrationPlan, FixtureStrays, Scenario, ScenarioError};

/// The chain at one frequency.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Chain {
    freq_hz: f64,
    reference: ReferenceImpedance,
    strays: Strays,
    /// From the part to the reading at the reference plane, by fixture.
    maps: [Mobius; 3],
    removed: bool,
    calibrated: Option<Calibrated>,
}

/// A raw analyzer, and the correction that its calibration found.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Calibrated {
    analyzer: RawAnalyzer,
    pub(crate) correction: Correction,
}

impl Chain {
    /// The chain of a readout, without noise. `None` for ideal fixtures and a calibration of
    /// which nothing is known.
    pub(crate) fn of(scenario: &Scenario) -> Result<Option<Self>, ScenarioError> {
        if scenario.fixtures == FixtureStrays::NONE && scenario.calibration.is_none() {
            return Ok(None);
        }
        let Some(freq_hz) = scenario.readout_hz() else {
            return Err(ScenarioError::free(
                "strays and a calibration act at a frequency; give one, for example \
                 frequency = \"7.1 MHz\" in the table [at]"
                    .to_owned(),
            ));
        };
        let calibrated = scenario
            .calibration
            .as_ref()
            .map(|plan| Calibrated::by(plan, scenario, freq_hz, None))
            .transpose()?;
        Self::at(scenario, freq_hz, calibrated).map(Some)
    }

    /// The chain at any frequency.
    pub(crate) fn at(
        scenario: &Scenario,
        freq_hz: f64,
        calibrated: Option<Calibrated>,
    ) -> Result<Self, ScenarioError> {
        let FixtureStrays { strays, removed } = scenario.fixtures;
        let reference = scenario.reference;
        let map = |fixture| strays.map(fixture, freq_hz, reference).map_err(entry);
        let [reflect, shunt, series] = Fixture::ALL.map(map);
        Ok(Self {
            freq_hz,
            reference,
            strays,
            maps: [reflect?, shunt?, series?],
            removed,
            calibrated,
        })
    }

    /// The corrected reading of a device, without noise; `None` where an active part sits on a
    /// pole.
    pub(crate) fn reading(&self, fixture: Fixture, device: Immittance) -> Option<Complex64> {
        let Some(Calibrated { correction, .. }) = &self.calibrated else {
            return self.maps[fixture as usize].apply(device.ratio()).value();
        };
        let raw = self.raw(fixture, device, None, None)?;
        let corrected = correction.apply_in(fixture, &raw);
        let reading = match fixture {
            Fixture::Reflect => corrected.s11,
            Fixture::ShuntThrough | Fixture::SeriesThrough => corrected.s21,
        };
        (reading.re.is_finite() && reading.im.is_finite()).then_some(reading)
    }

    /// What the analyzer reads before any correction; without a calibration, the readings at the
    /// reference planes. `None` where an active part sits on a pole. Of reflect only S11 means
    /// something; the other parameters are zero.
    pub(crate) fn raw(
        &self,
        fixture: Fixture,
        device: Immittance,
        connection: Option<&Connection>,
        noise: Option<&mut Noise>,
    ) -> Option<Scattering> {
        let planes = match connection {
            None => self.at_planes(fixture, device)?,
            Some(connection) => {
                let device = connection.device(fixture, device);
                connection.readings(fixture, self.at_planes(fixture, device)?)
            }
        };
        let Some(Calibrated { analyzer, .. }) = &self.calibrated else {
            return Some(planes);
        };
        let noise = noise.map(Noise::lend);
        Some(match fixture {
            Fixture::Reflect => Scattering {
                s11: analyzer.measure_reflection(planes.s11, Port::One, self.freq_hz, noise),
                ..planes
            },
            Fixture::ShuntThrough | Fixture::SeriesThrough => {
                analyzer.measure(&planes, self.freq_hz, noise)
            }
        })
    }

    /// The fixture with the device in it, at the reference planes.
    fn at_planes(&self, fixture: Fixture, device: Immittance) -> Option<Scattering> {
        if fixture == Fixture::Reflect {
            let zero = Complex64::ZERO;
            return Some(Scattering {
                s11: self.maps[fixture as usize].apply(device.ratio()).value()?,
                s12: zero,
                s21: zero,
                s22: zero,
            });
        }
        // The entries were checked when the maps were made.
        self.strays
            .scattering(fixture, device, self.freq_hz, self.reference)
            .ok()?
    }

    /// The map by which a reading is turned into ohms, and the device that the reading of a good
    /// calibration gives by it.
    pub(crate) fn nominal(&self, fixture: Fixture, device: Immittance) -> (Mobius, Immittance) {
        let map = self.maps[fixture as usize];
        if self.removed {
            return (map, device);
        }
        let back = fixture.map(self.reference);
        let point = back.inverse().after(&map).apply(device.ratio());
        let comes_out = Immittance::from_pair(point.num(), point.den()).unwrap_or(device);
        (back, comes_out)
    }

    /// The device that a reading gives: by the fixture's formula, or with the known strays
    /// taken out where the scenario says so.
    pub(crate) fn device_of(&self, fixture: Fixture, reading: Complex64) -> Option<Immittance> {
        if self.removed {
            let back = self.maps[fixture as usize].inverse();
            let point = back.apply(Ratio::new(reading, Complex64::ONE).ok()?);
            return Immittance::from_pair(point.num(), point.den()).ok();
        }
        fixture.immittance(reading, self.reference).ok()
    }
}

impl Calibrated {
    /// The scenario's front end, calibrated by a plan with standards measured at one frequency.
    pub(crate) fn by(
        plan: &CalibrationPlan,
        scenario: &Scenario,
        freq_hz: f64,
        noise: Option<&mut Noise>,
    ) -> Result<Self, ScenarioError> {
        let failed = |error: &dyn Display| ScenarioError::free(format!("calibration: {error}"));
        let reference = scenario.reference;
        let analyzer = FrontEnd::of(scenario, plan).analyzer();
        let mut truth = plan.truth(freq_hz, reference).map_err(|e| failed(&e))?;
        if let Some(noise) = &noise {
            truth = truth.with_residuals(&noise.residuals);
        }
        let taken_for = plan.taken_for(freq_hz, reference).map_err(|e| failed(&e))?;
        let slips = plan.slips(freq_hz, reference).map_err(|e| failed(&e))?;
        let noise = noise.map(Noise::lend);
        let measured = analyzer.measure_standards(&truth, freq_hz, &slips, noise);
        Ok(Self {
            analyzer,
            correction: solve(plan.method, &measured, &taken_for).map_err(|e| failed(&e))?,
        })
    }
}

fn entry(error: EntryError) -> ScenarioError {
    ScenarioError::free(format!("strays: {error}"))
}

/// What an instrument adds at random. The residuals of the standards are drawn once, for all
/// frequencies of a measurement.
#[derive(Debug, Clone)]
pub(crate) struct Noise {
    budget: Budget,
    draws: Draws,
    residuals: Residuals,
}

impl Noise {
    /// Draws the residuals of the standards. The raw match is the front end's own.
    pub(crate) fn new(budget: &Budget, seed: u64) -> Self {
        let budget = budget.without_raw_match();
        let mut draws = Draws::new(seed);
        let residuals = budget.draw_calibration(&mut draws);
        Self {
            budget,
            draws,
            residuals,
        }
    }

    /// Draws what happens when a part is connected.
    pub(crate) fn connect(&mut self, fixture: Fixture) -> Connection {
        Connection::drawn(&self.budget, fixture, &mut self.draws)
    }

    fn lend(&mut self) -> (&Budget, &mut Draws) {
        (&self.budget, &mut self.draws)
    }
}

/// What stays as it is from one connecting of the part to the next.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Connection {
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

impl Connection {
    fn drawn(budget: &Budget, fixture: Fixture, draws: &mut Draws) -> Self {
        let mut real = |cause| budget.sigma(cause, fixture) * draws.normal();
        let contact_ohm = real(Cause::Contact);
        let cable_phase = Complex64::cis(real(Cause::CablePhase));
        let mut circular = |cause| draws.circular(budget.sigma(cause, fixture).powi(2));
        let loop_ohm = circular(Cause::GroundLoop);
        Self {
            contact_ohm,
            loop_ohm: match fixture {
                Fixture::ShuntThrough => loop_ohm,
                Fixture::Reflect | Fixture::SeriesThrough => Complex64::ZERO,
            },
            reconnect: circular(Cause::Reconnect),
            drift: 1.0 + circular(Cause::Drift),
            cable_phase,
        }
    }

    /// The device with its contacts and the ground loop in series.
    fn device(&self, fixture: Fixture, device: Immittance) -> Immittance {
        let ohm = self.loop_ohm + fixture.contact_factor() * self.contact_ohm;
        Immittance::from_impedance(ohm).map_or(device, |extra| device.in_series_with(extra))
    }

    fn reading(&self, s: Complex64) -> Complex64 {
        s * self.drift * self.cable_phase + self.reconnect
    }

    /// Moves the parameters that are the fixture's reading.
    fn readings(&self, fixture: Fixture, s: Scattering) -> Scattering {
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

/// The error budget of the scenario's instrument, where it names one.
pub(crate) fn budget(scenario: &Scenario) -> Result<Option<Budget>, ScenarioError> {
    let budget = scenario.instrument.as_ref().map(|instrument| {
        Budget::new(
            &instrument.figures,
            scenario.reference,
            scenario.connections,
        )
        .map_err(|error| ScenarioError::free(format!("{}: {error}", instrument.name)))
    });
    budget.transpose()
}

/// The budget of a readout: where the scenario names the front end, that of this front end.
pub(crate) fn budget_of_readout(scenario: &Scenario) -> Result<Option<Budget>, ScenarioError> {
    let number = scenario
        .calibration
        .as_ref()
        .and_then(|plan| plan.front_end);
    let known = number.zip(scenario.readout_hz());
    Ok(budget(scenario)?.map(|budget| match known {
        Some((number, freq_hz)) => budget.with_front_end(&RawAnalyzer::new(number).terms(freq_hz)),
        None => budget,
    }))
}

#[cfg(test)]
mod tests {
    use jigwise_physics::Fixture;

    use crate::{Bench, Measurement, Scenario};

    const CALIBRATED: &str = "version = 1\n[device]\nkind = \"fixed\"\nimpedance = \"30-40j\"\n\
        [at]\nfrequency = \"7 MHz\"\n[strays]\ngap = \"0.1 pF\"\nground = \"1 nH\"\npin = \"1 pF\"\n\
        [calibration]\nmethod = \"full\"\n[calibration.load]\nresistance = \"51\"\n\
        taken_as = \"ideal\"\n";

    /// Both go through the one chain, so every bit is the same.
    #[test]
    fn a_measurement_without_noise_reads_what_the_readout_reads() {
        let scenario = Scenario::from_toml(CALIBRATED, "t").unwrap();
        let readout = Bench::new(&scenario).unwrap().readout();
        for fixture in Fixture::ALL {
            let measured = Measurement::of(&scenario, fixture).unwrap();
            let corrected = measured.points[0].corrected;
            let reading = match fixture {
                Fixture::Reflect => corrected.s11,
                Fixture::ShuntThrough | Fixture::SeriesThrough => corrected.s21,
            };
            assert_eq!(readout.of(fixture).reading, Some(reading), "{fixture:?}");
        }
    }

    #[test]
    fn a_readout_allocates_nothing() {
        let with_instrument = format!("{CALIBRATED}[instrument]\npreset = \"handheld\"\n");
        let scenario = Scenario::from_toml(&with_instrument, "t").unwrap();
        let bench = Bench::new(&scenario).unwrap();
        let counted = allocation_counter::measure(|| {
            std::hint::black_box(bench.readout());
        });
        assert_eq!(counted.count_total, 0);
    }
}
