//! What follows from a task's scenario, computed once, when it is first asked for: a wrong answer is
//! held against every slip, and each of them asks for the same.

use std::sync::OnceLock;

use jigwise_bench::{Bench, Readout};

use super::Task;
use crate::claim::Knowable;
use crate::solve;

/// What was computed so far.
#[derive(Debug, Clone, Default)]
pub(crate) struct Worked {
    bench: OnceLock<Option<Box<Bench>>>,
    readout: OnceLock<Option<Box<Readout>>>,
    knowable: OnceLock<Option<Knowable>>,
}

impl Task {
    /// The bench of the scenario; `None` where it can't be computed.
    pub(crate) fn bench(&self) -> Option<&Bench> {
        let bench = || Bench::new(self.scenario()).ok().map(Box::new);
        self.worked.bench.get_or_init(bench).as_deref()
    }

    /// The readout of the bench.
    pub(crate) fn readout(&self) -> Option<&Readout> {
        let readout = || Some(Box::new(self.bench()?.readout()));
        self.worked.readout.get_or_init(readout).as_deref()
    }

    /// What could be known of the value that is asked for with its ±; `None` for other tasks.
    pub fn knowable(&self) -> Option<Knowable> {
        *self.worked.knowable.get_or_init(|| solve::knowable(self))
    }
}
