use std::io::Write;

use clap::Args;
use jigwise_physics::{Fixture, ReferenceImpedance};

use super::{CommandError, FixtureArgument, reference};
use jigwise_bench::words::{fixture_key, reading_name};
use jigwise_bench::{Formula, Roundtrip, Trial, roundtrip};
use jigwise_quantity::{complex_ohm, plain_complex};

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
        match roundtrip(&formula, fixture, z0) {
            Roundtrip::Right { tried } => writeln!(
                out,
                "Right: Z = {} gives back all {tried} parts tried in the {} fixture.",
                formula.text(),
                fixture_key(fixture)
            )?,
            Roundtrip::RightForSome {
                kinds,
                counterexample,
            } => {
                let kinds: Vec<&str> = kinds.into_iter().map(|kind| kind.words()).collect();
                writeln!(out, "Right only {}.", kinds.join(", "))?;
                write_counterexample(fixture, &counterexample, out)?;
            }
            Roundtrip::Wrong { counterexample } => {
                writeln!(out, "Wrong in the {} fixture.", fixture_key(fixture))?;
                write_counterexample(fixture, &counterexample, out)?;
                for other in Fixture::ALL.into_iter().filter(|other| *other != fixture) {
                    if matches!(roundtrip(&formula, other, z0), Roundtrip::Right { .. }) {
                        writeln!(
                            out,
                            "It is the right formula of the {} fixture.",
                            fixture_key(other)
                        )?;
                    }
                }
            }
        }
        Ok(())
    }
}

fn write_counterexample(
    fixture: Fixture,
    trial: &Trial,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let found = trial
        .found
        .map_or("no value".to_owned(), |ohm| complex_ohm(ohm, 4));
    writeln!(
        out,
        "A part of {} reads {} = {}; the formula makes {found} of it.",
        complex_ohm(trial.ohm, 4),
        reading_name(fixture),
        plain_complex(trial.reading, 5)
    )?;
    Ok(())
}
