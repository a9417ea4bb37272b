use std::io::Write;
use std::process::ExitCode;

use clap::Args;
use jigwise_physics::{Fixture, ReferenceImpedance};
use serde::Serialize;

use super::json::{Document, write_json};
use super::{CommandError, FixtureArgument, Ohms, Parts, reference};
use jigwise_bench::words::{fixture_key, roundtrip_words};
use jigwise_bench::{Formula, Immittance, Roundtrip, Trial, roundtrip};

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
    /// Write JSON.
    #[arg(long)]
    json: bool,
}

/// The answer, before it is written.
struct Answer {
    verdict: &'static str,
    code: ExitCode,
    lines: Vec<String>,
    counterexample: Option<Trial>,
}

impl RoundtripArguments {
    /// Ends with 1 where the formula is wrong.
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<ExitCode, CommandError> {
        let formula: Formula = self.formula.parse()?;
        let fixture = Fixture::from(self.fixture);
        let z0 = ReferenceImpedance::new(self.reference)?;
        let answer = Answer::of(&formula, fixture, z0);
        if self.json {
            let json = RoundtripJson {
                fixture: fixture_key(fixture),
                reference_ohm: self.reference,
                formula: formula.text().to_owned(),
                verdict: answer.verdict,
                lines: answer.lines,
                counterexample: answer.counterexample.as_ref().map(TrialJson::of),
            };
            write_json(&Document::new("roundtrip", json), out)?;
            return Ok(answer.code);
        }
        for line in answer.lines {
            writeln!(out, "{line}")?;
        }
        Ok(answer.code)
    }
}

impl Answer {
    fn of(formula: &Formula, fixture: Fixture, z0: ReferenceImpedance) -> Self {
        let (verdict, code, counterexample) = match roundtrip(formula, fixture, z0) {
            Roundtrip::Right { .. } => ("right", ExitCode::SUCCESS, None),
            Roundtrip::RightForSome { counterexample, .. } => {
                ("right for some", ExitCode::SUCCESS, Some(counterexample))
            }
            Roundtrip::Wrong { counterexample } => {
                ("wrong", ExitCode::FAILURE, Some(counterexample))
            }
        };
        Self {
            verdict,
            code,
            lines: roundtrip_words(formula, fixture, z0),
            counterexample,
        }
    }
}

#[derive(Serialize)]
struct RoundtripJson {
    fixture: &'static str,
    reference_ohm: f64,
    formula: String,
    /// right, right for some, or wrong.
    verdict: &'static str,
    lines: Vec<String>,
    counterexample: Option<TrialJson>,
}

/// A part for which the formula fails.
#[derive(Serialize)]
struct TrialJson {
    impedance: Option<Ohms>,
    reading: Parts,
    found: Option<Ohms>,
}

impl TrialJson {
    fn of(trial: &Trial) -> Self {
        let ohms = |z| Immittance::from_impedance(z).ok().and_then(Ohms::of);
        Self {
            impedance: ohms(trial.ohm),
            reading: trial.reading.into(),
            found: trial.found.and_then(ohms),
        }
    }
}
