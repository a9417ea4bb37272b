//! The one chain from a part to its corrected reading: the connection, the strays of the
//! fixture, the raw analyzer and its correction, with the noise of an instrument or without.

use std::fmt::Display;

use jigwise_physics::{
    CalibrationError, Complex64, Correction, EntryError, Fixture, Immittance, Mobius, Piece, Port,
    RawAnalyzer, ReferenceImpedance, Scattering, Strays, solve,
};

use crate::front_end::FrontEnd;
use crate::noise::{Connection, NoiseAt};
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
        let FixtureStrays {
            strays, removed, ..
        } = scenario.fixtures;
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
        noise: Option<&mut NoiseAt<'_>>,
    ) -> Option<Scattering> {
        let planes = match (connection, &noise) {
            (Some(connection), Some(noise)) => {
                let sized = connection.sized(noise.budget, fixture);
                let device = sized.device(fixture, device);
                sized.readings(fixture, self.at_planes(fixture, device)?)
            }
            _ => self.at_planes(fixture, device)?,
        };
        let Some(Calibrated { analyzer, .. }) = &self.calibrated else {
            return Some(planes);
        };
        let noise = noise.map(NoiseAt::lend);
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
            let [[a, b], [c, d]] = self.maps[fixture as usize].rows();
            // S = (a·Z + b)/(c·Z + d). Differences that are rounding alone are none: else an open
            // comes back as some 1e17 Ω of any sign.
            let difference = |x: Complex64, y: Complex64| {
                let left = x - y;
                let is_rounding = left.norm() < ROUNDING * (x.norm() + y.norm());
                if is_rounding { Complex64::ZERO } else { left }
            };
            let (v, i) = (difference(d * reading, b), difference(a, c * reading));
            return Immittance::from_pair(v, i).ok();
        }
        fixture.immittance(reading, self.reference).ok()
    }
}

/// Relative error of a reading after a calibration and of the map through strays and arms, at most.
const ROUNDING: f64 = 32.0 * f64::EPSILON;

impl Calibrated {
    /// The scenario's front end, calibrated by a plan with standards measured at one frequency.
    pub(crate) fn by(
        plan: &CalibrationPlan,
        scenario: &Scenario,
        freq_hz: f64,
        noise: Option<&mut NoiseAt<'_>>,
    ) -> Result<Self, ScenarioError> {
        let failed = |error: &dyn Display| {
            ScenarioError::free(format!("calibration: {error}")).about(vec![CALIBRATION.into()])
        };
        let reference = scenario.reference;
        let analyzer = FrontEnd::of(scenario, plan, freq_hz)?.analyzer();
        let mut truth = plan.truth(freq_hz, reference).map_err(|e| failed(&e))?;
        if let Some(noise) = &noise {
            truth = truth.with_residuals(&noise.residuals);
        }
        let taken_for = plan.taken_for(freq_hz, reference).map_err(|e| failed(&e))?;
        let slips = plan.slips(freq_hz, reference).map_err(|e| failed(&e))?;
        let noise = noise.map(NoiseAt::lend);
        let measured = analyzer.measure_standards(&truth, freq_hz, &slips, noise);
        Ok(Self {
            analyzer,
            correction: solve(plan.method, &measured, &taken_for)
                .map_err(|e| failed(&e).about(tables_of(&e)))?,
        })
    }
}

/// The table of a calibration.
const CALIBRATION: &str = "calibration";

/// The tables of a scenario that an error of a calibration is about.
fn tables_of(error: &CalibrationError) -> Vec<String> {
    error
        .pieces()
        .into_iter()
        .filter_map(Piece::step)
        .map(|step| format!("{CALIBRATION}.{}", step.name()))
        .chain([CALIBRATION.to_owned()])
        .collect()
}

pub(crate) fn entry(error: EntryError) -> ScenarioError {
    ScenarioError::free(format!("strays: {error}")).about(vec!["strays".into()])
}

#[cfg(test)]
mod tests {
    use jigwise_physics::Fixture;

    use crate::{Bench, Measurement, Scenario};

    const CALIBRATED: &str = "version = 1\n[device]\nkind = \"fixed\"\nimpedance = \"30-40j\"\n\
        [at]\nfrequency = \"7 MHz\"\n[strays]\ngap = \"0.1 pF\"\nground = \"1 nH\"\npin = \"1 pF\"\n\
        [calibration]\nmethod = \"both directions\"\n[calibration.load]\nresistance = \"51\"\n\
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
    fn open_and_short_come_back_as_they_are_with_strays_taken_out() {
        let strays = "[strays]\ngap = \"0.2 pF\"\nground = \"3 nH\"\npin = \"0.5 pF\"\ncontact = 0.01\n\
                      removed = true\n[strays.arm]\nlength = \"30 mm\"\n";
        for kind in ["open", "short"] {
            for frequency in ["1 kHz", "7 MHz", "100 MHz", "1 GHz"] {
                for method in ["both directions", "both directions, through unknown"] {
                    let text = format!(
                        "version = 1\n[device]\nkind = \"{kind}\"\n[at]\nfrequency = \"{frequency}\"\n\
                         {strays}[calibration]\nmethod = \"{method}\"\n"
                    );
                    let scenario = Scenario::from_toml(&text, "t").unwrap();
                    let bench = Bench::new(&scenario).unwrap();
                    for entry in bench.readout().fixtures {
                        let back = entry.got_back.unwrap();
                        assert_eq!(
                            (back.is_open(), back.is_short()),
                            (kind == "open", kind == "short"),
                            "{frequency} {method} {entry:?}"
                        );
                    }
                }
            }
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
