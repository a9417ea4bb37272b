//! A measurement as the bench of a scenario would make it: raw readings with noise, standards,
//! blanks, and the corrected sweep.

use jigwise_physics::{
    Budget, Cause, Complex64, Correction, Definitions, Draws, Fixture, Immittance,
    MeasuredStandards, Method, Network, Port, RawAnalyzer, Scattering, solve,
};
use jigwise_touchstone::{Sweep, SweepError};

use crate::Blank;
use crate::scenario::{CalibrationPlan, Scenario, ScenarioError};
use crate::story::bench_story;
use crate::words::{fixture_connection, fixture_key};
use jigwise_quantity::engineering;

/// One simulated measurement of a scenario's device in one fixture.
///
/// What is drawn from the scenario's seed: the residuals of the standards once for the whole
/// measurement, contact, ground loop, reconnecting, drift and cable phase once for each
/// connection, noise for every reading. The rounding of a display is left out, since a file
/// keeps more digits. Without an instrument nothing is drawn.
#[derive(Debug, Clone)]
pub struct Measurement {
    /// The fixture.
    pub fixture: Fixture,
    /// The frequencies, Hz, rising.
    pub freq_hz: Vec<f64>,
    /// One entry for each frequency.
    pub points: Vec<MeasuredPoint>,
    story: Vec<String>,
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
    /// Raw readings of the fixture's blanks: shunt-through shorted, series-through empty,
    /// reflect empty and then shorted.
    pub blanks: [Scattering; 2],
    /// Raw readings of the standards.
    pub standards: MeasuredStandards,
    /// What the standards are taken for.
    pub taken_for: Definitions,
    /// The correction found.
    pub correction: Correction,
}

/// What happens once when the part is connected.
#[derive(Clone, Copy)]
struct Connected {
    contact_ohm: f64,
    loop_ohm: Complex64,
    put_back: Complex64,
    drift: Complex64,
    turn: Complex64,
}

impl Connected {
    const QUIET: Self = Self {
        contact_ohm: 0.0,
        loop_ohm: Complex64::ZERO,
        put_back: Complex64::ZERO,
        drift: Complex64::ONE,
        turn: Complex64::ONE,
    };

    fn drawn(budget: &Budget, fixture: Fixture, draws: &mut Draws) -> Self {
        let mut real = |cause| budget.sigma(cause, fixture) * draws.normal();
        let contact_ohm = real(Cause::Contact);
        let turn = Complex64::cis(real(Cause::CablePhase));
        let mut circular = |cause| draws.circular(budget.sigma(cause, fixture).powi(2));
        let loop_ohm = circular(Cause::GroundLoop);
        Self {
            contact_ohm,
            loop_ohm: match fixture {
                Fixture::ShuntThrough => loop_ohm,
                _ => Complex64::ZERO,
            },
            put_back: circular(Cause::Reconnect),
            drift: 1.0 + circular(Cause::Drift),
            turn,
        }
    }

    fn device(&self, fixture: Fixture, device: Immittance) -> Immittance {
        // Two independent contacts in a row.
        let contacts = match fixture {
            Fixture::SeriesThrough => std::f64::consts::SQRT_2,
            _ => 1.0,
        };
        let ohm = self.loop_ohm + contacts * self.contact_ohm;
        Immittance::from_impedance(ohm).map_or(device, |extra| device.in_series_with(extra))
    }

    fn reading(&self, s: Complex64) -> Complex64 {
        s * self.drift * self.turn + self.put_back
    }

    fn scattering(&self, fixture: Fixture, s: Scattering) -> Scattering {
        match fixture {
            Fixture::Reflect => Scattering {
                s11: self.reading(s.s11),
                ..s
            },
            _ => Scattering {
                s12: self.reading(s.s12),
                s21: self.reading(s.s21),
                ..s
            },
        }
    }
}

/// What the calibration of a sweep is where the scenario does not say.
pub(crate) fn usual_method(fixture: Fixture) -> Method {
    match fixture {
        Fixture::Reflect => Method::OnePort,
        _ => Method::Full,
    }
}

impl Measurement {
    /// Measures the scenario's device over its sweep, or at its frequency where it has none.
    ///
    /// # Errors
    /// [`ScenarioError`] where there is no frequency, or a device, stray or standard can't be
    /// computed at one of them, or the calibration can't be solved.
    pub fn of(scenario: &Scenario, fixture: Fixture) -> Result<Self, ScenarioError> {
        let freq_hz = match (&scenario.sweep, scenario.freq_hz) {
            (Some(plan), _) => plan.freq_hz(),
            (None, Some(freq_hz)) => vec![freq_hz],
            (None, None) => {
                return Err(ScenarioError::free(
                    "there is no [sweep]; add one, for example from = \"1 MHz\", to = \"30 MHz\", \
                     points = 201"
                        .to_owned(),
                ));
            }
        };
        let reference = scenario.reference;
        let free = |error: &dyn std::fmt::Display| ScenarioError::free(error.to_string());
        let plan = scenario
            .calibration
            .clone()
            .unwrap_or_else(|| CalibrationPlan::new(usual_method(fixture), reference));
        let analyzer = RawAnalyzer::new(plan.front_end);
        let budget = scenario
            .instrument
            .as_ref()
            .map(|named| {
                Budget::new(&named.figures, reference, scenario.connections)
                    .map_err(|error| free(&error))
            })
            .transpose()?;
        let mut draws = Draws::new(scenario.seed);
        let (residuals, [part, first_blank, second_blank]) = match &budget {
            None => (jigwise_physics::Residuals::NONE, [Connected::QUIET; 3]),
            Some(budget) => (
                budget.draw_calibration(&mut draws),
                [(); 3].map(|()| Connected::drawn(budget, fixture, &mut draws)),
            ),
        };
        // A fixture of one blank is measured blank twice: the draws stay those of two.
        let of_fixture = Blank::of(fixture);
        let first = of_fixture[0].stands_for();
        let second = of_fixture[of_fixture.len() - 1].stands_for();
        let points = freq_hz
            .iter()
            .map(|&freq_hz| {
                let device = scenario
                    .device
                    .immittance(Some(freq_hz))
                    .map_err(|error| ScenarioError::of_device(scenario, error))?;
                let taken_for = plan.taken_for(freq_hz, reference).map_err(|e| free(&e))?;
                let truth = plan
                    .truth(freq_hz, reference)
                    .map_err(|e| free(&e))?
                    .with_residuals(&residuals);
                let slips = plan.slips(freq_hz, reference).map_err(|e| free(&e))?;
                let mut noise = budget.as_ref().map(|budget| (budget, &mut draws));
                let standards =
                    analyzer.measure_standards(&truth, freq_hz, &slips, lend(&mut noise));
                let correction =
                    solve(plan.method, &standards, &taken_for).map_err(|e| free(&e))?;
                let strays = &scenario.fixtures.strays;
                let mut read = |device, connected: &Connected| -> Result<Scattering, _> {
                    let device = connected.device(fixture, device);
                    let network = if fixture == Fixture::Reflect {
                        let port = strays.port(device, freq_hz).map_err(|e| free(&e))?;
                        let s11 = Fixture::Reflect.reading(port, reference).value();
                        let zero = Complex64::ZERO;
                        s11.map(|s11| Scattering {
                            s11,
                            s12: zero,
                            s21: zero,
                            s22: zero,
                        })
                    } else {
                        strays
                            .network(fixture, device, freq_hz)
                            .map_err(|e| free(&e))
                            .map(|network: Network| network.scattering(reference))?
                    };
                    let network = network.ok_or_else(|| {
                        ScenarioError::free(format!(
                            "there is no reading at {}: {}",
                            engineering(freq_hz, "Hz", 5),
                            crate::words::no_reading(fixture, reference)
                        ))
                    })?;
                    let network = connected.scattering(fixture, network);
                    Ok::<_, ScenarioError>(if fixture == Fixture::Reflect {
                        Scattering {
                            s11: analyzer.measure_reflection(
                                network.s11,
                                Port::One,
                                freq_hz,
                                lend(&mut noise),
                            ),
                            ..network
                        }
                    } else {
                        analyzer.measure(&network, freq_hz, lend(&mut noise))
                    })
                };
                let raw = read(device, &part)?;
                let blanks = [read(first, &first_blank)?, read(second, &second_blank)?];
                Ok(MeasuredPoint {
                    device,
                    raw,
                    corrected: correction.apply_in(fixture, &raw),
                    blanks,
                    standards,
                    taken_for,
                    correction,
                })
            })
            .collect::<Result<Vec<_>, ScenarioError>>()?;
        Ok(Self {
            fixture,
            freq_hz,
            points,
            story: story(scenario, fixture, &plan),
            reference_ohm: reference.ohm(),
        })
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
    pub fn raw_standards_and_blanks(&self) -> Result<Vec<(&'static str, Sweep)>, SweepError> {
        let mut sweeps = Vec::new();
        let two_ports = self.fixture != Fixture::Reflect;
        for (port, names) in [["open", "short", "load"], ["open-2", "short-2", "load-2"]]
            .into_iter()
            .enumerate()
            .take(if two_ports { 2 } else { 1 })
        {
            for (which, name) in names.into_iter().enumerate() {
                let reading = |point: &MeasuredPoint| {
                    let trio = point.standards.reflections[port];
                    [trio.open, trio.short, trio.load][which]
                };
                if self.points.iter().all(|point| reading(point).is_some()) {
                    let s = self.points.iter().filter_map(reading).collect();
                    sweeps.push((name, self.file(&format!("raw {name}"), 1, s)?));
                }
            }
        }
        let zero = Complex64::ZERO;
        if two_ports {
            let through = |point: &MeasuredPoint| point.standards.through.map(flat);
            if self.points.iter().all(|point| through(point).is_some()) {
                let s = self.points.iter().filter_map(through).flatten().collect();
                sweeps.push(("through", self.file("raw through", 2, s)?));
            }
            let isolation = |point: &MeasuredPoint| {
                let isolation = point.standards.isolation?;
                Some([zero, isolation.reverse, isolation.forward, zero])
            };
            if self.points.iter().all(|point| isolation(point).is_some()) {
                let s = self.points.iter().filter_map(isolation).flatten().collect();
                sweeps.push(("isolation", self.file("raw isolation", 2, s)?));
            }
            let switch = |point: &MeasuredPoint| {
                let switch = point.standards.switch_terms?;
                Some([zero, switch.reverse, switch.forward, zero])
            };
            if self.points.iter().all(|point| switch(point).is_some()) {
                let s = self.points.iter().filter_map(switch).flatten().collect();
                sweeps.push(("switch", self.file("switch terms", 2, s)?));
            }
        }
        for (which, blank) in Blank::of(self.fixture).iter().enumerate() {
            let name = blank.file_word();
            let title = format!("raw readings of the {name} fixture, without the part");
            sweeps.push((name, self.sweep(&title, |point| point.blanks[which])?));
        }
        Ok(sweeps)
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

/// The noise for one reading more.
fn lend<'a>(noise: &'a mut Option<(&Budget, &mut Draws)>) -> Option<(&'a Budget, &'a mut Draws)> {
    noise
        .as_mut()
        .map(|(budget, draws)| (*budget, &mut **draws))
}

fn story(scenario: &Scenario, fixture: Fixture, plan: &CalibrationPlan) -> Vec<String> {
    let mut story = Vec::new();
    story.extend(scenario.title.clone());
    story.push(format!(
        "device: {}; fixture: {}, {}",
        scenario.device,
        fixture_key(fixture),
        fixture_connection(fixture)
    ));
    match &scenario.instrument {
        Some(named) => story.push(format!(
            "instrument: {}{}; seed {}; connected {} times after the calibration",
            named.name,
            if named.is_invented() {
                " (invented figures)"
            } else {
                ""
            },
            scenario.seed,
            scenario.connections
        )),
        None => story.push("instrument: perfect, no noise".to_owned()),
    }
    let told = Scenario {
        calibration: Some(plan.clone()),
        instrument: None,
        ..scenario.clone()
    };
    story.extend(bench_story(&told));
    story
}
