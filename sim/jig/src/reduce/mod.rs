mod apart;
mod arguments;
mod check;
mod csv;
mod date;
mod folder;
mod inputs;
mod json;
mod listing;
mod points;
mod prepared;
mod provenance;
mod standards;
mod sweep_reader;
mod text;
mod values;

use std::io::Write;
use std::process::ExitCode;

use super::CommandError;
use jigwise_bench::words;

pub(crate) use self::arguments::Reduce;
use self::folder::{Naming, Reports};
use self::inputs::{Gathered, Inputs};
use self::prepared::Prepared;
pub(crate) use self::provenance::CommandLine;

impl Reduce {
    /// Ends with 1 where the fixtures of a part contradict each other.
    pub(super) fn run(
        &self,
        line: &CommandLine,
        out: &mut dyn Write,
        err: &mut dyn Write,
    ) -> Result<ExitCode, CommandError> {
        check::options(self)?;
        if let Some(folder) = &self.out {
            folder::check_out(folder)?;
        }
        let gathered = Inputs::gather(self)?;
        let [part] = &gathered.parts[..] else {
            return listing::run(self, line, &gathered, out, err);
        };
        let Gathered { notes, .. } = &gathered;
        // Everything that can be wrong is found before anything is written.
        let part = Prepared::new(part)?;
        part.check_within(&self.at)?;
        let found = part.ensemble.agreement();
        if let Some(found) = found.filter(|found| found.is_contradiction()) {
            apart::write(self, line, &part, &found, notes, out, err)?;
            return Ok(ExitCode::FAILURE);
        }
        let alone = std::slice::from_ref(&part);
        let report = match &self.out {
            Some(folder) => Some(Reports::begin(self, folder, Naming::Itself, alone)?),
            None => None,
        };
        self.write_part(&part, notes, out)?;
        out.flush()?;
        write_notes(notes, err)?;
        // Numbers alone have no first line that warns.
        if self.json || self.csv {
            write_doubt(&part, err)?;
        }
        if let Some(report) = report {
            report.write(self, line, alone, err)?;
        }
        part.write_remarks(err)?;
        points::write_asked(&part, &self.at, err)?;
        Ok(ExitCode::SUCCESS)
    }

    /// The numbers of a part in the form that was asked for.
    fn write_part(
        &self,
        part: &Prepared<'_>,
        notes: &[String],
        out: &mut dyn Write,
    ) -> Result<(), CommandError> {
        if self.csv {
            return csv::write_csv(part, &self.at, out);
        }
        let findings = self.model.as_ref().map(|wanted| part.findings(wanted));
        if self.json {
            return json::write_json(self, part, findings.transpose()?.as_ref(), notes, out);
        }
        text::write_table(&self.at, part, out)?;
        match findings {
            Some(findings) => values::write_text(&findings?, out),
            None => Ok(()),
        }
    }
}

fn write_notes(notes: &[String], err: &mut dyn Write) -> Result<(), CommandError> {
    for note in notes {
        writeln!(err, "jig: {note}")?;
    }
    Ok(())
}

/// That the fixtures of a part agree poorly, where they do.
fn write_doubt(part: &Prepared<'_>, err: &mut dyn Write) -> Result<(), CommandError> {
    let found = part.ensemble.agreement();
    if let Some(found) = found.filter(|found| found.is_doubtful()) {
        let said = words::agreement(&found);
        writeln!(err, "jig: {}: {said}", part.inputs.title())?;
    }
    Ok(())
}
