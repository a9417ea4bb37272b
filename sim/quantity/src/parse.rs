//! Engineering values as people type them: `4.7k`, `4k7`, `330 pF`, `7,1 MHz`, `2u2H`.
//!
//! True minus (−) and thin or no-break spaces are taken back as they are shown. Prefixes are
//! those of the SI brochure from femto to tera; the letter in place of the decimal point is
//! the marking of resistors and capacitors (IEC 60062). A point or a comma is the decimal sign;
//! `4,700` may be 4.7 or 4700 and is refused.

use crate::error::{Expected, Fault, ValueError};
use crate::number::{plain_characters, split_number};
use crate::prefix::exponent_of;
use crate::unit::Unit;

/// A number with what the person said of its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The value with its prefix applied, in the plain unit.
    pub value: f64,
    /// The unit, where one was written.
    pub unit: Option<Unit>,
    /// The prefix letter, where one was written; µ is `u`.
    pub prefix: Option<char>,
}

/// Reads a value whose unit is known from its place: the unit may be left out.
///
/// # Errors
/// [`ValueError`], which says what is wrong with the text and gives an example.
///
/// ```
/// use jigwise_quantity::{Unit, parse_value};
///
/// assert_eq!(parse_value("4k7", Unit::Ohm)?, 4_700.0);
/// assert_eq!(parse_value("4,7k", Unit::Ohm)?, 4_700.0);
/// assert_eq!(parse_value("−0.5 Ω", Unit::Ohm)?, -0.5);
/// assert_eq!(parse_value("7.1 MHz", Unit::Hertz)?, 7.1e6);
/// assert!(parse_value("7.1m", Unit::Hertz).unwrap_err().to_string().contains("M is a million"));
/// assert!(parse_value("4,700", Unit::Ohm).unwrap_err().to_string().contains("4.7 or 4700"));
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn parse_value(text: &str, unit: Unit) -> Result<f64, ValueError> {
    Ok(parse_in(text, unit)?.value)
}

/// Reads a ratio from a percentage. A number without a unit is percent too.
///
/// # Errors
/// [`ValueError`] for text that is no percentage.
///
/// ```
/// use jigwise_quantity::parse_share;
///
/// assert_eq!(parse_share("+10 %")?, 0.1);
/// assert_eq!(parse_share("10")?, 0.1);
/// assert!(parse_share("3 dB").is_err());
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn parse_share(text: &str) -> Result<f64, ValueError> {
    const PERCENT_EXPONENT: i32 = -2;
    let scaled = read(text, false, PERCENT_EXPONENT);
    Ok(of_unit(text, Unit::Percent, scaled)?.value)
}

/// Reads a value in `unit`, and tells if the unit was written.
pub(crate) fn parse_in(text: &str, unit: Unit) -> Result<Quantity, ValueError> {
    of_unit(text, unit, read(text, unit == Unit::Metre, 0))
}

fn of_unit(
    text: &str,
    unit: Unit,
    quantity: Result<Quantity, Fault>,
) -> Result<Quantity, ValueError> {
    let fail = |fault| ValueError::new(text, unit, fault);
    let quantity = quantity.map_err(fail)?;
    match (quantity.unit, quantity.prefix) {
        (Some(found), _) if found != unit => Err(fail(Fault::OtherUnit(found))),
        (_, Some('m')) if unit == Unit::Hertz => Err(fail(Fault::MilliHertz)),
        _ => Ok(quantity),
    }
}

/// Reads a value in one of several units; `None` among them allows a number without one.
///
/// # Errors
/// [`ValueError`] that names what was `expected`.
///
/// ```
/// use jigwise_quantity::{Expected, Unit, parse_one_of};
///
/// let angle = Expected { what: "angle with its unit", example: "0.5 deg".into() };
/// let units = [Some(Unit::Degree), Some(Unit::Radian)];
/// assert_eq!(parse_one_of("0,5°", &units, angle.clone())?.value, 0.5);
/// assert!(parse_one_of("0.5", &units, angle).unwrap_err().to_string().contains("no unit"));
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn parse_one_of(
    text: &str,
    units: &[Option<Unit>],
    expected: Expected,
) -> Result<Quantity, ValueError> {
    match parse_quantity(text) {
        Ok(quantity) if units.contains(&quantity.unit) => Ok(quantity),
        Ok(quantity) => {
            let fault = quantity.unit.map_or(Fault::NoUnit, Fault::OtherUnit);
            Err(ValueError::new(text, expected, fault))
        }
        Err(error) => Err(error.expecting(expected)),
    }
}

/// Reads a value of any unit.
///
/// # Errors
/// [`ValueError`] as for [`parse_value`].
///
/// ```
/// use jigwise_quantity::{Unit, parse_quantity};
///
/// let quantity = parse_quantity("2u2H")?;
/// assert_eq!((quantity.value, quantity.unit), (2.2e-6, Some(Unit::Henry)));
/// assert_eq!(parse_quantity("4.7k")?.unit, None);
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn parse_quantity(text: &str) -> Result<Quantity, ValueError> {
    read(text, false, 0).map_err(|fault| ValueError::new(text, Expected::ANY, fault))
}

/// Reads a value times ten to the power of `scale_exponent`; `is_length` where m alone is the
/// metre and no prefix.
fn read(text: &str, is_length: bool, scale_exponent: i32) -> Result<Quantity, Fault> {
    let plain = plain_characters(text);
    let (mut number, tail) = split_number(&plain)?;
    if !number.bytes().any(|b| b.is_ascii_digit()) {
        return Err(Fault::NoNumber);
    }
    let tail = tail.trim();
    let unknown = || match tail.trim_start_matches([',', '.', ' ']).chars().next() {
        Some(next) if next.is_ascii_digit() && plain.contains(' ') => Fault::Space {
            plain: plain.split_whitespace().collect(),
        },
        _ => Fault::Tail(tail.to_owned()),
    };
    let Tail {
        scale,
        decimals,
        unit,
    } = if is_length && tail == "m" {
        Tail::of_unit(Unit::Metre)
    } else {
        split_tail(tail).ok_or_else(unknown)?
    };
    let is_metre_with_decimals =
        is_length && unit.is_none() && scale.is_some_and(|(letter, _)| letter == 'm');
    if is_metre_with_decimals {
        return Err(unknown());
    }
    if !decimals.is_empty() {
        if number.contains(['.', 'e', 'E']) {
            return Err(unknown());
        }
        number.push('.');
        number.push_str(decimals);
    }
    // The prefix joins the number as text, so 4.7k is the double nearest to 4700.
    let prefix_exponent = scale.map_or(0, |(_, exponent)| exponent);
    let value = with_exponent(&number, prefix_exponent + scale_exponent);
    match value {
        Some(0.0) if !is_zero(&number) => Err(Fault::TooSmall),
        Some(value) if value.is_finite() => Ok(Quantity {
            value,
            unit,
            prefix: scale.map(|(letter, _)| letter),
        }),
        Some(_) => Err(Fault::TooLarge),
        None => Err(Fault::NoNumber),
    }
}

/// True for a number written with no digit but zeros before its exponent.
fn is_zero(number: &str) -> bool {
    let mantissa = number.split(['e', 'E']).next().unwrap_or(number);
    !mantissa.contains(|c: char| matches!(c, '1'..='9'))
}

/// An exponent as written; one of too many digits is beyond every number either way.
fn own_exponent(text: &str) -> i32 {
    const BEYOND: i32 = 100_000;
    text.parse().unwrap_or(match text.starts_with('-') {
        true => -BEYOND,
        false => BEYOND,
    })
}

/// What follows a number.
struct Tail<'a> {
    /// The prefix letter and its power of ten.
    scale: Option<(char, i32)>,
    /// The digits behind a letter that stands in place of the decimal sign.
    decimals: &'a str,
    unit: Option<Unit>,
}

impl Tail<'_> {
    fn of_unit(unit: Unit) -> Self {
        Self {
            scale: None,
            decimals: "",
            unit: Some(unit),
        }
    }
}

fn split_tail(tail: &str) -> Option<Tail<'_>> {
    let Some(letter) = tail.chars().next() else {
        return Some(Tail {
            scale: None,
            decimals: "",
            unit: None,
        });
    };
    if let Some(unit) = Unit::of_sign(tail) {
        return Some(Tail::of_unit(unit));
    }
    let rest = &tail[letter.len_utf8()..];
    let digits = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let (decimals, sign) = rest.split_at(digits);
    let sign = sign.trim();
    if letter == 'R' && !decimals.is_empty() {
        let is_ohm = sign.is_empty() || Unit::of_sign(sign) == Some(Unit::Ohm);
        return is_ohm.then_some(Tail {
            scale: None,
            decimals,
            unit: Some(Unit::Ohm),
        });
    }
    if tail == "cm" {
        return Some(Tail {
            scale: Some(('c', -2)),
            decimals: "",
            unit: Some(Unit::Metre),
        });
    }
    let exponent = exponent_of(letter)?;
    let unit = match sign {
        "" => None,
        sign => Some(Unit::of_sign_after_prefix(sign)?),
    };
    Some(Tail {
        scale: Some((letter, exponent)),
        decimals,
        unit,
    })
}

fn with_exponent(number: &str, exponent: i32) -> Option<f64> {
    let (mantissa, own) = match number.find(['e', 'E']) {
        Some(at) => (&number[..at], own_exponent(&number[at + 1..])),
        None => (number, 0),
    };
    format!("{mantissa}e{}", own.checked_add(exponent)?)
        .parse()
        .ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_as_people_type_them() {
        for (text, unit, value) in [
            ("4.7k", Unit::Ohm, 4_700.0),
            ("4k7", Unit::Ohm, 4_700.0),
            ("4R7", Unit::Ohm, 4.7),
            ("100R", Unit::Ohm, 100.0),
            ("1M", Unit::Ohm, 1e6),
            ("10 mΩ", Unit::Ohm, 0.01),
            ("1e3", Unit::Ohm, 1_000.0),
            ("2.5e-3k", Unit::Ohm, 2.5),
            ("330 pF", Unit::Farad, 330e-12),
            ("330pf", Unit::Farad, 330e-12),
            ("2u2H", Unit::Henry, 2.2e-6),
            ("2.2 µH", Unit::Henry, 2.2e-6),
            ("7.1 MHz", Unit::Hertz, 7.1e6),
            ("7\u{202f}100\u{202f}000", Unit::Hertz, 7.1e6),
            ("−38 dB", Unit::Decibel, -38.0),
            (".5°", Unit::Degree, 0.5),
            ("+10 %", Unit::Percent, 10.0),
            ("12 mm", Unit::Metre, 0.012),
            ("1.5 cm", Unit::Metre, 0.015),
            ("2 m", Unit::Metre, 2.0),
            ("0.3", Unit::Metre, 0.3),
            ("30 ps", Unit::Second, 30e-12),
            ("0 s", Unit::Second, 0.0),
        ] {
            assert_eq!(parse_value(text, unit), Ok(value), "{text}");
        }
    }

    #[test]
    fn a_comma_is_a_decimal_sign_where_it_can_be_nothing_else() {
        for (text, unit, value) in [
            ("4,7k", Unit::Ohm, 4_700.0),
            ("0,5 dB", Unit::Decibel, 0.5),
            ("−0,25", Unit::Ohm, -0.25),
            (",5°", Unit::Degree, 0.5),
            ("2,2 µH", Unit::Henry, 2.2e-6),
            ("7,1e6", Unit::Hertz, 7.1e6),
            ("2,5 m", Unit::Metre, 2.5),
            // A thousands group begins with no zero and has three digits behind it.
            ("0,470", Unit::Ohm, 0.47),
            (",470", Unit::Ohm, 0.47),
            ("4,7000", Unit::Ohm, 4.7),
            ("4700,125", Unit::Ohm, 4_700.125),
            ("4\u{202f}700,125", Unit::Ohm, 4_700.125),
        ] {
            assert_eq!(parse_value(text, unit), Ok(value), "{text}");
        }
    }

    #[test]
    fn a_comma_with_two_readings_is_refused_with_both() {
        for (text, readings) in [
            ("4,700", "4.7 or 4700;"),
            ("−12,345", "-12.345 or -12345;"),
            ("1,000", "1 or 1000;"),
            ("7,100 kHz", "7.1 kHz or 7100 kHz;"),
            ("1,500e3", "1.5e3 or 1500e3;"),
        ] {
            let error = parse_quantity(text).unwrap_err();
            assert!(error.is_ambiguous(), "{error}");
            assert!(error.to_string().contains(readings), "{error}");
        }
    }

    #[test]
    fn what_is_no_value_says_why() {
        for (text, unit, reason) in [
            ("", Unit::Ohm, "no number"),
            ("k", Unit::Ohm, "no number"),
            (",", Unit::Ohm, "no number"),
            ("4.7x", Unit::Ohm, "\"x\""),
            ("4.7k7", Unit::Ohm, "\"k7\""),
            ("4,7k7", Unit::Ohm, "\"k7\""),
            ("4,", Unit::Ohm, "\",\""),
            ("4.7.1", Unit::Ohm, "\".1\""),
            ("1,234.5", Unit::Ohm, "write 1234.5"),
            ("1.234,5 k", Unit::Ohm, "write 1234.5 k"),
            ("1,234,567", Unit::Hertz, "write 1234567"),
            ("330pF", Unit::Ohm, "capacitance"),
            ("2u2H", Unit::Farad, "it is an inductance"),
            ("3 cF", Unit::Farad, "\"cF\""),
            ("3 mm", Unit::Second, "length"),
            ("2m5", Unit::Metre, "no length"),
            ("7.1 mHz", Unit::Hertz, "M is a million"),
            ("1e999", Unit::Ohm, "largest"),
            ("1e99999999999", Unit::Ohm, "largest"),
            ("1e-99999999999", Unit::Ohm, "below the smallest"),
            ("4,7,1", Unit::Ohm, "more than one decimal sign"),
            ("1,23.4", Unit::Ohm, "more than one decimal sign"),
            ("1.234.567", Unit::Ohm, "write 1234567"),
            ("1.234.567 k", Unit::Ohm, "write 1234567 k"),
            ("1 000", Unit::Ohm, "write 1000"),
            ("4, 7k", Unit::Ohm, "write 4,7k"),
            ("1e-400", Unit::Ohm, "below the smallest number kept"),
            ("-0.01e-330 k", Unit::Ohm, "below the smallest number kept"),
            ("NaN", Unit::Ohm, "no number"),
            ("inf", Unit::Ohm, "no number"),
        ] {
            let error = parse_value(text, unit).unwrap_err().to_string();
            assert!(error.contains(reason), "{text}: {error}");
        }
    }
}
