//! A value with its ±, as people type it.

use std::fmt;

use jigwise_bench::{
    MAX_QUOTED, Unit, ValueError, excerpt, parse_quantity, parse_share, parse_value,
};

use super::Claim;

/// Text that is no value with its ±.
#[derive(Debug, Clone, PartialEq)]
pub enum ClaimError {
    /// The value or the ± is no number.
    Value(ValueError),
    /// The ± is zero or below.
    NoWidth {
        /// The text found.
        text: String,
    },
    /// The ± has no unit, and it may be in that of the value or not.
    Unclear {
        /// The text found.
        text: String,
    },
}

impl std::error::Error for ClaimError {}

impl fmt::Display for ClaimError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quoted = |text: &str| excerpt(text, MAX_QUOTED);
        match self {
            Self::Value(error) => error.fmt(f),
            Self::NoWidth { text } => write!(
                f,
                "\"{}\" has a ± that is not above zero; write for example 4.7k ± 2 %",
                quoted(text)
            ),
            Self::Unclear { text } => write!(
                f,
                "\"{}\" has a ± without a unit; write its unit or %, as in 4.7k ± 2 %",
                quoted(text)
            ),
        }
    }
}

const SIGNS: [&str; 5] = ["±", "+/-", "+-", "+/−", "+−"];
const NOT_TOLD: [&str; 8] = [
    "cant be told",
    "cannot be told",
    "can not be told",
    "cant tell",
    "cannot tell",
    "can not tell",
    "not told",
    "cant be known",
];

impl Claim {
    /// Reads a claim in `unit`, as in `4.7k ± 2 %`, `(4.70 ± 0.05) kΩ`, `4k7 +- 50 ohm` or
    /// `can't be told`. A value without its ± is read too.
    ///
    /// ```
    /// use jigwise_bench::Unit;
    /// use jigwise_exercises::claim::Claim;
    ///
    /// let within = |value, half_width| Ok(Claim::Within { value, half_width });
    /// assert_eq!(Claim::read("4,7 kΩ ± 1 %", Unit::Ohm), within(4_700.0, 47.0));
    /// assert_eq!(Claim::read("(4.7 ± 0.5) kΩ", Unit::Ohm), within(4_700.0, 500.0));
    /// assert_eq!(Claim::read("47 +- 2", Unit::Ohm), within(47.0, 2.0));
    /// assert_eq!(Claim::read("can’t be told", Unit::Ohm), Ok(Claim::CantBeTold));
    /// ```
    ///
    /// # Errors
    /// [`ClaimError`] for any other text.
    pub fn read(text: &str, unit: Unit) -> Result<Self, ClaimError> {
        let text = text.trim();
        let plain: String = text
            .to_lowercase()
            .chars()
            .filter(|c| !matches!(c, '\'' | '’' | '.' | '"'))
            .collect();
        if NOT_TOLD.contains(&plain.trim()) {
            return Ok(Self::CantBeTold);
        }
        let parted = SIGNS
            .iter()
            .find_map(|sign| text.split_once(sign))
            .map(|(value, width)| (value.trim(), width.trim()));
        let Some((value, width)) = parted else {
            return parse_value(text, unit)
                .map(Self::Bare)
                .map_err(ClaimError::Value);
        };
        let (value, half_width) = match bracketed(value, width) {
            Some((inside, width, scale)) => read_both(text, inside, width, Some(scale), unit)?,
            None => read_both(text, value, width, None, unit)?,
        };
        if !(half_width > 0.0 && half_width.is_finite()) {
            return Err(ClaimError::NoWidth {
                text: text.to_owned(),
            });
        }
        Ok(Self::Within { value, half_width })
    }
}

/// `(a ± b) unit` as a, b and the unit.
fn bracketed<'a>(value: &'a str, width: &'a str) -> Option<(&'a str, &'a str, &'a str)> {
    let inside = value.strip_prefix('(')?;
    let (width, scale) = width.rsplit_once(')')?;
    Some((inside.trim(), width.trim(), scale.trim()))
}

fn read_both(
    text: &str,
    value: &str,
    width: &str,
    scale: Option<&str>,
    unit: Unit,
) -> Result<(f64, f64), ClaimError> {
    let scaled = |number: &str, scale: &str| {
        parse_value(&format!("{number} {scale}"), unit).map_err(ClaimError::Value)
    };
    if let Some(scale) = scale {
        return Ok((scaled(value, scale)?, scaled(width, scale)?));
    }
    if width.contains('%') {
        let value = parse_value(value, unit).map_err(ClaimError::Value)?;
        let share = parse_share(width).map_err(ClaimError::Value)?;
        return Ok((value, share * value.abs()));
    }
    let bare = |text: &str| {
        parse_quantity(text).is_ok_and(|found| found.unit.is_none() && found.prefix.is_none())
    };
    match (bare(value), bare(width)) {
        // 4.70 ± 0.05 kΩ: one unit for both.
        (true, false) => {
            let at = width
                .find(|c: char| c.is_alphabetic() || matches!(c, 'Ω' | 'µ'))
                .unwrap_or(width.len());
            let (_, scale) = width.split_at(at);
            Ok((
                scaled(value, scale)?,
                parse_value(width, unit).map_err(ClaimError::Value)?,
            ))
        }
        (false, true) => unclear(text, value, width, unit),
        _ => Ok((
            parse_value(value, unit).map_err(ClaimError::Value)?,
            parse_value(width, unit).map_err(ClaimError::Value)?,
        )),
    }
}

/// `4.7k ± 50` and `4.7k ± 0.05`: only one of ohms and kilohms makes a ± that anybody would claim.
fn unclear(text: &str, value: &str, width: &str, unit: Unit) -> Result<(f64, f64), ClaimError> {
    const CLAIMED: std::ops::Range<f64> = 1e-3..1.0;
    let found = parse_value(value, unit).map_err(ClaimError::Value)?;
    let plain = parse_value(width, unit).map_err(ClaimError::Value)?;
    let prefix = parse_quantity(value)
        .ok()
        .and_then(|found| found.prefix)
        .map_or(String::new(), String::from);
    let scaled = parse_value(&format!("{width}{prefix}"), unit).map_err(ClaimError::Value)?;
    let fits = |width: f64| CLAIMED.contains(&(width / found).abs());
    match (fits(plain), fits(scaled)) {
        _ if plain == scaled => Ok((found, plain)),
        (true, false) => Ok((found, plain)),
        (false, true) => Ok((found, scaled)),
        _ => Err(ClaimError::Unclear {
            text: text.to_owned(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn claims_are_read_as_people_type_them() {
        for (text, value, half_width) in [
            ("4k7 ± 2 %", 4_700.0, 94.0),
            ("4.7k+-2%", 4_700.0, 94.0),
            ("4.70 ± 0.05 kΩ", 4_700.0, 50.0),
            ("4.7k ± 50", 4_700.0, 50.0),
            ("4.7k ± 0.05", 4_700.0, 50.0),
            ("4.7 kohm +/- 50 ohm", 4_700.0, 50.0),
            ("(4.70\u{202f}±\u{202f}0.05) kΩ", 4_700.0, 50.0),
            ("0,5 ± 0,1", 0.5, 0.1),
        ] {
            let Claim::Within {
                value: v,
                half_width: w,
            } = Claim::read(text, Unit::Ohm).unwrap()
            else {
                panic!("{text}");
            };
            assert!((v / value - 1.0).abs() < 1e-12, "{text}: {v}");
            assert!((w / half_width - 1.0).abs() < 1e-12, "{text}: {w}");
        }
        assert_eq!(Claim::read("4.7k", Unit::Ohm), Ok(Claim::Bare(4_700.0)));
        for text in [
            "",
            "± 3",
            "4.7k ± 0",
            "4.7k ± -2 %",
            "4.7k ± 3 pF",
            "many ± few",
        ] {
            assert!(Claim::read(text, Unit::Ohm).is_err(), "{text}");
        }
    }
}
