//! Fixtures that contradict each other: each is told by itself, and no circuit's values are given.

use std::io::Write;

use jigwise_bench::words;
use jigwise_physics::{Agreement, BlendError};
use jigwise_reduce::Columns;

use super::folder::{Naming, Reports};
use super::inputs::Inputs;
use super::points::{wanted, write_asked};
use super::{CommandLine, Prepared, Reduce, csv, json, text, write_notes};
use crate::CommandError;

/// Writes what each fixture of a part gives, in the form asked for.
pub(super) fn write(
    given: &Reduce,
    line: &CommandLine,
    part: &Prepared<'_>,
    found: &Agreement,
    notes: &[String],
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let why = words::agreement(found);
    let inputs = part.inputs.apart();
    let each = inputs
        .iter()
        .map(|inputs| {
            Ok(Prepared {
                contradiction: Some(why.clone()),
                ..Prepared::new(inputs)?
            })
        })
        .collect::<Result<Vec<_>, CommandError>>()?;
    let reports = match &given.out {
        Some(folder) => Some(Reports::begin(given, folder, Naming::Fixtures, &each)?),
        None => None,
    };
    if given.json {
        json::write_apart(given, part, &each, notes, out)?;
    } else if given.csv {
        write_csv(given, &each, found, out)?;
    } else {
        writeln!(out, "{}: {why}", part.inputs.title())?;
        for part in &each {
            writeln!(out)?;
            text::write_table(&given.at, part, out)?;
        }
    }
    out.flush()?;
    if let Some(reports) = reports {
        reports.write(given, line, &each, err)?;
    }
    for part in &each {
        part.write_remarks(err)?;
        write_asked(part, &given.at, err)?;
    }
    write_notes(notes, err)
}

/// The points of one fixture after those of the other, in the columns of a blend.
fn write_csv(
    given: &Reduce,
    each: &[Prepared<'_>],
    found: &Agreement,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let columns = Columns {
        has_instrument: true,
        is_several: true,
    };
    let mut csv = csv::CsvPoints::new(out, columns)?;
    for part in each {
        wanted(&part.ensemble, &given.at, |point| {
            let mut point = point.clone();
            point.blend = Some(Err(BlendError::from(*found)));
            csv.write(&point)
        })?;
    }
    csv.finish()
}

impl Inputs {
    /// Each fixture of the part as a part of its own.
    fn apart(&self) -> Vec<Self> {
        (0..self.fixtures.len())
            .map(|at| Self {
                names: vec![self.names[at].clone()],
                sweeps: vec![self.sweeps[at].clone()],
                fixtures: vec![self.fixtures[at]],
                recipes: vec![self.recipes[at].clone()],
                instrument: self.instrument.clone(),
                connections: self.connections,
                budget: self.budget.clone(),
                strays: self.strays.clone(),
                beside: self.beside_in(self.fixtures[at]),
                calibration: self.calibration.clone(),
                read: self.read.clone(),
                stdin_sha256: self.stdin_sha256.clone(),
            })
            .collect()
    }
}
