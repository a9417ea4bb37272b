//! A measurement as the bench of a scenario would make it: raw readings with noise, standards,
//! blanks, and the corrected sweep.

use jigwise_physics::{
    CalibrationStep, Complex64, Correction, Fixture, Immittance, MeasuredStandards, Method, Port,
    ReferenceImpedance, ReflectionStandard, Scattering, SwitchTerms,
};
use jigwise_quantity::engineering;
use jigwise_touchstone::{Sweep, SweepError};

use crate::Blank;
use crate::budget;
use crate::chain::{Calibrated, Chain};
use crate::noise::{Connection, Noise};
use crate::scenario::{CalibrationPlan, Scenario, ScenarioError, calibration_file};
use crate::words::{measurement_story, no_reading};

/// One simulated measurement of a scenario's device in one fixture.
///
/// What is drawn from the scenario's seed: the residuals of the standards once for the whole
/// measurement, contact, ground loop, reconnecting, drift and cable phase once for each
/// connection, noise for every reading. The rounding of a display is left out, since a file
/// keeps more digits. The raw match of the front end is drawn too, where the scenario names none.
/// Without an instrument nothing is drawn.
#[derive(Debug, Clone)]
pub struct Measurement {
    /// The fixture.
    pub fixture: Fixture,
    /// The frequencies, Hz, rising.
    pub freq_hz: Vec<f64>,
    /// One entry for each frequency.
    pub points: Vec<MeasuredPoint>,
    story: Vec<String>,
    plan: CalibrationPlan,
    reference_ohm: f64,
}

/// One frequency of a measurement. Of reflect only S11 means something; the other parameters
/// are zero.
#[derive(Debug, Clone, Copy)]
pub struct MeasuredPoint {
    /// The device as it is.
    pub device: Immittance,
    /// Raw readings with the device in the fixture.
    pub raw: Scattering,
    /// The same corrected.
    pub corrected: Scattering,
    /// Raw readings of the fixture's blanks: shunt-through shorted, series-through empty, both
    /// read twice; reflect empty and then shorted.
    pub blanks: [Scattering; 2],
    /// The correction found.
    pub correction: Correction,
}

/// What the calibration of a sweep is where the scenario does not say.
fn usual_method(fixture: Fixture) -> Method {
    match fixture {
        Fixture::Reflect => Method::OnePort,
        _ => Method::BothDirections,
    }
}

/// The scenario's sweep, or its one frequency, Hz.
fn frequencies(scenario: &Scenario) -> Result<Vec<f64>, ScenarioError> {
    match (&scenario.sweep, scenario.freq_hz) {
        (Some(plan), _) => Ok(plan.freq_hz()),
        (None, Some(freq_hz)) => Ok(vec![freq_hz]),
        (None, None) => Err(ScenarioError::free(
            "there is no [sweep]; add one, for example from = \"1 MHz\", to = \"30 MHz\", \
             points = 201"
                .to_owned(),
        )),
    }
}

/// The blanks of a fixture as a measurement takes them. A through fixture has one blank, read
/// twice, so that what is drawn at random stays the same for every fixture.
fn blanks(fixture: Fixture) -> [Blank; 2] {
    let blanks = Blank::of(fixture);
    [blanks[0], blanks[blanks.len() - 1]]
}

fn pole_error(fixture: Fixture, reference: ReferenceImpedance, freq_hz: f64) -> ScenarioError {
    ScenarioError::free(format!(
        "there is no reading at {}: {}",
        engineering(freq_hz, "Hz", 5),
        no_reading(fixture, reference)
    ))
}

impl Measurement {
    /// Measures the scenario's device over its sweep, or at its frequency where it has none.
    ///
    /// # Errors
    /// [`ScenarioError`] where there is no frequency, or a device, stray or standard can't be
    /// computed at one of them, or the calibration can't be solved.
    pub fn of(scenario: &Scenario, fixture: Fixture) -> Result<Self, ScenarioError> {
        Self::made(scenario, fixture, false)
    }

    /// Measures the device again and again at the readout's frequency, after one calibration and
    /// without touching anything between: all readings share what was drawn for the calibration and
    /// the connection, and differ by noise alone. There is one for each frequency of the sweep, which
    /// only counts them.
    ///
    /// # Errors
    /// As [`Measurement::of`].
    pub fn repeated(scenario: &Scenario, fixture: Fixture) -> Result<Self, ScenarioError> {
        Self::made(scenario, fixture, true)
    }

    fn made(
        scenario: &Scenario,
        fixture: Fixture,
        is_repeated: bool,
    ) -> Result<Self, ScenarioError> {
        let freq_hz = frequencies(scenario)?;
        let only_hz = scenario.readout_hz().filter(|_| is_repeated);
        let mut only_calibration = None;
        let reference = scenario.reference;
        let plan = scenario
            .calibration
            .clone()
            .unwrap_or_else(|| CalibrationPlan::new(usual_method(fixture), reference));
        let mut noise = budget::by_band(scenario)?.map(|bands| Noise::new(&bands, scenario.seed));
        let mut connect = || noise.as_mut().map(Noise::connect);
        let part_connection = connect();
        let blanks = blanks(fixture).map(|blank| (blank.stands_for(), connect()));
        let mut measured = |&counted_hz: &f64| -> Result<MeasuredPoint, ScenarioError> {
            let freq_hz = only_hz.unwrap_or(counted_hz);
            let device = scenario
                .device
                .immittance(Some(freq_hz))
                .map_err(|error| ScenarioError::of_device(scenario, error))?;
            let mut noise = noise.as_mut().map(|noise| noise.at(freq_hz)).transpose()?;
            let calibrated = match only_calibration.filter(|_| is_repeated) {
                Some(calibrated) => calibrated,
                None => Calibrated::by(&plan, scenario, freq_hz, noise.as_mut())?,
            };
            only_calibration = Some(calibrated);
            let chain = Chain::at(scenario, freq_hz, Some(calibrated))?;
            let mut read = |device, connection: &Option<Connection>| {
                chain
                    .raw(fixture, device, connection.as_ref(), noise.as_mut())
                    .ok_or_else(|| pole_error(fixture, reference, freq_hz))
            };
            let raw = read(device, &part_connection)?;
            let [first, second] = &blanks;
            let correction = calibrated.correction;
            Ok(MeasuredPoint {
                device,
                raw,
                corrected: correction.apply_in(fixture, &raw),
                blanks: [read(first.0, &first.1)?, read(second.0, &second.1)?],
                correction,
            })
        };
        let points = freq_hz
            .iter()
            .map(&mut measured)
            .collect::<Result<_, _>>()?;
        Ok(Self {
            fixture,
            freq_hz,
            points,
            story: measurement_story(scenario, fixture, &plan),
            plan,
            reference_ohm: reference.ohm(),
        })
    }

    /// The calibration file of the raw standards: the method and what it takes each standard for.
    /// `file_of` gives the file of a sweep by the word of
    /// [`Measurement::raw_standards_and_blanks`]. `None` where nothing is made of standards.
    pub fn calibration_file(&self, file_of: &dyn Fn(&str) -> Option<String>) -> Option<String> {
        let method = match self.fixture {
            Fixture::Reflect => self.plan.method.in_reflect(),
            _ => self.plan.method,
        };
        (method != Method::Raw).then(|| calibration_file(&self.plan, method, file_of).to_string())
    }

    /// The corrected sweep as a file: one port for reflect, two for the through fixtures.
    ///
    /// # Errors
    /// [`SweepError`] where a corrected reading is no finite number.
    pub fn corrected(&self) -> Result<Sweep, SweepError> {
        self.sweep("corrected readings", |point| point.corrected)
    }

    /// The raw sweep as a file.
    ///
    /// # Errors
    /// As [`Measurement::corrected`].
    pub fn raw(&self) -> Result<Sweep, SweepError> {
        self.sweep("raw readings", |point| point.raw)
    }

    /// The raw sweeps of standards and blanks, each with the word that names it: open, short,
    /// load (one port each, of port 1), and for two ports open-2, short-2, load-2, through,
    /// isolation and switch (the switch terms, S21 for the forward direction, S12 for the reverse
    /// one, free of noise); then the fixture's blanks.
    ///
    /// # Errors
    /// As [`Measurement::corrected`].
    pub fn raw_standards_and_blanks(&self) -> Result<Vec<(String, Sweep)>, SweepError> {
        let mut sweeps = Vec::new();
        let is_reflect = self.fixture == Fixture::Reflect;
        let ports = if is_reflect { 1 } else { 2 };
        for port in Port::ALL.into_iter().take(ports) {
            for standard in ReflectionStandard::ALL {
                let name = match port {
                    Port::One => standard.name().to_owned(),
                    Port::Two => format!("{}-2", standard.name()),
                };
                let reading = |standards: &MeasuredStandards| {
                    standard
                        .of(&standards.reflections[port as usize])
                        .map(|s11| [s11])
                };
                let title = format!("raw {name}");
                sweeps.extend(self.of_standard(&name, &title, 1, reading)?);
            }
        }
        if !is_reflect {
            let zero = Complex64::ZERO;
            let through = |standards: &MeasuredStandards| standards.through.map(flat);
            let isolation = |standards: &MeasuredStandards| {
                let isolation = standards.isolation?;
                Some([zero, isolation.reverse, isolation.forward, zero])
            };
            let switch = |standards: &MeasuredStandards| {
                let switch = standards.switch_terms?;
                Some([zero, switch.reverse, switch.forward, zero])
            };
            sweeps.extend(self.of_step(CalibrationStep::Through, through)?);
            sweeps.extend(self.of_step(CalibrationStep::Isolation, isolation)?);
            sweeps.extend(self.of_standard(SwitchTerms::NAME, "switch terms", 2, switch)?);
        }
        for (which, blank) in Blank::of(self.fixture).iter().enumerate() {
            let name = blank.file_word();
            let title = format!("raw readings of the {name} fixture, without the part");
            sweeps.push((
                name.to_owned(),
                self.sweep(&title, |point| point.blanks[which])?,
            ));
        }
        Ok(sweeps)
    }

    /// The two-port sweep of a step with its name; `None` where it was left out.
    fn of_step(
        &self,
        step: CalibrationStep,
        reading: impl Fn(&MeasuredStandards) -> Option<[Complex64; 4]>,
    ) -> Result<Option<(String, Sweep)>, SweepError> {
        self.of_standard(step.name(), &format!("raw {}", step.name()), 2, reading)
    }

    /// The sweep of one standard with its name; `None` where it was not measured.
    fn of_standard<const N: usize>(
        &self,
        name: &str,
        title: &str,
        ports: usize,
        reading: impl Fn(&MeasuredStandards) -> Option<[Complex64; N]>,
    ) -> Result<Option<(String, Sweep)>, SweepError> {
        let readings: Option<Vec<[Complex64; N]>> = self
            .points
            .iter()
            .map(|point| reading(point.correction.standards()))
            .collect();
        readings
            .map(|s| Ok((name.to_owned(), self.file(title, ports, s.concat())?)))
            .transpose()
    }

    fn sweep(
        &self,
        what: &str,
        s: impl Fn(&MeasuredPoint) -> Scattering,
    ) -> Result<Sweep, SweepError> {
        if self.fixture == Fixture::Reflect {
            let s11 = self.points.iter().map(|point| s(point).s11).collect();
            return self.file(what, 1, s11);
        }
        let all = self
            .points
            .iter()
            .flat_map(|point| flat(s(point)))
            .collect();
        self.file(what, 2, all)
    }

    fn file(&self, what: &str, ports: usize, s: Vec<Complex64>) -> Result<Sweep, SweepError> {
        let title = format!("{what}, simulated by Jigwise; no instrument made them");
        let comments = [title].into_iter().chain(self.story.iter().cloned());
        Ok(
            Sweep::new(ports, &[self.reference_ohm], self.freq_hz.clone(), s)?
                .with_comments(comments),
        )
    }
}

fn flat(s: Scattering) -> [Complex64; 4] {
    [s.s11, s.s12, s.s21, s.s22]
}
