//! Benches whose instrument is the same at every frequency.

use jigwise_bench::{NamedInstrument, Scenario};

/// The scenario with the figures of its instrument's first band at every frequency, so that one
/// budget is that of a whole sweep.
pub fn one_band(scenario: Scenario) -> Scenario {
    Scenario {
        instrument: scenario
            .instrument
            .map(|named| NamedInstrument::at_any_frequency(named.name, named.figures)),
        ..scenario
    }
}
