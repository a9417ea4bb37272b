//! Answers as a student types them.

use std::fmt;

use jigwise_bench::words::{fixture_key, limit_key};
use jigwise_bench::{
    Complex64, Device, DeviceError, Fixture, Formula, FormulaError, Limit, MAX_QUOTED, Unit,
    ValueError, excerpt, hint, parse_quantity, parse_value,
};

use crate::choices::Choices;
use crate::claim::{Claim, ClaimError};
use crate::task::{Asks, Task};

/// An answer, read in the form that its task asks for.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// A number in the task's unit; a complex one for an impedance.
    Value(Complex64),
    /// The chosen fixture.
    Fixture(Fixture),
    /// The chosen limit: noise or display.
    Limit(Limit),
    /// A formula from the reading to the impedance.
    Formula(Formula),
    /// The chosen option, from 0.
    Option(usize),
    /// All options in order, from 0.
    Order(Vec<usize>),
    /// A value with its ±.
    Claim(Claim),
}

/// Text that can't be read as an answer, so that it is neither right nor wrong.
#[derive(Debug, Clone, PartialEq)]
pub enum AnswerError {
    /// The text is no number, or a number in another unit.
    Value(ValueError),
    /// The text is no impedance.
    Impedance(DeviceError),
    /// The text is a part with its value, and the task asks for ohms.
    NotOhms {
        /// The text found.
        text: String,
    },
    /// The text names no fixture.
    Fixture {
        /// The text found.
        text: String,
    },
    /// The text is neither noise nor display.
    Limit {
        /// The text found.
        text: String,
    },
    /// The count is no whole number from one.
    Count {
        /// The text found.
        text: String,
    },
    /// The text is no formula.
    Formula(FormulaError),
    /// The text names none of the options.
    Option {
        /// The text found.
        text: String,
        /// The letter of the last option.
        last: char,
    },
    /// The text does not hold each option once.
    Order {
        /// The text found.
        text: String,
        /// The letter of the last option.
        last: char,
    },
    /// The text is no value with its ±.
    Claim(ClaimError),
}

impl std::error::Error for AnswerError {}

impl fmt::Display for AnswerError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quoted = |text: &str| excerpt(text, MAX_QUOTED);
        match self {
            Self::Value(error) => error.fmt(f),
            Self::Impedance(error) => error.fmt(f),
            Self::NotOhms { text } => write!(
                f,
                "\"{}\" is no impedance in ohms; write R and X, as in \"330 - j120\"",
                quoted(text)
            ),
            Self::Fixture { text } => {
                let names = Fixture::ALL.map(fixture_key);
                write!(
                    f,
                    "\"{}\" is no fixture{}",
                    quoted(text),
                    hint(text, &names)
                )
            }
            Self::Limit { text } => {
                let names = LIMITS.map(limit_key);
                write!(f, "\"{}\" is no limit{}", quoted(text), hint(text, &names))
            }
            Self::Count { text } => write!(
                f,
                "\"{}\" is no count, expected a whole number from 1",
                quoted(text)
            ),
            Self::Formula(error) => error.fmt(f),
            Self::Option { text, last } => write!(
                f,
                "\"{}\" is none of the options; write one letter from a to {last}",
                quoted(text)
            ),
            Self::Order { text, last } => write!(
                f,
                "\"{}\" does not hold each letter from a to {last} once; write all of them with \
                 commas between",
                quoted(text)
            ),
            Self::Claim(error) => error.fmt(f),
        }
    }
}

const LIMITS: [Limit; 2] = [Limit::Noise, Limit::Display];

impl Answer {
    /// Reads an answer to `task`.
    ///
    /// # Errors
    /// [`AnswerError`] where the text is no answer of the task's form.
    pub fn read(text: &str, task: &Task) -> Result<Self, AnswerError> {
        if let Some(choices) = &task.choices {
            return option_or_order(text, task.asks(), choices);
        }
        match (task.asks(), task.asks().unit()) {
            (asks, Some(unit)) if asks.is_claim() => Claim::read(text, unit)
                .map(Self::Claim)
                .map_err(AnswerError::Claim),
            (Asks::Formula, _) => text
                .parse()
                .map(Self::Formula)
                .map_err(AnswerError::Formula),
            (asks, _) if asks.is_complex() => impedance(text).map(Self::Value),
            (Asks::Limit, _) => limit(text).map(Self::Limit),
            (Asks::Averages, _) => count(text).map(|count| Self::Value(count.into())),
            (_, Some(unit)) => parse_value(text, unit)
                .map(|value| Self::Value(value.into()))
                .map_err(AnswerError::Value),
            (_, None) => fixture(text).map(Self::Fixture),
        }
    }
}

fn option_or_order(text: &str, asks: Asks, choices: &Choices) -> Result<Answer, AnswerError> {
    let last = choices.options().last().map_or('a', |(letter, _)| letter);
    let text = text.trim();
    match asks {
        Asks::Ranking => choices
            .order(text)
            .map(Answer::Order)
            .ok_or_else(|| AnswerError::Order {
                text: text.to_owned(),
                last,
            }),
        _ => choices
            .find(text)
            .map(Answer::Option)
            .ok_or_else(|| AnswerError::Option {
                text: text.to_owned(),
                last,
            }),
    }
}

fn fixture(text: &str) -> Result<Fixture, AnswerError> {
    let word = text.trim().to_lowercase().replace([' ', '_'], "-");
    Fixture::ALL
        .into_iter()
        .find(|fixture| {
            let key = fixture_key(*fixture);
            word == key || key.strip_suffix("-through") == Some(word.as_str())
        })
        .ok_or_else(|| AnswerError::Fixture {
            text: text.trim().to_owned(),
        })
}

fn limit(text: &str) -> Result<Limit, AnswerError> {
    let word = text.trim().to_lowercase();
    LIMITS
        .into_iter()
        .find(|limit| limit_key(*limit) == word)
        .ok_or_else(|| AnswerError::Limit {
            text: text.trim().to_owned(),
        })
}

fn count(text: &str) -> Result<f64, AnswerError> {
    let value = parse_value(text, Unit::One).map_err(AnswerError::Value)?;
    if value.fract() == 0.0 && value >= 1.0 {
        Ok(value)
    } else {
        Err(AnswerError::Count {
            text: text.trim().to_owned(),
        })
    }
}

/// R + jX; a unit set apart at the end, as in "1.2 + j2.2 kΩ", holds for both parts.
fn impedance(text: &str) -> Result<Complex64, AnswerError> {
    let text = text.trim();
    if let Some((sum, unit)) = text.rsplit_once(char::is_whitespace)
        && !unit.starts_with(|c: char| c.is_ascii_digit() || c == 'j')
        && let Ok(unit) = parse_quantity(&format!("1{unit}"))
        && unit.unit.is_none_or(|unit| unit == Unit::Ohm)
        && let Some(z) = sum.parse::<Device>().ok().and_then(|sum| sum.fixed_ohm())
    {
        return Ok(z * unit.value);
    }
    match text.parse::<Device>() {
        Ok(device) => device.fixed_ohm().ok_or_else(|| AnswerError::NotOhms {
            text: text.to_owned(),
        }),
        Err(error) => Err(AnswerError::Impedance(error)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue;

    #[test]
    fn a_unit_at_the_end_holds_for_both_parts() {
        for (text, re, im) in [
            ("330 - j120", 330.0, -120.0),
            ("330 − j120 Ω", 330.0, -120.0),
            ("1.2 + j2.2 kΩ", 1_200.0, 2_200.0),
            ("1.2 + j2.2\u{202f}kΩ", 1_200.0, 2_200.0),
            ("330 + j1.2k", 330.0, 1_200.0),
            ("4.7k", 4_700.0, 0.0),
            ("j50 ohms", 0.0, 50.0),
        ] {
            assert_eq!(impedance(text), Ok(Complex64::new(re, im)), "{text}");
        }
    }

    #[test]
    fn what_is_no_answer_says_why() {
        for (key, text, reason) in [
            ("reflect-level", "82 ohm", "dB"),
            ("reflect-level", "", "no number"),
            ("reflect-impedance", "10 nF", "no impedance in ohms"),
            ("reflect-impedance", "10 +", "no"),
            ("reflect-formula", "Z0*(1+S", "never closed"),
            ("series-fixture", "parallel", "known here"),
            ("series-fixture", "reflekt", "did you mean \"reflect\"?"),
            ("change-limit", "dispaly", "did you mean \"display\"?"),
            ("change-limit", "", "noise, display"),
            ("change-averages", "2.5", "whole number"),
            ("change-averages", "0", "whole number"),
            ("change-least", "12 ohm", "percentage"),
        ] {
            let error = Answer::read(text, catalogue().task(key).unwrap()).unwrap_err();
            assert!(error.to_string().contains(reason), "{text}: {error}");
        }
    }
}
