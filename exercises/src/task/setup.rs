//! A scenario with what follows from it.

use std::sync::{Arc, OnceLock};

use jigwise_bench::{Bench, Readout, Scenario, ScenarioError};

/// A scenario whose bench and readout are computed once, when they are first asked for. Questions
/// about one part share it, and a wrong answer is held against every slip, each of which asks for
/// the same.
#[derive(Debug)]
pub(crate) struct Setup {
    scenario: Scenario,
    bench: OnceLock<Result<Box<Bench>, ScenarioError>>,
    readout: OnceLock<Option<Box<Readout>>>,
}

impl Setup {
    pub(crate) fn new(scenario: Scenario) -> Arc<Self> {
        Arc::new(Self {
            scenario,
            bench: OnceLock::new(),
            readout: OnceLock::new(),
        })
    }

    pub(crate) fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// The bench of the scenario, or why it can't be computed.
    pub(crate) fn bench(&self) -> Result<&Bench, &ScenarioError> {
        let bench = || Bench::new(&self.scenario).map(Box::new);
        self.bench.get_or_init(bench).as_deref()
    }

    /// The readout of the bench.
    pub(crate) fn readout(&self) -> Option<&Readout> {
        let readout = || Some(Box::new(self.bench().ok()?.readout()));
        self.readout.get_or_init(readout).as_deref()
    }
}
