use std::fmt;

use jigwise_quantity::{MAX_QUOTED, excerpt};

use super::keys::{MAX_DIGITS, keys};
use crate::file::{ScenarioError, hint};

/// Why a number can't be quoted.
#[derive(Debug, Clone, PartialEq)]
pub enum QuoteError {
    /// No scenario and no fixture has this key.
    UnknownKey {
        /// The key found.
        key: String,
    },
    /// The digits are no whole number from 1 to 15.
    Digits {
        /// The text found.
        text: String,
    },
    /// The text is not a key with or without its digits.
    Form {
        /// The text found.
        text: String,
    },
    /// The scenario has no such number, as an open has no resistance.
    Undefined {
        /// The key asked for.
        key: String,
    },
    /// The scenario can't be computed.
    Scenario(ScenarioError),
    /// A `{{` has no `}}`.
    NotClosed,
}

impl std::error::Error for QuoteError {}

impl fmt::Display for QuoteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownKey { key } => {
                let keys = keys();
                let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
                let hint = hint(key, &keys);
                let key = excerpt(key, MAX_QUOTED);
                write!(f, "\"{key}\" is nothing that can be quoted{hint}")
            }
            Self::Digits { text } => write!(
                f,
                "\"{}\" is no count of digits, expected a whole number from 1 to {MAX_DIGITS}",
                excerpt(text, MAX_QUOTED)
            ),
            Self::Form { text } => write!(
                f,
                "\"{}\" is no quote, expected a key and its digits, as in \"reflect.level 2\"",
                excerpt(text, MAX_QUOTED)
            ),
            Self::Undefined { key } => write!(
                f,
                "this scenario has no {key}; quote something else, change the device, or give it \
                 an [instrument]"
            ),
            Self::Scenario(error) => error.fmt(f),
            Self::NotClosed => f.write_str("{{ without }}; close it"),
        }
    }
}
