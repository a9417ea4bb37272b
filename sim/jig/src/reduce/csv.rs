//! The points as comma-separated values.

use std::io::Write;

use jigwise_reduce::{Column, Columns, PartPoint, Value};

use super::Prepared;
use super::points::wanted;
use crate::CommandError;

pub(super) fn write_csv(
    part: &Prepared<'_>,
    at_hz: &[f64],
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let mut csv = CsvPoints::new(out, part.columns())?;
    wanted(&part.ensemble, at_hz, |point| csv.write(point))?;
    csv.finish()
}

/// Points as comma-separated values, one by one.
pub(super) struct CsvPoints<W: Write> {
    csv: csv::Writer<W>,
    columns: Columns,
}

impl<W: Write> CsvPoints<W> {
    pub(super) fn new(out: W, columns: Columns) -> Result<Self, CommandError> {
        let mut csv = csv::Writer::from_writer(out);
        csv.write_record(columns.all().flat_map(|column| column.csv))?;
        Ok(Self { csv, columns })
    }

    pub(super) fn write(&mut self, point: &PartPoint) -> Result<(), CommandError> {
        let cells: Vec<Cell> = self
            .columns
            .all()
            .flat_map(|column| cells(column, point))
            .collect();
        self.csv.serialize(cells)?;
        Ok(())
    }

    pub(super) fn finish(mut self) -> Result<(), CommandError> {
        self.csv.flush()?;
        Ok(())
    }
}

/// One cell; a number has the digits that give it back exactly.
#[derive(serde::Serialize)]
#[serde(untagged)]
enum Cell {
    Nothing(()),
    Number(f64),
    Word(&'static str),
    Text(String),
}

/// What a point has below the headings of a column.
fn cells(column: &Column, point: &PartPoint) -> Vec<Cell> {
    if column.csv.is_empty() {
        return Vec::new();
    }
    let values = match column.value(point) {
        Value::Record(values) => values,
        one => vec![one],
    };
    let mut cells: Vec<Cell> = values.into_iter().map(cell).collect();
    cells.resize_with(column.csv.len(), || Cell::Nothing(()));
    cells
}

fn cell(value: Value) -> Cell {
    match value {
        Value::Number(number) => Cell::Number(number),
        Value::Word(word) => Cell::Word(word),
        Value::Words(words) => Cell::Text(words.join(" ")),
        Value::Text(text) => Cell::Text(text),
        Value::Nothing | Value::Flag(_) | Value::Record(_) => Cell::Nothing(()),
    }
}
