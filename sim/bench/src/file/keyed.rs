//! A table of a file as keys with places, so that every refusal names its line.

use std::borrow::Cow;
use std::fmt;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::{Place, ScenarioError};
use super::hint::{expected_one_of, hint};
use super::raw::RawTable;
use super::single::{kind, typed};
use jigwise_quantity::{
    MAX_QUOTED, Unit, ValueError, above_zero, check_unit_written, excerpt, parse_count,
    parse_value, zero_or_more,
};

/// The words of a list, each with its offset in the file.
pub type Words<'a> = Vec<(usize, Cow<'a, str>)>;

/// A table whose keys are all known.
pub struct Keyed<'a> {
    place: &'a Place<'a>,
    name: String,
    start: usize,
    table: &'a DeTable<'a>,
}

impl<'a> Keyed<'a> {
    /// A whole file of version 1, called `name` in errors. With `known`, it has no other keys.
    ///
    /// # Errors
    /// [`ScenarioError`] for a missing or another version, and [`ScenarioError::is_unknown_key`]
    /// for a key outside `known`.
    pub fn document(
        place: &'a Place<'a>,
        raw: &'a RawTable<'a>,
        name: &str,
        known: Option<&[&str]>,
    ) -> Result<Self, ScenarioError> {
        let document = Self {
            place,
            name: name.to_owned(),
            start: 0,
            table: &raw.0,
        };
        // Another version may have other keys, so it is looked at first; but a key that is
        // misspelt may be the version.
        let version = document.text("version")?;
        if let Some(other) = version.as_deref().filter(|version| *version != "1") {
            let remedy = match other.parse::<u128>() {
                Ok(newer) if newer > 1 => "a newer Jigwise may read it",
                _ => "write version = 1",
            };
            let other = excerpt(other, MAX_QUOTED);
            return Err(document.error(
                "version",
                format!("version is {other}, expected 1; {remedy}"),
            ));
        }
        if let Some(known) = known {
            document.check_keys(known)?;
        }
        match version {
            Some(_) => Ok(document),
            None => Err(document.error(
                "version",
                format!("\"version\" is missing; {name} begins with version = 1"),
            )),
        }
    }

    /// The table behind `key` in text of no version, called `name` in errors.
    ///
    /// # Errors
    /// [`ScenarioError`] where there is no such table.
    pub fn alone(
        place: &'a Place<'a>,
        raw: &'a RawTable<'a>,
        name: String,
        key: &str,
    ) -> Result<Self, ScenarioError> {
        let whole = Self {
            place,
            name: name.clone(),
            start: 0,
            table: &raw.0,
        };
        let found = whole.entry(key).and_then(|found| whole.inner(found, name));
        found.ok_or_else(|| whole.error(key, format!("{key} is no table; write it as [{key}]")))
    }

    /// Refuses a key outside `known`.
    ///
    /// # Errors
    /// [`ScenarioError::is_unknown_key`].
    pub fn check_keys(&self, known: &[&str]) -> Result<(), ScenarioError> {
        let unknown = self
            .table
            .keys()
            .find(|key| !known.contains(&key.get_ref().as_ref()));
        match unknown {
            None => Ok(()),
            Some(key) => Err(ScenarioError::unknown_key_at(
                self.place,
                key.span().start,
                format!(
                    "\"{}\" is no key of {}{}",
                    excerpt(key.get_ref(), MAX_QUOTED),
                    self.name,
                    hint(key.get_ref(), known)
                ),
            )),
        }
    }

    fn entry(&self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.table.get(key)
    }

    /// The table behind a key, `path` in the file.
    ///
    /// # Errors
    /// [`ScenarioError`] for a value that is no table, [`ScenarioError::is_unknown_key`] for a key
    /// outside `known`.
    pub fn table(
        &self,
        key: &str,
        path: &str,
        known: &[&str],
    ) -> Result<Option<Keyed<'a>>, ScenarioError> {
        let keyed = self.any_table(key, path)?;
        if let Some(keyed) = &keyed {
            keyed.check_keys(known)?;
        }
        Ok(keyed)
    }

    /// The table behind a key, `path` in the file, with whatever keys it has.
    ///
    /// # Errors
    /// [`ScenarioError`] for a value that is no table.
    pub fn any_table(&self, key: &str, path: &str) -> Result<Option<Keyed<'a>>, ScenarioError> {
        let Some(found) = self.entry(key) else {
            return Ok(None);
        };
        match self.inner(found, format!("[{path}]")) {
            Some(keyed) => Ok(Some(keyed)),
            None => Err(self.error(key, format!("{key} is no table; write it as [{path}]"))),
        }
    }

    /// The tables of a list that a file writes as `[[path]]`; none where the key is not given.
    ///
    /// # Errors
    /// [`ScenarioError`] for a value that is no list of tables, and
    /// [`ScenarioError::is_unknown_key`] for a key of one of them outside `known`.
    pub fn tables(
        &self,
        key: &str,
        path: &str,
        known: &[&str],
    ) -> Result<Vec<Keyed<'a>>, ScenarioError> {
        let tables = self.any_tables(key, path)?;
        for table in &tables {
            table.check_keys(known)?;
        }
        Ok(tables)
    }

    /// The same with whatever keys each of them has.
    ///
    /// # Errors
    /// [`ScenarioError`] for a value that is no list of tables.
    pub fn any_tables(&self, key: &str, path: &str) -> Result<Vec<Keyed<'a>>, ScenarioError> {
        let list = match self.entry(key).map(Spanned::get_ref) {
            None => return Ok(Vec::new()),
            Some(DeValue::Array(list)) => Some(list),
            Some(_) => None,
        };
        let name = || format!("[[{path}]]");
        let tables: Option<Vec<_>> =
            list.and_then(|list| list.iter().map(|each| self.inner(each, name())).collect());
        let Some(tables) = tables else {
            let message = format!("{key} is no list of tables; write each as {}", name());
            return Err(self.error(key, message));
        };
        Ok(tables)
    }

    /// A value as a table called `name` in errors; `None` where it is none.
    fn inner(&self, value: &'a Spanned<DeValue<'a>>, name: String) -> Option<Keyed<'a>> {
        let DeValue::Table(table) = value.get_ref() else {
            return None;
        };
        Some(Keyed {
            place: self.place,
            name,
            start: value.span().start,
            table,
        })
    }

    /// An error about the table as a whole, at its first line.
    pub fn missing(&self, message: String) -> ScenarioError {
        self.error_at(self.start, message)
    }

    /// The same table called `name` in errors, which tells a missing key at the place of `key`.
    pub fn named(self, name: String, key: &str) -> Self {
        let start = self
            .entry(key)
            .map_or(self.start, |value| value.span().start);
        Self {
            name,
            start,
            ..self
        }
    }

    /// True where the table has the key.
    pub fn has(&self, key: &str) -> bool {
        self.entry(key).is_some()
    }

    /// True where a key has a number and no text.
    pub fn is_number(&self, key: &str) -> bool {
        matches!(
            self.entry(key).map(Spanned::get_ref),
            Some(DeValue::Integer(_) | DeValue::Float(_))
        )
    }

    /// The first key outside `these`, and where its value is.
    pub fn other_than(&self, these: &[&str]) -> Option<(&'a str, usize)> {
        self.table
            .iter()
            .find(|(key, _)| !these.contains(&key.get_ref().as_ref()))
            .map(|(key, value)| (key.get_ref().as_ref(), value.span().start))
    }

    /// An error at the value of a key, or at the table where it is not given.
    pub fn error(&self, key: &str, message: impl Into<String>) -> ScenarioError {
        let offset = self
            .entry(key)
            .map_or(self.start, |value| value.span().start);
        self.error_at(offset, message)
    }

    /// An error at a place of this table's file.
    pub fn error_at(&self, offset: usize, message: impl Into<String>) -> ScenarioError {
        ScenarioError::at(self.place, Some(offset), message)
    }

    /// What is behind a key that must be there.
    ///
    /// # Errors
    /// [`ScenarioError`] with the `example` where it is not.
    pub fn needed<T>(
        &self,
        key: &str,
        example: &str,
        found: Option<T>,
    ) -> Result<T, ScenarioError> {
        found.ok_or_else(|| {
            self.error(
                key,
                format!(
                    "{} needs {key}; add for example {key} = \"{example}\"",
                    self.name
                ),
            )
            .for_lack_of_a_key()
        })
    }

    /// The text of a key as typed, or a number as text.
    ///
    /// # Errors
    /// [`ScenarioError`] for a list, a table, a date, or yes or no.
    pub fn text(&self, key: &str) -> Result<Option<Cow<'a, str>>, ScenarioError> {
        let Some(found) = self.entry(key) else {
            return Ok(None);
        };
        match typed(found.get_ref()) {
            Some(text) => Ok(Some(text)),
            None => Err(self.error(
                key,
                format!(
                    "{key} is {} ({}), expected a single value; write for example {key} = \"…\"",
                    kind(found.get_ref()),
                    self.source_of(found)
                ),
            )),
        }
    }

    /// What `read` makes of the text of a key.
    ///
    /// # Errors
    /// [`ScenarioError`] with the error of `read` after the key.
    pub fn read<T, E: fmt::Display>(
        &self,
        key: &str,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Result<Option<T>, ScenarioError> {
        self.text(key)?
            .map(|text| read(&text).map_err(|error| self.error(key, format!("{key}: {error}"))))
            .transpose()
    }

    /// One of the words of `choices`.
    ///
    /// # Errors
    /// [`ScenarioError`] for another word.
    pub fn choice<T: Copy>(
        &self,
        key: &str,
        choices: &[(&str, T)],
    ) -> Result<Option<T>, ScenarioError> {
        let Some(text) = self.text(key)? else {
            return Ok(None);
        };
        if let Some((_, value)) = choices.iter().find(|(word, _)| *word == text) {
            return Ok(Some(*value));
        }
        let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
        Err(self.error(
            key,
            format!(
                "{key} is \"{}\", {}",
                excerpt(&text, MAX_QUOTED),
                expected_one_of(&text, &words)
            ),
        ))
    }

    /// Yes or no.
    ///
    /// # Errors
    /// [`ScenarioError`] for what is neither true nor false.
    pub fn flag(&self, key: &str) -> Result<Option<bool>, ScenarioError> {
        match self.entry(key).map(|found| (found, found.get_ref())) {
            None => Ok(None),
            Some((_, DeValue::Boolean(value))) => Ok(Some(*value)),
            Some((found, _)) => Err(self.error(
                key,
                format!(
                    "{key} is {}, neither true nor false; write {key} = true or {key} = false",
                    self.source_of(found)
                ),
            )),
        }
    }

    /// A value as the file has it, for a message.
    fn source_of(&self, found: &Spanned<DeValue<'_>>) -> String {
        let source = self.place.text.get(found.span()).unwrap_or_default();
        excerpt(source, MAX_QUOTED)
    }

    /// What `read` makes of a number in `unit`. Text without a prefix and a unit is refused where
    /// one is likely meant; a number without quotes is in plain units.
    fn in_unit(
        &self,
        key: &str,
        unit: Unit,
        read: impl FnOnce(&str, Unit) -> Result<f64, ValueError>,
    ) -> Result<Option<f64>, ScenarioError> {
        let is_text = self.has(key) && !self.is_number(key);
        self.read(key, |text| {
            let value = read(text, unit)?;
            if is_text {
                check_unit_written(text, unit)?;
            }
            Ok::<_, ValueError>(value)
        })
    }

    /// A number in `unit`.
    ///
    /// # Errors
    /// [`ScenarioError`] for text that is none.
    pub fn value(&self, key: &str, unit: Unit) -> Result<Option<f64>, ScenarioError> {
        self.in_unit(key, unit, parse_value)
    }

    /// A number in `unit`, above zero.
    ///
    /// # Errors
    /// [`ScenarioError`] for text that is none.
    pub fn positive(&self, key: &str, unit: Unit) -> Result<Option<f64>, ScenarioError> {
        self.in_unit(key, unit, above_zero)
    }

    /// A number in `unit`, above zero, behind a key that must be there.
    ///
    /// # Errors
    /// [`ScenarioError`] for text that is none, and where the key is missing.
    pub fn needed_positive(&self, key: &str, unit: Unit) -> Result<f64, ScenarioError> {
        self.needed(key, unit.example(), self.positive(key, unit)?)
    }

    /// A number in `unit`, zero or more.
    ///
    /// # Errors
    /// [`ScenarioError`] for text that is none.
    pub fn not_negative(&self, key: &str, unit: Unit) -> Result<Option<f64>, ScenarioError> {
        self.in_unit(key, unit, zero_or_more)
    }

    /// A whole number from `least` to `most`.
    ///
    /// # Errors
    /// [`ScenarioError`] for text that is none.
    pub fn count(&self, key: &str, least: u64, most: u64) -> Result<Option<u64>, ScenarioError> {
        self.read(key, |text| parse_count(text, least, most))
    }

    /// The words of a list with their places; a single word is a list of one.
    ///
    /// # Errors
    /// [`ScenarioError`] for a table, and for a list of anything but values.
    pub fn words(&self, key: &str) -> Result<Option<Words<'a>>, ScenarioError> {
        let Some(found) = self.entry(key) else {
            return Ok(None);
        };
        let one = |value: &'a Spanned<DeValue<'a>>| {
            let offset = value.span().start;
            let text = typed(value.get_ref()).ok_or_else(|| {
                let is = match found.get_ref() {
                    DeValue::Array(_) => "has an entry that is no value,",
                    _ => "is neither a value nor a list,",
                };
                self.error_at(
                    offset,
                    format!(
                        "{key} {is} but {} ({}); write for example {key} = [\"…\"]",
                        kind(value.get_ref()),
                        self.source_of(value)
                    ),
                )
            })?;
            Ok((offset, text))
        };
        match found.get_ref() {
            DeValue::Array(list) => list.iter().map(one).collect::<Result<_, _>>().map(Some),
            _ => Ok(Some(vec![one(found)?])),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_of_tables_is_read_and_refused_by_its_lines() {
        let lengths = |text: &str| -> Result<Vec<f64>, ScenarioError> {
            let place = Place {
                file: "lines.toml",
                text,
            };
            let raw = RawTable::parse(&place)?;
            let file = Keyed::document(&place, &raw, "a file", Some(&["version", "line"]))?;
            let lines = file.tables("line", "line", &["length"])?;
            lines
                .iter()
                .map(|line| line.needed_positive("length", Unit::Metre))
                .collect()
        };
        let two = "version = 1\n[[line]]\nlength = 1\n[[line]]\nlength = 2\n";
        assert_eq!(lengths(two), Ok(vec![1.0, 2.0]));
        assert_eq!(lengths("version = 1\n"), Ok(Vec::new()));
        for (text, line, words) in [
            (two.replace("= 2", "= 0"), 5, "above zero"),
            (two.replace("length = 2", ""), 4, "[[line]] needs length"),
            (
                two.replace("length = 2", "lenght = 2"),
                5,
                "no key of [[line]]; did you mean",
            ),
            (
                "version = 1\n[line]\n".to_owned(),
                2,
                "write each as [[line]]",
            ),
            (
                "version = 1\nline = [1]\n".to_owned(),
                2,
                "write each as [[line]]",
            ),
        ] {
            let error = lengths(&text).unwrap_err();
            assert_eq!(error.line(), Some(line), "{error}");
            assert!(error.to_string().contains(words), "{error}");
        }
    }
}
