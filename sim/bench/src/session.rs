//! An analyzer that is calibrated once and then reads one thing after another.

use jigwise_physics::{Complex64, Fixture, Immittance, Method};

use crate::budget;
use crate::chain::{Calibrated, Chain};
use crate::noise::Noise;
use crate::scenario::{CalibrationPlan, Scenario, ScenarioError};
use crate::words::no_reading;

/// A calibrated analyzer on the bench of a scenario.
///
/// The seed of the scenario is that of the calibration: its residuals are in every reading, at
/// every frequency. What differs from reading to reading is drawn by the reading's number, so a
/// reading of the same number comes out the same. The standards were read with as many averages as
/// the scenario's instrument has.
///
/// ```
/// use jigwise_bench::{Fixture, NamedInstrument, Scenario, Session, Wanted};
///
/// let scenario = Scenario { instrument: Some(NamedInstrument::default()), ..Scenario::default() };
/// let session = Session::new(&scenario);
/// let part = scenario.device.immittance(Some(7.1e6))?;
/// let wanted = |number| Wanted { fixture: Fixture::SeriesThrough, freq_hz: 7.1e6, averages: 4, number };
/// let first = session.read(part, wanted(1))?;
/// assert_eq!(first, session.read(part, wanted(1))?);
/// assert!(first != session.read(part, wanted(2))?);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone)]
pub struct Session {
    scenario: Scenario,
    plan: CalibrationPlan,
}

/// Which reading is taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// The fixture.
    pub fixture: Fixture,
    /// The frequency, Hz.
    pub freq_hz: f64,
    /// How many readings the analyzer averages into this one.
    pub averages: u32,
    /// The number of the reading, from which its noise and its connection are drawn.
    pub number: u64,
}

impl Session {
    /// Calibrates the analyzer of a scenario by the scenario's plan, or in both directions with
    /// good standards where it has none.
    pub fn new(scenario: &Scenario) -> Self {
        let usual = || CalibrationPlan::new(Method::BothDirections, scenario.reference);
        Self {
            scenario: scenario.clone(),
            plan: scenario.calibration.clone().unwrap_or_else(usual),
        }
    }

    /// The corrected reading of a device: S11 in reflect, S21 in the through fixtures.
    ///
    /// # Errors
    /// [`ScenarioError`] where the instrument, the strays or the calibration can't be computed at
    /// the frequency, and at the pole of an active part.
    pub fn read(&self, device: Immittance, wanted: Wanted) -> Result<Complex64, ScenarioError> {
        let Wanted {
            fixture, freq_hz, ..
        } = wanted;
        let mut standards = self.noise(None)?.map(|noise| {
            // Another frequency is another reading of the same standards.
            noise.with_stream(self.scenario.seed ^ freq_hz.to_bits().rotate_left(17))
        });
        let mut at_standards = standards
            .as_mut()
            .map(|noise| noise.at(freq_hz))
            .transpose()?;
        let calibrated =
            Calibrated::by(&self.plan, &self.scenario, freq_hz, at_standards.as_mut())?;
        let chain = Chain::at(&self.scenario, freq_hz, Some(calibrated))?;
        let stream = stream_of(self.scenario.seed, wanted.number);
        let mut noise = self
            .noise(Some(wanted.averages))?
            .map(|noise| noise.with_stream(stream));
        let connection = noise.as_mut().map(Noise::connect);
        let mut noise = noise.as_mut().map(|noise| noise.at(freq_hz)).transpose()?;
        let raw = chain
            .raw(fixture, device, connection.as_ref(), noise.as_mut())
            .ok_or_else(|| ScenarioError::free(no_reading(fixture, self.scenario.reference)))?;
        let corrected = calibrated.correction.apply_in(fixture, &raw);
        Ok(match fixture {
            Fixture::Reflect => corrected.s11,
            Fixture::ShuntThrough | Fixture::SeriesThrough => corrected.s21,
        })
    }

    /// The noise of the instrument, with other averages where they are given.
    fn noise(&self, averages: Option<u32>) -> Result<Option<Noise>, ScenarioError> {
        let mut scenario = self.scenario.clone();
        if let Some(averages) = averages {
            let instrument = scenario.instrument.take();
            scenario.instrument = instrument.map(|known| known.with_averages(averages));
        }
        let bands = budget::by_band(&scenario)?;
        Ok(bands.map(|bands| Noise::new(&bands, scenario.seed)))
    }
}

/// One stream for each reading: the step of the golden ratio keeps neighbours far apart.
fn stream_of(seed: u64, number: u64) -> u64 {
    !seed ^ number.wrapping_add(1).wrapping_mul(0x9e37_79b9_7f4a_7c15)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::NamedInstrument;

    const WANTED: Wanted = Wanted {
        fixture: Fixture::ShuntThrough,
        freq_hz: 7.1e6,
        averages: 1,
        number: 1,
    };

    fn scenario(seed: u64) -> Scenario {
        let text = "version = 1\n[device]\nkind = \"resistor\"\nresistance = \"12\"\n\
                    [at]\nfrequency = \"7.1 MHz\"\n[instrument]\npreset = \"handheld\"\n\
                    averages = 64\n[calibration]\nmethod = \"both directions\"\nfront_end = 11\n";
        Scenario {
            seed,
            ..Scenario::from_toml(text, "t").unwrap()
        }
    }

    /// Sixteen averages leave a quarter of the scatter; 2 000 readings know a standard deviation
    /// to 1.6 %, the ratio of two to 2.3 %, and four times that is allowed here.
    #[test]
    fn averages_quarter_the_scatter_and_leave_the_residuals() {
        let scenario = scenario(7);
        let session = Session::new(&scenario);
        let part = scenario.device.immittance(Some(7.1e6)).unwrap();
        let of = |averages| {
            let readings: Vec<Complex64> = (0..2_000)
                .map(|number| {
                    let wanted = Wanted {
                        averages,
                        number,
                        ..WANTED
                    };
                    session.read(part, wanted).unwrap()
                })
                .collect();
            let mean = readings.iter().sum::<Complex64>() / readings.len() as f64;
            let square = readings.iter().map(|s| (s - mean).norm_sqr()).sum::<f64>();
            (mean, (square / readings.len() as f64).sqrt())
        };
        let ((mean, one), (mean_of_more, sixteen)) = (of(1), of(16));
        assert!((one / sixteen / 4.0 - 1.0).abs() < 0.09, "{one} {sixteen}");
        // What the calibration left is in both, and far above what is left of the noise.
        let ideal = WANTED
            .fixture
            .reading(part, scenario.reference)
            .value()
            .unwrap();
        assert!((mean - mean_of_more).norm() < 5.0 * one / 2_000f64.sqrt());
        assert!((mean - ideal).norm() > 20.0 * one / 2_000f64.sqrt());
    }

    /// Over many calibrations a reading scatters as the budget of this front end says: GUM by the
    /// budget against the simulated chain. 2 000 of them know the mean square to 2.2 %.
    #[test]
    fn over_calibrations_a_reading_scatters_as_the_budget_says() {
        let mut square = 0.0;
        const COUNT: u64 = 2_000;
        for seed in 0..COUNT {
            let scenario = scenario(seed);
            let part = scenario.device.immittance(Some(7.1e6)).unwrap();
            let reading = Session::new(&scenario).read(part, WANTED).unwrap();
            let ideal = WANTED.fixture.reading(part, scenario.reference);
            square += (reading - ideal.value().unwrap()).norm_sqr();
        }
        let mut one = scenario(0);
        one.instrument =
            NamedInstrument::preset("handheld").map(|h| h.with_averages(WANTED.averages));
        let bench = crate::Bench::new(&one).unwrap();
        let budget = bench.budget().unwrap();
        let expected = budget
            .reading_covariance(WANTED.fixture, bench.device())
            .unwrap()
            .trace();
        let ratio = square / COUNT as f64 / expected;
        assert!((ratio - 1.0).abs() < 0.09, "{ratio}");
    }
}
