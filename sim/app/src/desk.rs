//! The physical question and its answer: no look, no toolkit, no engine.

use jigwise_bench::{
    Bench, Clouds, Device, Fixture, Immittance, NamedInstrument, Nudge, Readout, Residuals,
    Scenario, ScenarioError, Trials, steer,
};

/// A scenario and the bench computed from it.
#[derive(Debug)]
struct Setup {
    scenario: Scenario,
    bench: Bench,
}

impl Setup {
    /// Every setup has an instrument: the default one where the scenario names none.
    fn new(mut scenario: Scenario) -> Result<Self, ScenarioError> {
        scenario.instrument.get_or_insert_default();
        scenario.check_strays()?;
        let bench = Bench::new(&scenario)?;
        Ok(Self { scenario, bench })
    }
}

/// The calibration in force. Number 0 is a perfect one, which leaves nothing.
#[derive(Debug)]
struct Calibration {
    number: u64,
    residuals: Residuals,
}

/// The scenario in force, the bench computed from it, the calibration in force and a kept copy.
/// Every number in the window follows from these.
#[derive(Debug)]
pub struct Desk {
    here: Setup,
    kept: Option<Setup>,
    calibration: Calibration,
    trials: Trials,
    revision: u64,
    /// Counts the changes of anything but the device.
    setup_revision: u64,
}

impl Desk {
    /// A desk with a scenario on it, calibrated perfectly.
    ///
    /// # Errors
    /// [`ScenarioError`] where the scenario can't be computed.
    pub fn new(scenario: Scenario) -> Result<Self, ScenarioError> {
        Ok(Self {
            here: Setup::new(scenario)?,
            kept: None,
            calibration: Calibration {
                number: 0,
                residuals: Residuals::NONE,
            },
            trials: Trials::default(),
            revision: 0,
            setup_revision: 0,
        })
    }

    /// Counts the changes made to the desk. Two equal counts mean that nothing has changed
    /// between them.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// Counts the changes of anything but the device: what is drawn of the bench alone is the same
    /// while it stays.
    pub(crate) fn setup_revision(&self) -> u64 {
        self.setup_revision
    }

    /// The scenario in force, with every move made.
    pub fn scenario(&self) -> &Scenario {
        &self.here.scenario
    }

    /// The bench computed from the scenario.
    pub fn bench(&self) -> &Bench {
        &self.here.bench
    }

    /// The device in force, as a point of a chart.
    pub fn device(&self) -> Immittance {
        self.here.bench.device()
    }

    /// The numbers that follow from the scenario, readings and ohms got back as the calibration in
    /// force leaves them.
    pub fn readout(&self) -> Readout {
        let mut readout = self.here.bench.readout();
        if self.calibration.number == 0 {
            return readout;
        }
        let residuals = &self.calibration.residuals;
        for entry in &mut readout.fixtures {
            let bench = &self.here.bench;
            entry.reading = bench.reading_after(entry.fixture, residuals);
            entry.got_back = bench.got_back_after(entry.fixture, residuals);
        }
        readout
    }

    /// The instrument. A desk always has one.
    pub fn instrument(&self) -> NamedInstrument {
        self.here.scenario.instrument.clone().unwrap_or_default()
    }

    /// Puts another scenario on the desk. The number of the calibration stays; its residuals
    /// are drawn for the new instrument.
    ///
    /// # Errors
    /// [`ScenarioError`] where the scenario can't be computed. The desk is then unchanged.
    pub fn set_scenario(&mut self, scenario: Scenario) -> Result<(), ScenarioError> {
        self.here = Setup::new(scenario)?;
        self.setup_revision += 1;
        self.trials.clear();
        self.draw_calibration();
        Ok(())
    }

    /// Puts another scenario on the desk, with no trace of what was there: calibrated perfectly, and
    /// then `calibrations` times again.
    ///
    /// # Errors
    /// As [`Desk::set_scenario`].
    pub fn lay_out(&mut self, scenario: Scenario, calibrations: u64) -> Result<(), ScenarioError> {
        self.set_scenario(scenario)?;
        self.calibrate_perfectly();
        for _ in 0..calibrations {
            self.calibrate_again();
        }
        Ok(())
    }

    /// Takes another instrument.
    ///
    /// # Errors
    /// As [`Desk::set_scenario`].
    pub fn set_instrument(&mut self, instrument: NamedInstrument) -> Result<(), ScenarioError> {
        self.set_scenario(Scenario {
            instrument: Some(instrument),
            ..self.scenario().clone()
        })
    }

    /// Takes another nudge.
    ///
    /// # Errors
    /// As [`Desk::set_scenario`].
    pub fn set_nudge(&mut self, nudge: Nudge) -> Result<(), ScenarioError> {
        // What comes out of a calibration does not depend on the nudge.
        let trials = std::mem::take(&mut self.trials);
        let taken = self.set_scenario(Scenario {
            nudge,
            ..self.scenario().clone()
        });
        self.trials = trials;
        taken
    }

    /// Moves the device to a point of a chart. Only the device is replaced: the budget and the
    /// calibration are not computed again.
    pub fn move_to(&mut self, device: Immittance) {
        let moved = Device::from(device);
        if moved == self.here.scenario.device {
            return;
        }
        // A fixed impedance, an open and a short are computable at any frequency. The point is
        // taken from the device so that a scenario written to a file gives the same numbers.
        if let Ok(point) = moved.immittance(self.here.scenario.readout_hz()) {
            self.here.bench = self.here.bench.with_device(point);
            self.here.scenario.device = moved;
            self.trials.clear();
            self.revision += 1;
        }
    }

    /// Multiplies |Z| by 10^(steps/24).
    pub fn step_magnitude(&mut self, steps: f64) {
        let reference = self.here.scenario.reference;
        self.move_to(steer::step_magnitude(self.device(), reference, steps));
    }

    /// Turns the phase by `angle_deg` degrees.
    pub fn step_phase(&mut self, angle_deg: f64) {
        self.move_to(steer::step_phase(self.device(), angle_deg.to_radians()));
    }

    /// Calibrates again with the same standards, which leaves other residuals.
    ///
    /// With it the part is read once in each fixture.
    pub fn calibrate_again(&mut self) {
        self.calibration.number += 1;
        self.draw_calibration();
        let bench = &self.here.bench;
        let came_out = bench.one_reading(self.calibration.number);
        self.trials.add(came_out, &bench.modulus_intervals());
    }

    /// What came out of the calibrations made with this part on this bench.
    pub fn trials(&self) -> &Trials {
        &self.trials
    }

    /// The number of the calibration in force; 0 is the perfect one.
    pub fn calibration_number(&self) -> u64 {
        self.calibration.number
    }

    /// Goes back to the perfect calibration, which leaves no residuals.
    pub fn calibrate_perfectly(&mut self) {
        self.calibration.number = 0;
        self.trials.clear();
        self.draw_calibration();
    }

    /// Draws what the calibration in force leaves. Whatever leads here has changed the desk.
    fn draw_calibration(&mut self) {
        self.calibration.residuals = self.here.bench.calibration(self.calibration.number);
        self.revision += 1;
    }

    /// The calibration in force, in words.
    pub fn calibration_words(&self) -> String {
        let plan = self.here.scenario.calibration.as_ref();
        let method = plan.map(|plan| format!("calibrated: {}", plan.method));
        match (self.calibration.number, method) {
            (0, None) => "perfect calibration".to_owned(),
            (0, Some(method)) => method,
            (number, method) => format!(
                "calibration {number} (seed {}){}",
                self.here.bench.calibration_seed(number),
                method.map_or(String::new(), |method| format!(", {method}"))
            ),
        }
    }

    /// The clouds of a fixture's repeated readings under the calibration in force.
    pub fn clouds(&self, fixture: Fixture) -> Option<Clouds> {
        self.here.bench.clouds(fixture, &self.calibration.residuals)
    }

    /// The device that a fixture gives back under the calibration in force.
    pub fn got_back(&self, fixture: Fixture) -> Option<Immittance> {
        self.readout().of(fixture).got_back
    }

    /// Keeps a copy of the scenario to compare with.
    pub fn keep_copy(&mut self) {
        self.kept = Some(Setup {
            scenario: self.here.scenario.clone(),
            bench: self.here.bench,
        });
    }

    /// The scenario of the kept copy.
    pub fn kept(&self) -> Option<&Scenario> {
        self.kept.as_ref().map(|kept| &kept.scenario)
    }

    /// The device of the kept copy, as a point of a chart.
    pub fn kept_device(&self) -> Option<Immittance> {
        self.kept.as_ref().map(|kept| kept.bench.device())
    }

    /// Exchanges the kept copy and what is on the desk.
    pub fn swap_kept(&mut self) {
        if let Some(kept) = &mut self.kept {
            std::mem::swap(kept, &mut self.here);
            self.setup_revision += 1;
            self.trials.clear();
            self.draw_calibration();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_calibration_leaves_a_tick_until_the_part_moves() {
        let mut desk = Desk::new(Scenario::default()).unwrap();
        for _ in 0..60 {
            desk.calibrate_again();
        }
        assert_eq!(desk.trials().ticks().count, 60);
        assert_eq!(desk.trials().ticks().shown.len(), Trials::SHOWN);
        desk.set_nudge(Nudge::new(0.2, Default::default(), false).unwrap())
            .unwrap();
        assert_eq!(desk.trials().ticks().count, 60);
        desk.step_magnitude(1.0);
        assert_eq!(desk.trials().ticks().count, 0);
    }

    #[test]
    fn a_device_that_was_dragged_reads_as_one_that_was_set() {
        let text = "version = 1\ndevice = { kind = \"resistor\", resistance = \"4.7k\" }\n\
                    at = { frequency = \"7.1 MHz\" }\nstrays = { gap = \"0.1 pF\" }\n\
                    calibration = { method = \"both directions\", skipped = [\"short\"] }\n";
        let mut desk = Desk::new(Scenario::from_toml(text, "drag.toml").unwrap()).unwrap();
        desk.calibrate_again();
        let moved = desk.revision();
        for _ in 0..30 {
            desk.step_magnitude(-1.7);
            desk.step_phase(-2.3);
        }
        assert_eq!(desk.revision(), moved + 60);
        let fresh = Desk::new(desk.scenario().clone()).unwrap();
        assert_eq!(
            format!("{:?}", desk.bench()),
            format!("{:?}", fresh.bench())
        );
    }

    #[test]
    fn a_copy_is_kept_and_comes_back() {
        let mut desk = Desk::new(Scenario::default()).unwrap();
        desk.swap_kept();
        assert_eq!(desk.revision(), 0);
        let begun = desk.scenario().clone();
        desk.keep_copy();
        desk.move_to(Immittance::SHORT);
        desk.swap_kept();
        assert_eq!(*desk.scenario(), begun);
        assert_eq!(desk.kept_device(), Some(Immittance::SHORT));
        assert_eq!(desk.kept().map(|kept| &kept.device), Some(&Device::Short));
    }
}
