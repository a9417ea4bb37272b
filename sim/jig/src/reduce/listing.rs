//! Several parts, a line each: what they are, their values, what is odd.

use std::io::Write;
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};

use jigwise_bench::shell::BAD_INPUT;
use jigwise_bench::words::fixture_key;
use jigwise_quantity::fixed;
use jigwise_reduce::{COVERAGE_FACTOR, Findings, each_on_all_cores, model_key, value_words};
use serde::Serialize;

use super::folder::{Naming, Reports};
use super::inputs::{Gathered, Inputs};
use super::values::ValuesJson;
use super::{CommandLine, Prepared, Reduce, write_notes};
use crate::CommandError;
use crate::json::{Document, Warning, write_json};
use crate::table::Table;
use jigwise_bench::shell::Progress;

/// One part of the list.
struct Entry {
    file: String,
    fixture: &'static str,
    /// What the sweep says of it, or why it says nothing.
    found: Result<Findings, String>,
    remarks: Vec<String>,
    /// True where the file could not be used at all.
    is_refused: bool,
}

/// Lists the parts; a file that can't be used gets its line too, and the exit code tells.
pub(super) fn run(
    given: &Reduce,
    line: &CommandLine,
    gathered: &Gathered,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<ExitCode, CommandError> {
    if !given.at.is_empty() && given.out.is_none() {
        return Err(CommandError::Usage(
            "--at asks for a point of one part, and there are several, of which the list has the \
             values; name one file, or write reports with --out"
                .to_owned(),
        ));
    }
    let reports = match &given.out {
        Some(folder) => Some(prepared_reports(given, folder, gathered)?),
        None => None,
    };
    let mut entries = entries(given, &gathered.parts);
    for (file, error) in &gathered.refused {
        entries.push(Entry::refused(file.clone(), given, error));
    }
    entries.sort_by(|a, b| a.file.cmp(&b.file));
    if given.json {
        let files = entries.iter().map(|entry| entry.file.clone()).collect();
        let notes = gathered.notes.iter().map(|text| Warning {
            file: None,
            text: text.clone(),
        });
        let body = ListJson {
            parts: entries.iter().map(PartJson::of).collect(),
        };
        let document = Document::new("reduce", body)
            .read(files)
            .warned(notes.collect());
        write_json(&document, out)?;
    } else if given.csv {
        write_csv(&entries, out)?;
    } else {
        write_table(&entries, out)?;
    }
    out.flush()?;
    write_notes(&gathered.notes, err)?;
    if let Some((parts, reports)) = reports {
        reports.write(given, line, &parts, err)?;
    }
    let is_refused = entries.iter().any(|entry| entry.is_refused);
    Ok(if is_refused {
        ExitCode::from(BAD_INPUT)
    } else {
        ExitCode::SUCCESS
    })
}

/// The reports of all parts, of which none may be refused.
fn prepared_reports<'a>(
    given: &Reduce,
    folder: &std::path::Path,
    gathered: &'a Gathered,
) -> Result<(Vec<Prepared<'a>>, Reports), CommandError> {
    if let Some((file, error)) = gathered.refused.first() {
        return Err(CommandError::InFile {
            file: file.clone(),
            message: format!("{error}; no report was written of any part"),
        });
    }
    let parts = gathered
        .parts
        .iter()
        .map(|inputs| {
            let part = Prepared::new(inputs)?;
            part.check_within(&given.at)?;
            Ok(part)
        })
        .collect::<Result<Vec<_>, CommandError>>()?;
    let reports = Reports::begin(given, folder, Naming::Stems, &parts)?;
    Ok((parts, reports))
}

/// Every part's entry, on all cores: fitting a circuit is the work, and it takes one each.
fn entries(given: &Reduce, parts: &[Inputs]) -> Vec<Entry> {
    let progress = Progress::new("looking at the parts");
    let done = AtomicUsize::new(0);
    each_on_all_cores(parts, |inputs| {
        let entry = Entry::of(given, inputs);
        let done = 1 + done.fetch_add(1, Ordering::Relaxed);
        progress.at(done as f64 / parts.len() as f64);
        entry
    })
}

impl Entry {
    fn of(given: &Reduce, inputs: &Inputs) -> Self {
        let file = inputs.title();
        let part = match Prepared::new(inputs) {
            Ok(part) => part,
            Err(error) => return Self::refused(file, given, &error),
        };
        let fixture = fixture_key(inputs.fixtures[0]);
        Self {
            found: part
                .findings(given.wanted())
                .map_err(|error| without(&error.to_string(), &file)),
            remarks: part.remarks().into_iter().map(|(_, said)| said).collect(),
            file,
            fixture,
            is_refused: false,
        }
    }

    fn refused(file: String, given: &Reduce, error: &CommandError) -> Self {
        Self {
            found: Err(without(&error.to_string(), &file)),
            remarks: Vec::new(),
            fixture: fixture_key(given.fixture[0].into()),
            file,
            is_refused: true,
        }
    }

    /// What the part is, in a word.
    fn kind(&self) -> &'static str {
        match &self.found {
            Ok(found) => found
                .values()
                .map_or("no circuit", |(model, _)| model_key(model)),
            Err(_) if self.is_refused => "not read",
            Err(_) => "no values",
        }
    }

    /// Its values with their ±, or why there are none.
    fn values(&self) -> String {
        let found = match &self.found {
            Ok(found) => found,
            Err(why) => return why.clone(),
        };
        let Some((_, extracted)) = found.values() else {
            return found.why.clone();
        };
        let mut said = Vec::new();
        for value in extracted.distinct() {
            let words = value_words(value, found.has_budget);
            said.push(format!("{} {words}", value.quantity.symbol()));
        }
        said.join("; ")
    }
}

/// A refusal without the name of the file, which stands before it in the line.
fn without(said: &str, file: &str) -> String {
    let rest = said.strip_prefix(file).unwrap_or(said);
    rest.trim_start_matches([':', ',', ' ']).to_owned()
}

fn write_table(entries: &[Entry], out: &mut dyn Write) -> Result<(), CommandError> {
    let mut table = Table::of_text(vec![
        "File".into(),
        "Kind".into(),
        "Values".into(),
        "Remarks".into(),
    ]);
    for entry in entries {
        table.push(vec![
            entry.file.clone(),
            entry.kind().to_owned(),
            entry.values(),
            match entry.remarks.len() {
                0 => "–".to_owned(),
                1 => "1".to_owned(),
                many => many.to_string(),
            },
        ]);
    }
    table.write(out)?;
    let has_budget = entries
        .iter()
        .any(|entry| entry.found.as_ref().is_ok_and(|found| found.has_budget));
    writeln!(
        out,
        "±: k = {}, about 95 %{}",
        fixed(COVERAGE_FACTOR, 0),
        if has_budget {
            ""
        } else {
            ", from the scatter of the readings alone; name the --instrument for all of it"
        }
    )?;
    for entry in entries {
        for remark in &entry.remarks {
            writeln!(out, "{}: {remark}", entry.file)?;
        }
    }
    Ok(())
}

/// Comma-separated values: a column for each quantity that any of the parts has.
fn write_csv(entries: &[Entry], out: &mut dyn Write) -> Result<(), CommandError> {
    let values_of = |entry: &Entry| -> Vec<(String, f64, f64)> {
        let found = entry.found.as_ref().ok().and_then(Findings::values);
        found.map_or(Vec::new(), |(_, extracted)| {
            let each = extracted.distinct();
            each.map(|value| (column(value), value.value, value.u))
                .collect()
        })
    };
    let mut columns: Vec<String> = Vec::new();
    for (name, ..) in entries.iter().flat_map(values_of) {
        if !columns.contains(&name) {
            columns.push(name);
        }
    }
    let mut csv = csv::Writer::from_writer(out);
    let mut heading = vec!["file".to_owned(), "fixture".to_owned(), "kind".to_owned()];
    for name in &columns {
        heading.extend([name.clone(), format!("u_{name}")]);
    }
    heading.extend(["why".to_owned(), "warnings".to_owned()]);
    csv.write_record(&heading)?;
    for entry in entries {
        let own = values_of(entry);
        let mut record = vec![
            entry.file.clone(),
            entry.fixture.to_owned(),
            entry.kind().to_owned(),
        ];
        for name in &columns {
            let found = own.iter().find(|(known, ..)| known == name);
            let (value, u) = found.map_or(Default::default(), |(_, value, u)| {
                (value.to_string(), u.to_string())
            });
            record.extend([value, u]);
        }
        record.push(match &entry.found {
            Ok(found) => found.why.clone(),
            Err(why) => why.clone(),
        });
        record.push(entry.remarks.join(" | "));
        csv.write_record(&record)?;
    }
    csv.flush()?;
    Ok(())
}

/// The heading of a quantity, with its unit: `l_h`, `esr_ohm`, `q`.
fn column(value: &jigwise_physics::Value) -> String {
    let unit = match value.quantity.unit() {
        "Ω" => "ohm".to_owned(),
        unit => unit.to_lowercase(),
    };
    let symbol = value
        .quantity
        .symbol()
        .to_lowercase()
        .replace([' ', '-'], "_");
    match unit.as_str() {
        "" => symbol,
        unit => format!("{symbol}_{unit}"),
    }
}

#[derive(Serialize)]
struct ListJson {
    parts: Vec<PartJson>,
}

#[derive(Serialize)]
struct PartJson {
    file: String,
    fixture: &'static str,
    kind: &'static str,
    values: Option<ValuesJson>,
    /// Why there are none.
    #[serde(skip_serializing_if = "Option::is_none")]
    refused: Option<String>,
    warnings: Vec<String>,
}

impl PartJson {
    fn of(entry: &Entry) -> Self {
        Self {
            file: entry.file.clone(),
            fixture: entry.fixture,
            kind: entry.kind(),
            values: entry.found.as_ref().ok().map(ValuesJson::of),
            refused: entry.found.as_ref().err().cloned(),
            warnings: entry.remarks.clone(),
        }
    }
}
