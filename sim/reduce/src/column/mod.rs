//! The columns of a table of points: one list that the text table, JSON, comma-separated values
//! and the report's page all read.

mod table;

use jigwise_quantity::{engineering, fixed};

use crate::PartPoint;

use self::table::{
    AGREEMENT, AS_A_PART, FIXTURE, FREQUENCY, IDENTITY_MISS, KNOWN, MAGNITUDE, OF_EVERY_POINT,
    PHASE, REACTANCE, RESISTANCE, SEVERAL, TRUST, U_REACTANCE, U_RESISTANCE,
};

/// What a point has in a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// The point has no such value.
    Nothing,
    /// Yes or no.
    Flag(bool),
    /// A number in the column's unit.
    Number(f64),
    /// A word of a fixed list.
    Word(&'static str),
    /// Several of them.
    Words(Vec<&'static str>),
    /// A sentence.
    Text(String),
    /// One value for each of [`Column::fields`].
    Record(Vec<Value>),
}

impl From<Option<f64>> for Value {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::Nothing, Self::Number)
    }
}

/// Where a column is shown to people.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// The table of the text command, with a little more room for digits.
    Terminal,
    /// The table of a report's page.
    Page,
}

/// How a column is shown to people.
#[derive(Debug, Clone, Copy)]
pub struct Shown {
    /// Its heading on the terminal, and on the page.
    titles: [&'static str; 2],
    /// Digits of its numbers, likewise: significant ones with a prefix, decimals without.
    digits: [usize; 2],
    /// True where it holds words, which stand to the left.
    pub is_words: bool,
    /// Its text, where that is more than the number with its unit.
    text: Option<fn(&PartPoint, View) -> String>,
}

impl Shown {
    const fn number(titles: [&'static str; 2], digits: [usize; 2]) -> Option<Self> {
        Some(Self {
            titles,
            digits,
            is_words: false,
            text: None,
        })
    }

    const fn text(
        titles: [&'static str; 2],
        is_words: bool,
        text: fn(&PartPoint, View) -> String,
    ) -> Option<Self> {
        Some(Self {
            titles,
            digits: [0, 0],
            is_words,
            text: Some(text),
        })
    }

    /// The heading.
    pub const fn title(&self, view: View) -> &'static str {
        self.titles[view as usize]
    }
}

/// One column.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Its key in JSON.
    pub key: &'static str,
    /// The keys inside it in JSON, where its value is a [`Value::Record`].
    pub fields: &'static [&'static str],
    /// Its headings in comma-separated values, one for each field; empty where it is left out.
    pub csv: &'static [&'static str],
    /// The unit of its numbers.
    pub unit: &'static str,
    /// How people see it, where they do.
    pub shown: Option<Shown>,
    value: fn(&PartPoint) -> Value,
}

impl Column {
    /// A number with one key for JSON and comma-separated values.
    const fn number(
        key: &'static [&'static str; 1],
        unit: &'static str,
        shown: Option<Shown>,
        value: fn(&PartPoint) -> Value,
    ) -> Self {
        Self {
            key: key[0],
            fields: &[],
            csv: key,
            unit,
            shown,
            value,
        }
    }

    /// What a point has in it.
    pub fn value(&self, point: &PartPoint) -> Value {
        (self.value)(point)
    }

    /// What a point has in it, as people read it.
    pub fn text(&self, point: &PartPoint, view: View) -> String {
        let shown = self.shown.as_ref();
        if let Some(text) = shown.and_then(|shown| shown.text) {
            return text(point, view);
        }
        let digits = shown.map_or(0, |shown| shown.digits[view as usize]);
        match self.value(point) {
            Value::Number(number) => match self.unit {
                "" => fixed(number, digits),
                "°" => format!("{}°", fixed(number, digits)),
                unit => engineering(number, unit, digits),
            },
            Value::Word(word) => word.to_owned(),
            Value::Text(text) => text,
            _ => NOTHING.to_owned(),
        }
    }
}

/// What stands where there is no value.
const NOTHING: &str = "–";

/// Which columns a table of points has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Columns {
    /// True where an instrument is known, so that values have uncertainties.
    pub has_instrument: bool,
    /// True where the part was measured in several fixtures.
    pub is_several: bool,
}

impl Columns {
    /// The columns of JSON and of comma-separated values.
    pub fn all(self) -> impl Iterator<Item = &'static Column> {
        let known: &[Column] = if self.has_instrument { &KNOWN } else { &[] };
        let several: &[Column] = if self.is_several { &SEVERAL } else { &[] };
        OF_EVERY_POINT.iter().chain(known).chain(several)
    }

    /// The columns that people see, each with how.
    pub fn shown(self, view: View) -> impl Iterator<Item = (&'static Column, Shown)> {
        let mut columns = vec![&FREQUENCY, &RESISTANCE, &REACTANCE];
        if self.has_instrument {
            columns.extend([&U_RESISTANCE, &U_REACTANCE]);
        }
        columns.extend([&MAGNITUDE, &PHASE]);
        if view == View::Terminal {
            columns.push(&AS_A_PART);
        }
        if self.is_several {
            columns.push(&FIXTURE);
            if self.has_instrument {
                columns.push(&AGREEMENT);
            }
        } else if view == View::Terminal {
            columns.push(&IDENTITY_MISS);
        }
        if view == View::Page && self.has_instrument {
            columns.push(&TRUST);
        }
        columns
            .into_iter()
            .filter_map(|column| Some((column, column.shown?)))
    }
}
