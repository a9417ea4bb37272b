//! A table of a scenario file as keys with places, so that every refusal names its line.

use std::collections::BTreeMap;
use std::fmt;

use serde::Deserialize;
use serde::de::{self, Deserializer, MapAccess, SeqAccess, Visitor};
use toml::Spanned;

use super::error::{Place, ScenarioError, nearest};
use super::typed::Typed;
use jigwise_quantity::{Unit, parse_value};

/// What stands behind a key: one value, a list of them, yes or no, a table.
enum Entry {
    One(Typed),
    List(Vec<Spanned<Typed>>),
    Flag(bool),
    Table(RawTable),
}

impl<'de> Deserialize<'de> for Entry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct EntryVisitor;
        impl<'de> Visitor<'de> for EntryVisitor {
            type Value = Entry;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a value such as \"4.7k\", or a list of them")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Entry, E> {
                Ok(Entry::One(Typed(text.to_owned())))
            }

            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Entry, E> {
                Ok(Entry::One(Typed(value.to_string())))
            }

            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Entry, E> {
                Ok(Entry::One(Typed(format!("{value:?}"))))
            }

            fn visit_bool<E: de::Error>(self, value: bool) -> Result<Entry, E> {
                Ok(Entry::Flag(value))
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Entry, A::Error> {
                let mut values = Vec::new();
                while let Some(value) = list.next_element()? {
                    values.push(value);
                }
                Ok(Entry::List(values))
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Entry, A::Error> {
                let mut table = BTreeMap::new();
                while let Some((key, value)) = map.next_entry()? {
                    table.insert(key, value);
                }
                Ok(Entry::Table(RawTable(table)))
            }
        }
        deserializer.deserialize_any(EntryVisitor)
    }
}

/// The keys and values of one table, as read.
#[derive(Deserialize)]
pub struct RawTable(BTreeMap<Spanned<String>, Spanned<Entry>>);

/// A table whose keys are all known.
pub struct Keyed<'a> {
    place: &'a Place<'a>,
    name: &'a str,
    start: usize,
    table: &'a RawTable,
}

impl<'a> Keyed<'a> {
    /// # Errors
    /// [`ScenarioError::is_unknown_key`] for a key outside `known`.
    pub fn new(
        place: &'a Place<'a>,
        name: &'a str,
        table: &'a Spanned<RawTable>,
        known: &[&str],
    ) -> Result<Self, ScenarioError> {
        Self::at(place, name, table.span().start, table.get_ref(), known)
    }

    /// A table given apart from its place.
    ///
    /// # Errors
    /// As [`Keyed::new`].
    pub fn at(
        place: &'a Place<'a>,
        name: &'a str,
        start: usize,
        table: &'a RawTable,
        known: &[&str],
    ) -> Result<Self, ScenarioError> {
        let keyed = Self {
            place,
            name,
            start,
            table,
        };
        match keyed
            .table
            .0
            .keys()
            .find(|key| !known.contains(&key.get_ref().as_str()))
        {
            None => Ok(keyed),
            Some(key) => Err(keyed.unknown(key, known)),
        }
    }

    fn unknown(&self, key: &Spanned<String>, known: &[&str]) -> ScenarioError {
        let hint = match nearest(key.get_ref(), known) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => format!("known here: {}", known.join(", ")),
        };
        ScenarioError::unknown_key_at(
            self.place,
            key.span().start,
            format!("\"{}\" is no key of [{}]; {hint}", key.get_ref(), self.name),
        )
    }

    fn entry(&self, key: &str) -> Option<(usize, &Entry)> {
        self.table
            .0
            .iter()
            .find(|(name, _)| name.get_ref() == key)
            .map(|(_, value)| (value.span().start, value.get_ref()))
    }

    /// The table behind a key, called `name` in errors.
    pub fn table(
        &self,
        key: &str,
        name: &'a str,
        known: &[&str],
    ) -> Result<Option<Keyed<'a>>, ScenarioError> {
        let found = self.table.0.iter().find(|(k, _)| k.get_ref() == key);
        match found.map(|(_, value)| (value.span().start, value.get_ref())) {
            None => Ok(None),
            Some((start, Entry::Table(table))) => {
                Self::at(self.place, name, start, table, known).map(Some)
            }
            Some(_) => Err(self.error(key, format!("{key} is no table; write it as [{name}]"))),
        }
    }

    /// True where the table has the key.
    pub fn has(&self, key: &str) -> bool {
        self.entry(key).is_some()
    }

    /// The first key outside `these`, and where its value is.
    pub fn other_than(&self, these: &[&str]) -> Option<(&str, usize)> {
        self.table
            .0
            .iter()
            .find(|(key, _)| !these.contains(&key.get_ref().as_str()))
            .map(|(key, value)| (key.get_ref().as_str(), value.span().start))
    }

    /// An error at the value of a key, or at the table where it is not given.
    pub fn error(&self, key: &str, message: impl Into<String>) -> ScenarioError {
        let offset = self.entry(key).map_or(self.start, |(offset, _)| offset);
        ScenarioError::at(self.place, Some(offset), message.into())
    }

    /// The text of a key, as typed.
    pub fn text(&self, key: &str) -> Result<Option<&str>, ScenarioError> {
        match self.entry(key) {
            None => Ok(None),
            Some((_, Entry::One(Typed(text)))) => Ok(Some(text)),
            Some(_) => Err(self.error(key, format!("{key} is no single value; give one"))),
        }
    }

    /// One of the words of `choices`.
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
        let hint = nearest(text, &words)
            .map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
        Err(self.error(
            key,
            format!(
                "{key} is \"{text}\", expected one of {}{hint}",
                words.join(", ")
            ),
        ))
    }

    /// Yes or no; no where the key is missing.
    pub fn flag(&self, key: &str) -> Result<bool, ScenarioError> {
        match self.entry(key) {
            None => Ok(false),
            Some((_, Entry::Flag(value))) => Ok(*value),
            Some(_) => Err(self.error(key, format!("{key} is neither true nor false"))),
        }
    }

    /// A number in `unit`.
    pub fn value(&self, key: &str, unit: Unit) -> Result<Option<f64>, ScenarioError> {
        let Some(text) = self.text(key)? else {
            return Ok(None);
        };
        parse_value(text, unit)
            .map(Some)
            .map_err(|error| self.error(key, format!("{key}: {error}")))
    }

    /// A number in `unit`, above zero.
    pub fn positive(&self, key: &str, unit: Unit) -> Result<Option<f64>, ScenarioError> {
        let value = self.value(key, unit)?;
        match value.filter(|number| *number <= 0.0) {
            None => Ok(value),
            Some(_) => Err(self.error(
                key,
                format!(
                    "{key} is \"{}\", expected a {} above zero",
                    self.text(key)?.unwrap_or_default(),
                    unit.quantity()
                ),
            )),
        }
    }

    /// A number in `unit`, zero or more; zero where the key is missing.
    pub fn not_negative(&self, key: &str, unit: Unit) -> Result<f64, ScenarioError> {
        let value = self.value(key, unit)?.unwrap_or(0.0);
        if value >= 0.0 {
            return Ok(value);
        }
        Err(self.error(
            key,
            format!(
                "{key} is \"{}\", expected a {} of zero or more",
                self.text(key)?.unwrap_or_default(),
                unit.quantity()
            ),
        ))
    }

    /// A whole number from `least`.
    pub fn count(&self, key: &str, least: u64) -> Result<Option<u64>, ScenarioError> {
        let Some(text) = self.text(key)? else {
            return Ok(None);
        };
        match text.parse::<u64>() {
            Ok(count) if count >= least => Ok(Some(count)),
            _ => Err(self.error(
                key,
                format!("{key} is {text}, expected a whole number from {least}"),
            )),
        }
    }

    /// The words of a list, none where the key is missing; a single word is a list of one.
    pub fn words(&self, key: &str) -> Result<Vec<(usize, &str)>, ScenarioError> {
        match self.entry(key) {
            None => Ok(Vec::new()),
            Some((offset, Entry::One(Typed(word)))) => Ok(vec![(offset, word.as_str())]),
            Some((_, Entry::List(list))) => Ok(list
                .iter()
                .map(|word| (word.span().start, word.get_ref().0.as_str()))
                .collect()),
            Some((_, Entry::Flag(_) | Entry::Table(_))) => Err(self.error(
                key,
                format!("{key} is neither a value nor a list; write for example {key} = [\"…\"]"),
            )),
        }
    }

    /// An error at a place of this table's file.
    pub fn error_at(&self, offset: usize, message: impl Into<String>) -> ScenarioError {
        ScenarioError::at(self.place, Some(offset), message.into())
    }
}
