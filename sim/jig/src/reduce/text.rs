//! The points as a table for people.

use std::io::Write;

use jigwise_bench::words::{self, AGREEMENT_NOTE, fixture_key, trust};
use jigwise_physics::{Fixture, Trust};
use jigwise_quantity::engineering;
use jigwise_reduce::{Column, Ensemble, PartPoint, ReduceError, Shown, View, evenly};

use super::Prepared;
use super::points::wanted;
use crate::CommandError;
use crate::appraisal::STANDARD_UNCERTAINTY;
use crate::table::Table;

/// A table longer than this is thinned; JSON and CSV always hold every point.
const TABLE_ROWS: usize = 40;

/// At most [`TABLE_ROWS`] points, evenly over the sweep.
fn thinned(ensemble: &Ensemble<'_>) -> Result<Vec<PartPoint>, ReduceError> {
    let mut points = Vec::new();
    for index in evenly(ensemble.freq_hz().len(), TABLE_ROWS) {
        match ensemble.point(index) {
            Ok(point) => points.push(point),
            Err(ReduceError::Blank { .. }) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(points)
}

pub(super) fn write_table(
    at_hz: &[f64],
    part: &Prepared<'_>,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let ensemble = &part.ensemble;
    let points = if at_hz.is_empty() {
        thinned(ensemble)?
    } else {
        let mut points = Vec::new();
        wanted(ensemble, at_hz, |point| {
            points.push(point.clone());
            Ok::<(), ReduceError>(())
        })?;
        points
    };
    writeln!(out, "{}", headline(part))?;
    let shown: Vec<(&Column, Shown)> = part.columns().shown(View::Terminal).collect();
    let headings = shown.iter().map(|(_, shown)| shown.title(View::Terminal));
    let mut table = Table::of(headings.map(str::to_owned).collect());
    for point in &points {
        let cells = shown.iter();
        table.push(
            cells
                .map(|(column, _)| column.text(point, View::Terminal))
                .collect(),
        );
    }
    table.write(out)?;
    let all = ensemble.freq_hz().len();
    if at_hz.is_empty() && all > TABLE_ROWS {
        writeln!(
            out,
            "{} of {all} points; all of them with --csv or --json, one of them with --at",
            points.len()
        )?;
    }
    write_notes(part, &points, out)
}

/// What was reduced, and with what, in a line above the table.
fn headline(part: &Prepared<'_>) -> String {
    let fixtures: Vec<&str> = part
        .inputs
        .fixtures
        .iter()
        .copied()
        .map(fixture_key)
        .collect();
    let instrument = part
        .inputs
        .instrument
        .as_ref()
        .map_or(String::new(), |named| {
            format!(", {} instrument", named.name)
        });
    let agreement = part.ensemble.agreement();
    let agreement = agreement.map_or(String::new(), |found| {
        format!("; {}", words::agreement(&found))
    });
    let strays = part.inputs.strays.as_ref();
    let strays = strays.map_or(String::new(), |named| {
        format!(", its strays ({}) as uncertainty", named.name)
    });
    format!(
        "{}, {}, {}{strays}, reference {}{instrument}{agreement}",
        part.inputs.title(),
        part.inputs.what(),
        fixtures.join(", "),
        engineering(part.ensemble.reference().ohm(), "Ω", 3)
    )
}

/// What the columns mean, below the table.
fn write_notes(
    part: &Prepared<'_>,
    points: &[PartPoint],
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let columns = part.columns();
    if !columns.is_several && part.inputs.fixtures[0] != Fixture::Reflect {
        writeln!(
            out,
            "Identity: how far S11 and S21 are from those of one lumped part, 0 at best"
        )?;
    }
    if columns.has_instrument {
        writeln!(out, "{STANDARD_UNCERTAINTY}")?;
        if part.ensemble.agreement().is_some() {
            writeln!(out, "{AGREEMENT_NOTE}")?;
        }
        let worst = points.iter().filter_map(PartPoint::trust).max();
        if let Some(worst) = worst.filter(|worst| *worst != Trust::Linear) {
            writeln!(
                out,
                "At some of these points {}; --json and --csv give the region",
                trust(worst)
            )?;
        }
    }
    Ok(())
}
