//! The marks as a table for a spreadsheet.

use super::book::{Gradebook, Row};

/// What a spreadsheet takes for the beginning of a formula.
const FORMULA_SIGNS: [char; 8] = ['=', '+', '-', '@', '\t', '\r', '＝', '＋'];

/// A text that no spreadsheet works out: one that begins like a formula gets a quote before it.
pub(crate) fn harmless(text: &str) -> String {
    let text: String = text
        .chars()
        .map(|c| if c.is_control() && c != '\t' { ' ' } else { c })
        .collect();
    match text.trim_start_matches(' ').starts_with(FORMULA_SIGNS) {
        true => format!("'{text}"),
        false => text,
    }
}

impl Gradebook {
    /// The marks as comma-separated values in UTF-8, a line for each form, with the mark at the
    /// beginning by which spreadsheets know UTF-8.
    pub fn csv(&self) -> String {
        let head = [
            "group",
            "names",
            "form",
            "status",
            "handed in",
            "points",
            "out of",
            "percent",
        ];
        let questions = self.questions.iter().map(|(name, _)| name.as_str());
        let head = head
            .into_iter()
            .chain(questions)
            .chain(["slips", "remarks"]);
        let mut csv = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(vec![0xef, 0xbb, 0xbf]);
        // Writing to memory does not fail, and every line has the cells of the head.
        let _ = csv.write_record(head);
        for row in &self.rows {
            let _ = csv.write_record(self.cells(row));
        }
        let bytes = csv.into_inner().unwrap_or_default();
        String::from_utf8(bytes).unwrap_or_default()
    }

    fn cells(&self, row: &Row) -> Vec<String> {
        let has_marks = !row.marked.is_empty();
        let out_of = self.out_of();
        let percent = 100.0 * row.points() / f64::from(out_of.max(1));
        let number = |value: String| if has_marks { value } else { String::new() };
        let mut cells = vec![
            row.group.map_or(String::new(), |group| group.to_string()),
            harmless(&row.names),
            harmless(&row.form),
            row.status.word().to_owned(),
            harmless(&row.handed_in),
            number(format!("{}", row.points())),
            number(out_of.to_string()),
            number(format!("{percent:.0}")),
        ];
        for at in 0..self.questions.len() {
            let points = row.marked.get(at).map(|marked| marked.points);
            cells.push(points.map_or(String::new(), |points| points.to_string()));
        }
        let slips: Vec<String> = row
            .marked
            .iter()
            .filter_map(|marked| Some(format!("{}: {}", marked.name, marked.slip?)))
            .collect();
        cells.push(harmless(&slips.join("; ")));
        cells.push(harmless(&row.remarks.join("; ")));
        cells
    }
}
