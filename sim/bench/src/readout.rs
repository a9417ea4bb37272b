//! The numbers that follow from a scenario.

use jigwise_physics::{
    Appraisal, Budget, Complex64, Coverage, Draws, Fixture, FixtureAppraisal, Immittance,
    ModulusInterval, Nudge, ReferenceImpedance, Residuals, modulus_interval,
};

use crate::budget;
use crate::chain::Chain;
use crate::scenario::{Scenario, ScenarioError};

/// A scenario made ready to compute.
#[derive(Debug, Clone, Copy)]
pub struct Bench {
    device: Immittance,
    freq_hz: Option<f64>,
    reference: ReferenceImpedance,
    chain: Option<Chain>,
    budget: Option<Budget>,
    nudge: Nudge,
    seed: u64,
}

impl Bench {
    /// # Errors
    /// [`ScenarioError`] where the device, the strays or the calibration need a frequency and
    /// there is none, a value is outside what can be computed, or the calibration can't be
    /// solved.
    pub fn new(scenario: &Scenario) -> Result<Self, ScenarioError> {
        Ok(Self {
            device: scenario
                .device
                .immittance(scenario.readout_hz())
                .map_err(|error| ScenarioError::of_device(scenario, error))?,
            freq_hz: scenario.readout_hz(),
            reference: scenario.reference,
            chain: Chain::of(scenario)?,
            budget: budget::of_readout(scenario)?,
            nudge: scenario.nudge,
            seed: scenario.seed,
        })
    }

    /// A bench around a device given as a point, without an instrument.
    pub fn around(device: Immittance, freq_hz: Option<f64>, reference: ReferenceImpedance) -> Self {
        Self {
            device,
            freq_hz,
            reference,
            chain: None,
            budget: None,
            nudge: Nudge::default(),
            seed: Scenario::default().seed,
        }
    }

    /// The same bench with another device. The budget and the calibration do not depend on the
    /// device, so they are taken over and not computed again.
    pub fn with_device(&self, device: Immittance) -> Self {
        Self { device, ..*self }
    }

    /// The device.
    pub fn device(&self) -> Immittance {
        self.device
    }

    /// The error budget, where the scenario names an instrument.
    pub fn budget(&self) -> Option<&Budget> {
        self.budget.as_ref()
    }

    /// The small change that somebody wants to see.
    pub fn nudge(&self) -> Nudge {
        self.nudge
    }

    /// The seed of one calibration.
    pub fn calibration_seed(&self, number: u64) -> u64 {
        self.seed.wrapping_add(number)
    }

    /// The residuals that calibration `number` with the same standards leaves. Calibration 0 is
    /// perfect; without an instrument every calibration is.
    pub fn calibration(&self, number: u64) -> Residuals {
        match &self.budget {
            Some(budget) if number > 0 => {
                budget.draw_calibration(&mut Draws::new(self.calibration_seed(number)))
            }
            _ => Residuals::NONE,
        }
    }

    /// The corrected reading of a fixture; `None` at a pole.
    pub(crate) fn reading(&self, fixture: Fixture) -> Option<Complex64> {
        match &self.chain {
            None => fixture.reading(self.device, self.reference).value(),
            Some(chain) => chain.reading(fixture, self.device),
        }
    }

    /// The device that a reading gives.
    pub(crate) fn device_of(&self, fixture: Fixture, reading: Complex64) -> Option<Immittance> {
        match &self.chain {
            None => fixture.immittance(reading, self.reference).ok(),
            Some(chain) => chain.device_of(fixture, reading),
        }
    }

    /// Where |Z| comes out of one reading with 95 % probability, by fixture in the order of
    /// [`Fixture::ALL`]; the part is always inside. `None` without an instrument and at the pole of
    /// an active part.
    ///
    /// ```
    /// use jigwise_bench::{Bench, Scenario, NamedInstrument};
    ///
    /// let scenario = Scenario { instrument: NamedInstrument::preset("handheld"), ..Scenario::default() };
    /// let [reflect, _, series] = Bench::new(&scenario)?.modulus_intervals();
    /// let width = |bar: Option<jigwise_bench::ModulusInterval>| bar.unwrap().high_ohm / bar.unwrap().low_ohm;
    /// assert!(width(series) < 1.2 && width(reflect) > 3.0);
    /// # Ok::<(), jigwise_bench::ScenarioError>(())
    /// ```
    pub fn modulus_intervals(&self) -> [Option<ModulusInterval>; 3] {
        Fixture::ALL.map(|fixture| {
            let scatter = self.budget?.reading_covariance(fixture, self.device)?;
            let (back, comes_out) = match &self.chain {
                None => (fixture.map(self.reference), self.device),
                Some(chain) => chain.nominal(fixture, self.device),
            };
            modulus_interval(&back, comes_out, self.device, scatter)
        })
    }

    fn read(&self, fixture: Fixture) -> FixtureReadout {
        let reading = self.reading(fixture);
        FixtureReadout {
            fixture,
            reading,
            got_back: reading.and_then(|s| self.device_of(fixture, s)),
        }
    }

    /// What each fixture shows.
    pub fn readout(&self) -> Readout {
        Readout {
            freq_hz: self.freq_hz,
            reference: self.reference,
            device: self.device,
            fixtures: Fixture::ALL.map(|fixture| self.read(fixture)),
            nudge: self.nudge,
            appraisal: self
                .budget
                .map(|budget| budget.appraise(self.device, self.nudge, Coverage::P95)),
        }
    }
}

/// What the three fixtures show of one device.
#[derive(Debug, Clone, Copy)]
pub struct Readout {
    /// Frequency, Hz, where the scenario names one.
    pub freq_hz: Option<f64>,
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
    /// The device itself.
    pub device: Immittance,
    /// One entry per fixture, in the order of [`Fixture::ALL`].
    pub fixtures: [FixtureReadout; 3],
    /// The small change that somebody wants to see.
    pub nudge: Nudge,
    /// What the fixtures can resolve, where the scenario names an instrument; regions at 95 %.
    /// It is of the fixtures with their strays and of the calibration that was made.
    pub appraisal: Option<Appraisal>,
}

impl Readout {
    /// The entry of one fixture.
    pub fn of(&self, fixture: Fixture) -> FixtureReadout {
        self.fixtures[fixture as usize]
    }

    /// What one fixture can resolve, where the scenario names an instrument.
    pub fn appraisal_of(&self, fixture: Fixture) -> Option<&FixtureAppraisal> {
        self.appraisal
            .as_ref()
            .map(|appraisal| appraisal.of(fixture))
    }
}

/// What one fixture shows.
#[derive(Debug, Clone, Copy)]
pub struct FixtureReadout {
    /// The fixture.
    pub fixture: Fixture,
    /// S11 or S21 as stored; `None` where an active part sits on the fixture's pole.
    pub reading: Option<Complex64>,
    /// The device computed back from the stored reading by the fixture's formula, with the
    /// known strays taken out where the scenario says so; `None` where there is none.
    pub got_back: Option<Immittance>,
}

impl FixtureReadout {
    /// 20·log10|S|; `None` for a zero reading or none at all.
    pub fn decibels(&self) -> Option<f64> {
        let magnitude = self.reading?.norm();
        (magnitude > 0.0).then(|| 20.0 * magnitude.log10())
    }

    /// The reading's angle in degrees; `None` for a zero reading or none at all.
    pub fn degrees(&self) -> Option<f64> {
        let reading = self.reading?;
        (reading.norm() > 0.0).then(|| reading.arg().to_degrees())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn another_device_gives_what_a_fresh_bench_gives() {
        let scenario = Scenario::from_toml(
            r#"
            version = 1
            [device]
            kind = "capacitor"
            capacitance = "330p"
            [at]
            frequency = "7.1 MHz"
            [instrument]
            preset = "club bench"
            [strays]
            gap = "0.4 pF"
            ground = "3 nH"
            removed = true
            [calibration]
            method = "both directions"
            skipped = ["short"]
            "#,
            "moved.toml",
        )
        .unwrap();
        let begun = Bench::new(&scenario).unwrap();
        for device in ["open", "short", "4.7k", "330 - j120", "0.02 + j3", "-25"] {
            let scenario = Scenario {
                device: device.parse().unwrap(),
                ..scenario.clone()
            };
            let fresh = Bench::new(&scenario).unwrap();
            let moved = begun.with_device(fresh.device());
            // Printed numbers are equal only where every bit is.
            assert_eq!(
                format!("{:?}", moved.readout()),
                format!("{:?}", fresh.readout())
            );
            assert_eq!(format!("{moved:?}"), format!("{fresh:?}"));
        }
    }
}
