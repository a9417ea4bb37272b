//! What lies between a part and its corrected reading: strays, raw analyzer, correction.

use jigwise_physics::{
    Complex64, Correction, EntryError, Fixture, Immittance, Mobius, NumberError, RawAnalyzer,
    ReferenceImpedance, Scattering, Strays, solve,
};

use crate::scenario::{CalibrationPlan, FixtureStrays, Scenario, ScenarioError};

/// The chain at one frequency, without noise.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Chain {
    freq_hz: f64,
    reference: ReferenceImpedance,
    strays: Strays,
    /// From the part to the reading at the reference plane, by fixture.
    maps: [Mobius; 3],
    removed: bool,
    corrected: Option<(RawAnalyzer, Correction)>,
}

impl Chain {
    /// `None` for ideal fixtures and a calibration of which nothing is known.
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
        Self::at(scenario, freq_hz).map(Some)
    }

    /// The chain at any frequency.
    pub(crate) fn at(scenario: &Scenario, freq_hz: f64) -> Result<Self, ScenarioError> {
        let FixtureStrays { strays, removed } = scenario.fixtures;
        let reference = scenario.reference;
        let map = |fixture| strays.map(fixture, freq_hz, reference).map_err(entry);
        let [reflect, shunt, series] = Fixture::ALL.map(map);
        let corrected = scenario
            .calibration
            .as_ref()
            .map(|plan| correction(plan, freq_hz, reference))
            .transpose()?;
        Ok(Self {
            freq_hz,
            reference,
            strays,
            maps: [reflect?, shunt?, series?],
            removed,
            corrected,
        })
    }

    /// The corrected reading of a device; `None` where an active part sits on a pole.
    pub(crate) fn reading(&self, fixture: Fixture, device: Immittance) -> Option<Complex64> {
        let plain = self.maps[fixture as usize].apply(device.ratio()).value()?;
        let Some((analyzer, correction)) = &self.corrected else {
            return Some(plain);
        };
        let reading = if fixture == Fixture::Reflect {
            let port = jigwise_physics::Port::One;
            let raw = analyzer.measure_reflection(plain, port, self.freq_hz, None);
            correction.apply_one_port(raw)
        } else {
            let network = self.scattering(fixture, device)?;
            let raw = analyzer.measure(&network, self.freq_hz, None);
            correction.apply(&raw).s21
        };
        (reading.re.is_finite() && reading.im.is_finite()).then_some(reading)
    }

    /// The fixture with the device in it, at the reference planes.
    pub(crate) fn scattering(&self, fixture: Fixture, device: Immittance) -> Option<Scattering> {
        // The entries were checked when the maps were made.
        self.strays
            .scattering(fixture, device, self.freq_hz, self.reference)
            .ok()?
    }

    /// The device that a reading gives: by the fixture's formula, or with the known strays
    /// taken out where the scenario says so.
    pub(crate) fn device_of(&self, fixture: Fixture, reading: Complex64) -> Option<Immittance> {
        if self.removed {
            let back = self.maps[fixture as usize].inverse();
            let point = jigwise_physics::Ratio::new(reading, Complex64::ONE).ok()?;
            let point = back.apply(point);
            return Immittance::from_pair(point.num(), point.den()).ok();
        }
        fixture.immittance(reading, self.reference).ok()
    }
}

fn entry(error: EntryError) -> ScenarioError {
    ScenarioError::free(format!("strays: {error}"))
}

fn number(error: NumberError) -> ScenarioError {
    ScenarioError::free(format!("calibration: {error}"))
}

/// The plan's front end and the correction that its calibration finds, without noise.
fn correction(
    plan: &CalibrationPlan,
    freq_hz: f64,
    reference: ReferenceImpedance,
) -> Result<(RawAnalyzer, Correction), ScenarioError> {
    let analyzer = RawAnalyzer::new(plan.front_end);
    let truth = plan.truth(freq_hz, reference).map_err(number)?;
    let taken_for = plan.taken_for(freq_hz, reference).map_err(number)?;
    let slips = plan
        .slips(freq_hz, reference)
        .map_err(|error| ScenarioError::free(format!("calibration: {error}")))?;
    let measured = analyzer.measure_standards(&truth, freq_hz, &slips, None);
    let correction = solve(plan.method, &measured, &taken_for)
        .map_err(|error| ScenarioError::free(format!("calibration: {error}")))?;
    Ok((analyzer, correction))
}
