//! Which of the invented front ends an analyzer has.

use jigwise_physics::RawAnalyzer;

use crate::scenario::{CalibrationPlan, Scenario};

/// The front end of a simulated analyzer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum FrontEnd {
    /// One with a number, which does not depend on the instrument.
    Numbered(u64),
    /// Drawn from the scenario's seed, with raw match as the instrument has it.
    Drawn { seed: u64, raw_match: f64 },
}

impl FrontEnd {
    /// The one that the plan names; else drawn for the scenario's instrument; else number 1.
    pub(crate) fn of(scenario: &Scenario, plan: &CalibrationPlan) -> Self {
        match (plan.front_end, &scenario.instrument) {
            (Some(number), _) => Self::Numbered(number),
            (None, None) => Self::Numbered(1),
            (None, Some(instrument)) => Self::Drawn {
                seed: scenario.seed,
                raw_match: instrument.figures.raw_match,
            },
        }
    }

    pub(crate) fn analyzer(self) -> RawAnalyzer {
        match self {
            Self::Numbered(number) => RawAnalyzer::new(number),
            Self::Drawn { seed, raw_match } => RawAnalyzer::with_raw_match(seed, raw_match),
        }
    }

    pub(crate) fn words(self) -> String {
        match self {
            Self::Numbered(number) => format!("front end {number}, invented"),
            Self::Drawn { .. } => "front end drawn for the instrument, invented".to_owned(),
        }
    }
}
