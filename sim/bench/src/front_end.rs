//! Which of the invented front ends an analyzer has.

use jigwise_physics::RawAnalyzer;

use crate::scenario::{CalibrationPlan, Scenario, ScenarioError};

/// The front end where nothing is said of it.
const UNNAMED: u64 = 1;
/// The number of the ideal front end.
const IDEAL: u64 = 0;

/// The front end of a simulated analyzer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum FrontEnd {
    /// One that reads right by itself.
    Ideal,
    /// One with a number, which does not depend on the instrument.
    Numbered(u64),
    /// Drawn from the scenario's seed, with raw match as the instrument has it.
    Drawn { seed: u64, raw_match: f64 },
}

impl FrontEnd {
    /// The one that the plan names; else drawn for the scenario's instrument; else number 1.
    ///
    /// # Errors
    /// [`ScenarioError`] above the last band of the instrument.
    pub(crate) fn of(
        scenario: &Scenario,
        plan: &CalibrationPlan,
        freq_hz: f64,
    ) -> Result<Self, ScenarioError> {
        Ok(match (plan.front_end, &scenario.instrument) {
            (Some(IDEAL), _) => Self::Ideal,
            (Some(number), _) => Self::Numbered(number),
            (None, None) => Self::Numbered(UNNAMED),
            (None, Some(instrument)) => Self::Drawn {
                seed: scenario.seed,
                raw_match: instrument.figures_at(Some(freq_hz))?.raw_match,
            },
        })
    }

    pub(crate) fn analyzer(self) -> RawAnalyzer {
        match self {
            Self::Ideal => RawAnalyzer::IDEAL,
            Self::Numbered(number) => RawAnalyzer::new(number),
            Self::Drawn { seed, raw_match } => RawAnalyzer::with_raw_match(seed, raw_match),
        }
    }

    /// What is said of [`FrontEnd::of`].
    pub(crate) fn words(scenario: &Scenario, plan: &CalibrationPlan) -> String {
        match (plan.front_end, &scenario.instrument) {
            (None, Some(_)) => "front end drawn for the instrument, invented".to_owned(),
            (Some(IDEAL), _) => "an ideal front end".to_owned(),
            (number, _) => format!("front end {}, invented", number.unwrap_or(UNNAMED)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Bench;

    fn scenario(more: &str) -> Scenario {
        let text = format!(
            "version = 1\nseed = 9\n[device]\nkind = \"resistor\"\nresistance = \"50\"\n\
             [at]\nfrequency = \"7 MHz\"\n{more}"
        );
        Scenario::from_toml(&text, "t").unwrap()
    }

    #[test]
    fn a_front_end_is_named_or_drawn_for_the_instrument() {
        let named = "[calibration]\nmethod = \"both directions\"\nfront_end = 4\n";
        let unnamed = "[calibration]\nmethod = \"both directions\"\n";
        let instrument = "[instrument]\npreset = \"club bench\"\n";
        let of = |text: &str| {
            let scenario = scenario(text);
            FrontEnd::of(&scenario, scenario.calibration.as_ref().unwrap(), 7e6).unwrap()
        };
        assert_eq!(of(named), FrontEnd::Numbered(4));
        let ideal = format!("{}{instrument}", named.replace('4', "0"));
        assert_eq!(of(&ideal), FrontEnd::Ideal);
        assert_eq!(of(&format!("{named}{instrument}")), FrontEnd::Numbered(4));
        assert_eq!(of(unnamed), FrontEnd::Numbered(1));
        let drawn = FrontEnd::Drawn {
            seed: 9,
            raw_match: 0.1,
        };
        assert_eq!(of(&format!("{unnamed}{instrument}")), drawn);

        // Only where it is named does a readout know its raw match.
        let raw_match = |text: &str| {
            let bench = Bench::new(&scenario(text)).unwrap();
            bench.budget().unwrap().raw_match()
        };
        assert_eq!(raw_match(&format!("{named}{instrument}")), 0.0);
        for text in [instrument, &format!("{unnamed}{instrument}")] {
            assert!((raw_match(text) - 0.1).abs() < 1e-15);
        }
    }
}
