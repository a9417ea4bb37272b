//! The text of a file taken apart into keys and values.

use toml::de::{DeTable, DeValue};

use super::error::{Place, ScenarioError};
use jigwise_quantity::excerpt;

/// The keys and values of a whole file, as read.
pub struct RawTable<'a>(pub(super) DeTable<'a>);

impl<'a> RawTable<'a> {
    /// Takes a file's text apart.
    ///
    /// # Errors
    /// [`ScenarioError`] with the line where the text is no TOML.
    pub fn parse(place: &Place<'a>) -> Result<Self, ScenarioError> {
        DeTable::parse(place.text)
            .map(|table| Self(table.into_inner()))
            .map_err(|error| not_toml(place, &error))
    }

    /// The texts that stand under a key of any table, one level down.
    pub fn texts_of<'b>(&'b self, key: &'b str) -> impl Iterator<Item = &'b str> {
        let tables = self.0.values().filter_map(|value| match value.get_ref() {
            DeValue::Table(table) => Some(table),
            _ => None,
        });
        tables.filter_map(move |table| table.get(key)?.get_ref().as_str())
    }

    /// Where in the text a table begins, by its path such as `calibration.open`.
    pub(super) fn start_of(&self, path: &str) -> Option<usize> {
        let mut table = &self.0;
        let mut start = None;
        for key in path.split('.') {
            let found = table.get(key)?;
            start = Some(found.span().start);
            table = match found.get_ref() {
                DeValue::Table(inner) => inner,
                _ => return None,
            };
        }
        start
    }
}

/// What is wrong with text that is no TOML, by its line. The parser's own words name its grammar,
/// which says little to somebody who wrote a file by hand.
fn not_toml(place: &Place<'_>, error: &toml::de::Error) -> ScenarioError {
    const MAX_LINE: usize = 60;
    let span = error.span().unwrap_or_else(|| {
        // Only a key of too many parts has no place of its own.
        let start = most_dotted_line(place.text);
        start..start
    });
    let message = if error.message().starts_with("duplicate key") {
        let key = place.text.get(span.clone()).unwrap_or_default();
        format!(
            "\"{}\" is given twice; keep one of the two",
            excerpt(key.trim(), MAX_LINE)
        )
    } else {
        format!(
            "\"{}\" is no TOML; expected a line such as key = \"value\", or a [table]",
            excerpt(place.line_text(span.start).trim(), MAX_LINE)
        )
    };
    ScenarioError::at(place, Some(span.start), message)
}

fn most_dotted_line(text: &str) -> usize {
    let mut start = 0;
    let mut most = (0, 0);
    for line in text.split_inclusive('\n') {
        let dots = line.matches('.').count();
        if dots > most.0 {
            most = (dots, start);
        }
        start += line.len();
    }
    most.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_that_is_no_toml_is_told_in_our_words() {
        let nested = format!("a = {}", "[".repeat(100));
        let dotted = format!("version = 1\n{} = 1\n", ["a"; 100].join("."));
        for (text, line, words) in [
            (
                "version = 1\nkey\n",
                2,
                "\"key\" is no TOML; expected a line such as key =",
            ),
            (
                "version = 1\r[device]\n",
                1,
                "\"version = 1\u{fffd}[device]\" is no TOML",
            ),
            (
                "a = 1\nb = \u{1b}[31m\n",
                2,
                "\"b = \u{fffd}[31m\" is no TOML",
            ),
            ("a = 1\n[b]\nc = 1\nc = 2\n", 4, "\"c\" is given twice"),
            ("[device]\n[device]\n", 2, "\"device\" is given twice"),
            (&nested, 1, "\"a = [[["),
            (&dotted, 2, "\"a.a.a"),
        ] {
            let place = Place {
                file: "bench.toml",
                text,
            };
            let error = RawTable::parse(&place).err().unwrap();
            assert_eq!(error.line(), Some(line), "{error}");
            let message = error.to_string();
            assert!(message.contains(words), "{message}");
            assert!(message.chars().count() < 160, "{message}");
        }
    }
}
