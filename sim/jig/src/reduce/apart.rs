//! Fixtures that contradict each other: each is told by itself, and no circuit's values are given.

use std::io::Write;

use jigwise_bench::words;
use jigwise_physics::{Agreement, BlendError};
use jigwise_reduce::{Columns, Wanted};

use super::inputs::Inputs;
use super::points::{wanted, write_asked};
use super::{Prepared, Reduce, csv, folder, json, text};
use crate::CommandError;

/// Writes what each fixture of a part gives, in the form asked for.
pub(super) fn write(
    given: &Reduce,
    part: &Prepared<'_>,
    found: &Agreement,
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
    let places = match &given.out {
        Some(folder) => folder::places_of_fixtures(folder, &each)?,
        None => Vec::new(),
    };
    if given.json {
        json::write_apart(given, part, &each, out)?;
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
    let circuit = given.model.as_ref().unwrap_or(&Wanted::Automatic);
    for (part, place) in each.iter().zip(&places) {
        folder::write(part, circuit, place, err)?;
    }
    for part in &each {
        part.write_remarks(err)?;
        write_asked(part, &given.at, err)?;
    }
    Ok(())
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
                budget: self.budget.clone(),
                strays: self.strays.clone(),
                beside: self.beside_in(self.fixtures[at]),
                calibration: self.calibration.clone(),
                read: self.read.clone(),
            })
            .collect()
    }
}
