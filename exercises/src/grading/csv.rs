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

/// A cell in quotes where it needs them (RFC 4180).
fn cell(text: &str) -> String {
    let text = harmless(text);
    match text.contains([',', '"', '\n', ';']) {
        true => format!("\"{}\"", text.replace('"', "\"\"")),
        false => text,
    }
}

impl Gradebook {
    /// The marks as comma-separated values in UTF-8, a line for each form, with the mark at the
    /// beginning by which spreadsheets know UTF-8.
    pub fn csv(&self) -> String {
        let mut out = String::from("\u{feff}group,names,form,status,handed in,points,out of,percent");
        for (name, _) in &self.questions {
            out.push_str(&format!(",{name}"));
        }
        out.push_str(",slips,remarks\r\n");
        for row in &self.rows {
            out.push_str(&self.line(row));
            out.push_str("\r\n");
        }
        out
    }

    fn line(&self, row: &Row) -> String {
        let has_marks = !row.marked.is_empty();
        let out_of = self.out_of();
        let percent = 100.0 * row.points() / f64::from(out_of.max(1));
        let number = |value: String| if has_marks { value } else { String::new() };
        let mut cells = vec![
            row.group.map_or(String::new(), |group| group.to_string()),
            cell(&row.names),
            cell(&row.form),
            row.status.word().to_owned(),
            cell(&row.handed_in),
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
        cells.push(cell(&slips.join("; ")));
        cells.push(cell(&row.remarks.join("; ")));
        cells.join(",")
    }
}
