use std::io::Write;

use clap::Args;
use jigwise_physics::{Fixture, ReferenceImpedance};

use super::{CommandError, FixtureArgument, reference};
use jigwise_bench::Formula;
use jigwise_bench::words::roundtrip_words;

/// Whether a published formula gives back the ohms: right, wrong with the part it fails for,
/// or right for some parts only.
#[derive(Args)]
pub(super) struct RoundtripArguments {
    /// The fixture that the formula is for.
    #[arg(long, value_enum)]
    fixture: FixtureArgument,
    /// The formula: + - * / ^ ( ), sqrt, conj, abs, S for the reading, Z0, j.
    #[arg(long, allow_hyphen_values = true)]
    formula: String,
    /// The analyzer's reference in ohms.
    #[arg(long, value_name = "OHM", value_parser = reference, default_value = "50",
          allow_hyphen_values = true)]
    reference: f64,
}

impl RoundtripArguments {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        let formula: Formula = self.formula.parse()?;
        let fixture = Fixture::from(self.fixture);
        let z0 = ReferenceImpedance::new(self.reference)?;
        for sentence in roundtrip_words(&formula, fixture, z0) {
            writeln!(out, "{sentence}")?;
        }
        Ok(())
    }
}
