use std::fmt;

use serde::Deserialize;
use serde::de::{self, Deserializer, Visitor};
use toml::Spanned;

use super::error::{Place, ScenarioError};
use jigwise_quantity::{Unit, parse_value};

/// A value as typed: text with a unit, or a bare number.
pub(super) struct Typed(pub(super) String);

impl<'de> Deserialize<'de> for Typed {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct TypedVisitor;
        impl Visitor<'_> for TypedVisitor {
            type Value = Typed;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a value such as \"4.7k\"")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Typed, E> {
                Ok(Typed(text.to_owned()))
            }

            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Typed, E> {
                Ok(Typed(value.to_string()))
            }

            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Typed, E> {
                Ok(Typed(format!("{value:?}")))
            }
        }
        deserializer.deserialize_any(TypedVisitor)
    }
}

pub(super) fn typed(
    place: &Place<'_>,
    key: &str,
    value: &Spanned<Typed>,
    unit: Unit,
) -> Result<f64, ScenarioError> {
    parse_value(&value.get_ref().0, unit).map_err(|error| {
        ScenarioError::at(place, Some(value.span().start), format!("{key}: {error}"))
    })
}

pub(super) fn positive(
    place: &Place<'_>,
    key: &str,
    value: &Spanned<Typed>,
    unit: Unit,
) -> Result<f64, ScenarioError> {
    let number = typed(place, key, value, unit)?;
    if number > 0.0 {
        return Ok(number);
    }
    Err(ScenarioError::at(
        place,
        Some(value.span().start),
        format!(
            "{key} is \"{}\", expected a {} above zero",
            value.get_ref().0,
            unit.quantity()
        ),
    ))
}

pub(super) fn whole_number<N: TryFrom<i64>>(
    place: &Place<'_>,
    key: &str,
    value: &Spanned<i64>,
    least: i64,
) -> Result<N, ScenarioError> {
    Some(*value.get_ref())
        .filter(|number| *number >= least)
        .and_then(|number| N::try_from(number).ok())
        .ok_or_else(|| {
            ScenarioError::at(
                place,
                Some(value.span().start),
                format!(
                    "{key} is {}, expected a whole number from {least}",
                    value.get_ref()
                ),
            )
        })
}

/// A seed: a whole number from 0 to 2⁶⁴ − 1. TOML's own numbers end at 2⁶³ − 1, so a larger one
/// is written as text.
pub(super) fn seed(place: &Place<'_>, value: &Spanned<Typed>) -> Result<u64, ScenarioError> {
    value.get_ref().0.parse().map_err(|_| {
        ScenarioError::at(
            place,
            Some(value.span().start),
            format!(
                "seed is {}, expected a whole number from 0 to 2^64 - 1",
                value.get_ref().0
            ),
        )
    })
}

pub(super) fn seed_value(seed: u64) -> toml::Value {
    match i64::try_from(seed) {
        Ok(number) => number.into(),
        Err(_) => seed.to_string().into(),
    }
}
