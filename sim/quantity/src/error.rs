//! What is wrong with text that is no value.

use std::borrow::Cow;
use std::fmt;

use crate::excerpt::{MAX_QUOTED, excerpt};
use crate::prefix::TYPED;
use crate::unit::{Unit, with_article};

/// What a place wants, for the messages about text that is something else.
///
/// ```
/// use jigwise_quantity::{Expected, Unit, parse_one_of};
///
/// let ratio = Expected { what: "ratio", example: "1.5 % or 0.015".into() };
/// let units = [Some(Unit::Percent), None];
/// let error = parse_one_of("3 kHz", &units, ratio).unwrap_err();
/// assert_eq!(
///     error.to_string(),
///     "\"3 kHz\" is no ratio: it is a frequency; write for example 1.5 % or 0.015"
/// );
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expected {
    /// The quantity: "frequency", "ratio".
    pub what: &'static str,
    /// One or more values as they can be typed.
    pub example: Cow<'static, str>,
}

impl Expected {
    pub(crate) const ANY: Self = Self {
        what: "value",
        example: Cow::Borrowed("4.7k, 330p or 2u2H"),
    };
}

impl From<Unit> for Expected {
    fn from(unit: Unit) -> Self {
        Self {
            what: unit.quantity(),
            example: unit.examples().into(),
        }
    }
}

/// Text that is no value of the kind wanted.
///
/// The message names the text, says what is wrong with it and gives an example.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueError {
    text: Box<str>,
    expected: Expected,
    fault: Fault,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Fault {
    NoNumber,
    /// One comma before exactly three digits.
    Comma {
        decimal: String,
        thousands: String,
    },
    /// Commas that can only part thousands.
    Thousands {
        plain: String,
    },
    /// Commas, or a comma and points, that part no thousands either.
    Commas,
    /// A space between digits.
    Space {
        plain: String,
    },
    TooLarge,
    TooSmall,
    Tail(String),
    OtherUnit(Unit),
    NoUnit,
    /// A bare number where a prefix or a unit is wanted.
    Bare {
        likely: String,
        plain: String,
    },
    NoUnitInList {
        entry: String,
    },
    MilliHertz,
    NotAboveZero,
    NotBetween {
        least: f64,
        most: f64,
    },
    BelowZero,
    NoCount {
        least: u64,
        most: u64,
    },
}

impl ValueError {
    pub(crate) fn new(text: &str, expected: impl Into<Expected>, fault: Fault) -> Self {
        Self {
            text: text.trim().into(),
            expected: expected.into(),
            fault,
        }
    }

    /// The same fault where `expected` was wanted.
    pub(crate) fn expecting(self, expected: impl Into<Expected>) -> Self {
        Self {
            expected: expected.into(),
            ..self
        }
    }

    /// The same fault of a text that has the one read as a part.
    pub fn quoting(self, whole: &str) -> Self {
        if self.fault == Fault::NoNumber {
            return self;
        }
        Self {
            text: whole.trim().into(),
            ..self
        }
    }

    /// The text as it was given.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// True where a unit was written and it was another one.
    pub fn is_other_unit(&self) -> bool {
        matches!(self.fault, Fault::OtherUnit(_))
    }

    /// True where a comma may be a decimal sign or part thousands, as in `4,700`.
    pub fn is_ambiguous(&self) -> bool {
        matches!(self.fault, Fault::Comma { .. })
    }
}

impl std::error::Error for ValueError {}

impl fmt::Display for ValueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { text, expected, .. } = self;
        let text = excerpt(text, MAX_QUOTED);
        let Expected { what, example } = expected;
        let reason = match &self.fault {
            Fault::NotAboveZero => {
                let wanted = with_article(what);
                return write!(
                    f,
                    "\"{text}\" is not above zero, expected {wanted} above zero such as {example}"
                );
            }
            Fault::NotBetween { least, most } => {
                let wanted = with_article(what);
                return write!(
                    f,
                    "\"{text}\" is out of range, expected {wanted} from {least} to {most}"
                );
            }
            Fault::BelowZero => {
                let wanted = with_article(what);
                return write!(
                    f,
                    "\"{text}\" is below zero, expected {wanted} of zero or more"
                );
            }
            Fault::NoCount { least, most } => {
                return write!(
                    f,
                    "\"{text}\" is no count, expected a whole number from {least} to {most}"
                );
            }
            Fault::Comma { decimal, thousands } => {
                return write!(
                    f,
                    "\"{text}\" is not clear: it may be {decimal} or {thousands}; write the one \
                     that is meant"
                );
            }
            Fault::Thousands { plain } => {
                return write!(
                    f,
                    "\"{text}\" is no {what}: thousands are not parted here; write {plain}"
                );
            }
            Fault::Bare { likely, plain } => {
                return write!(
                    f,
                    "\"{text}\" has neither a prefix nor a unit; write {likely} if that is meant, \
                     or {plain}"
                );
            }
            Fault::NoUnitInList { entry } => {
                return write!(
                    f,
                    "\"{entry}\" in \"{text}\" has no unit: a comma parts two entries here and \
                     is no decimal sign; write a point in decimals, and the unit of each entry, \
                     as in {example},{example}"
                );
            }
            Fault::NoNumber => "no number at its beginning".to_owned(),
            Fault::Commas => "it has more than one decimal sign".to_owned(),
            Fault::Space { plain } => format!("a space parts its digits; write {plain}"),
            Fault::TooLarge => "it is beyond the largest number kept".to_owned(),
            Fault::TooSmall => {
                "it is below the smallest number kept, and no zero; write 0 where none is meant"
                    .to_owned()
            }
            Fault::Tail(tail) => {
                let tail = excerpt(tail, MAX_QUOTED);
                format!("\"{tail}\" is neither a prefix ({TYPED}) nor a unit known here")
            }
            Fault::OtherUnit(unit) => format!("it is {}", unit.a_quantity()),
            Fault::NoUnit => "it has no unit".to_owned(),
            Fault::MilliHertz => "m is a thousandth, M is a million".to_owned(),
        };
        write!(
            f,
            "\"{text}\" is no {what}: {reason}; write for example {example}"
        )
    }
}
