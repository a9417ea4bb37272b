//! The points as comma-separated values.

use std::io::{BufWriter, Write};

use jigwise_reduce::{Column, Columns, PartPoint, Value};

use super::Prepared;
use super::points::wanted_as;
use crate::CommandError;

pub(super) fn write_csv(
    part: &Prepared<'_>,
    at_hz: &[f64],
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    let columns = part.columns();
    let mut csv = CsvPoints::new(out, columns)?;
    wanted_as(
        &part.ensemble,
        at_hz,
        |point| row(columns, &point),
        |row| {
            let row = row
                .as_ref()
                .map_err(|error| std::io::Error::other(error.to_string()))?;
            csv.out.write_all(row)?;
            Ok::<_, CommandError>(())
        },
    )?;
    csv.finish()
}

/// Points as comma-separated values, one by one.
pub(super) struct CsvPoints<W: Write> {
    out: BufWriter<W>,
    columns: Columns,
}

impl<W: Write> CsvPoints<W> {
    pub(super) fn new(out: W, columns: Columns) -> Result<Self, CommandError> {
        let mut out = BufWriter::new(out);
        out.write_all(&record(columns.all().flat_map(|column| column.csv))?)?;
        Ok(Self { out, columns })
    }

    pub(super) fn write(&mut self, point: &PartPoint) -> Result<(), CommandError> {
        self.out.write_all(&row(self.columns, point)?)?;
        Ok(())
    }

    pub(super) fn finish(mut self) -> Result<(), CommandError> {
        self.out.flush()?;
        Ok(())
    }
}

/// A point's line.
fn row(columns: Columns, point: &PartPoint) -> Result<Vec<u8>, csv::Error> {
    record(columns.all().flat_map(|column| cells(column, point)))
}

fn record<T: serde::Serialize>(cells: impl Iterator<Item = T>) -> Result<Vec<u8>, csv::Error> {
    let mut line = csv::WriterBuilder::new()
        .buffer_capacity(ROOM_OF_A_LINE)
        .from_writer(Vec::with_capacity(ROOM_OF_A_LINE));
    line.serialize(cells.collect::<Vec<_>>())?;
    line.into_inner().map_err(|error| error.into_error().into())
}

/// Bytes that a line of a part with an instrument takes, about.
const ROOM_OF_A_LINE: usize = 512;

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
