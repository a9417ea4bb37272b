//! Single values of a file, whatever their type.

use std::borrow::Cow;

use toml::de::{DeInteger, DeValue};

/// A value as typed: text, or a number as text.
pub(super) fn typed<'a>(value: &'a DeValue<'a>) -> Option<Cow<'a, str>> {
    match value {
        DeValue::String(text) => Some(Cow::Borrowed(text.as_ref())),
        DeValue::Integer(number) => Some(decimal(number)),
        DeValue::Float(number) => Some(match number.as_str().parse::<f64>() {
            Ok(value) if value.is_nan() => format!("{value:?}").into(),
            _ => Cow::Borrowed(number.as_str()),
        }),
        _ => None,
    }
}

fn decimal<'a>(number: &'a DeInteger<'a>) -> Cow<'a, str> {
    if number.radix() == 10 {
        return Cow::Borrowed(number.as_str());
    }
    match i128::from_str_radix(number.as_str(), number.radix()) {
        Ok(value) => value.to_string().into(),
        Err(_) => number.to_string().into(),
    }
}

/// What a value is, in words.
pub(super) fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "yes or no",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
