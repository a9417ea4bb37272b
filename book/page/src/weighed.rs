//! A scenario with an instrument, and what the instrument makes of it.

use jigwise_bench::{Bench, Budget, NamedInstrument, Readout, Scenario, percent};

use crate::block::{Block, BlockError};
use crate::words::{part, title};

/// A named scenario that has an instrument.
pub(crate) struct Weighed {
    pub(crate) scenario: Scenario,
    pub(crate) instrument: NamedInstrument,
    pub(crate) bench: Bench,
    pub(crate) budget: Budget,
    pub(crate) readout: Readout,
}

impl Weighed {
    pub(crate) fn new(block: &Block<'_>, name: &str) -> Result<Self, BlockError> {
        let scenario = block.scenario(name)?;
        let bench = block.bench(&scenario)?;
        let without = || {
            block.error(format!(
                "scenario \"{name}\" has no instrument; choose another, or give it an \
                 [instrument] table"
            ))
        };
        Ok(Self {
            instrument: scenario.instrument.clone().ok_or_else(without)?,
            budget: *bench.budget().ok_or_else(without)?,
            readout: bench.readout(),
            scenario,
            bench,
        })
    }

    /// Who measures what, for a caption.
    pub(crate) fn setting(&self) -> String {
        let nudge = self.bench.nudge();
        format!(
            "{}, {}, {} {}; instrument: {} (invented).",
            title(&self.scenario),
            part(&self.scenario.device),
            percent(nudge.amount()),
            if nudge.is_swapped() {
                "in the part that takes its place"
            } else {
                "in place"
            },
            self.instrument.words_at(self.readout.freq_hz),
        )
    }
}
