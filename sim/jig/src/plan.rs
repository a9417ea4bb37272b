use std::io::Write;

use clap::Args;

use serde::Serialize;

use super::CommandError;
use super::json::{Document, write_json};
use super::question::Question;
use jigwise_bench::plan;
use jigwise_bench::words::fixture_key;

/// Which fixture knows a part, which one to solder for it, and why, in four lines.
#[derive(Args)]
pub(super) struct Plan {
    #[command(flatten)]
    question: Question,
    /// Write JSON.
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct PlanJson {
    instrument: String,
    freq_hz: Option<f64>,
    best_for_value: Option<&'static str>,
    best_for_change: Option<&'static str>,
    lines: Vec<String>,
}

impl Plan {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        let mut scenario = self.question.scenario()?;
        let instrument = scenario.instrument.get_or_insert_default().clone();
        let bench = self.question.bench(&scenario)?;
        let lines: Vec<String> = plan(&bench, &instrument).into_iter().flatten().collect();
        if self.json {
            let readout = bench.readout();
            let best = readout.appraisal;
            let json = PlanJson {
                instrument: instrument.name,
                freq_hz: readout.freq_hz,
                best_for_value: best.and_then(|best| best.best_for_value).map(fixture_key),
                best_for_change: best.and_then(|best| best.best_for_change).map(fixture_key),
                lines,
            };
            return write_json(
                &Document::new("plan", json).read(self.question.files()),
                out,
            );
        }
        for line in lines {
            writeln!(out, "{line}")?;
        }
        Ok(())
    }
}
