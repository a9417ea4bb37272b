use std::io::Write;

use clap::Args;

use super::CommandError;
use super::question::Question;
use jigwise_bench::plan;

/// Which fixture knows a part, which one to solder for it, and why, in four lines.
#[derive(Args)]
pub(super) struct Plan {
    #[command(flatten)]
    question: Question,
}

impl Plan {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        let mut scenario = self.question.scenario()?;
        let instrument = scenario.instrument.get_or_insert_default().clone();
        let bench = self.question.bench(&scenario)?;
        for line in plan(&bench, &instrument).into_iter().flatten() {
            writeln!(out, "{line}")?;
        }
        Ok(())
    }
}
