//! Engineering values as people type them: `4.7k`, `4k7`, `330 pF`, `7.1 MHz`, `2u2H`.
//!
//! True minus (−) and thin or no-break spaces are taken back as they are shown. Prefixes are
//! those of the SI brochure from femto to tera; the letter in place of the decimal point is
//! the marking of resistors and capacitors (IEC 60062).

use std::fmt;

/// The unit a value is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Ω
    Ohm,
    /// Hz
    Hertz,
    /// F
    Farad,
    /// H
    Henry,
    /// dB
    Decibel,
    /// °
    Degree,
    /// rad
    Radian,
    /// %
    Percent,
    /// m
    Metre,
    /// s
    Second,
    /// A plain number.
    One,
}

impl Unit {
    /// What the quantity is called.
    pub fn quantity(self) -> &'static str {
        match self {
            Self::Ohm => "resistance in ohms",
            Self::Hertz => "frequency",
            Self::Farad => "capacitance",
            Self::Henry => "inductance",
            Self::Decibel => "level in dB",
            Self::Degree => "angle in degrees",
            Self::Radian => "angle in radians",
            Self::Percent => "percentage",
            Self::Metre => "length",
            Self::Second => "time",
            Self::One => "plain number",
        }
    }

    /// The unit's sign.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Ohm => "Ω",
            Self::Hertz => "Hz",
            Self::Farad => "F",
            Self::Henry => "H",
            Self::Decibel => "dB",
            Self::Degree => "°",
            Self::Radian => "rad",
            Self::Percent => "%",
            Self::Metre => "m",
            Self::Second => "s",
            Self::One => "",
        }
    }

    fn example(self) -> &'static str {
        match self {
            Self::Ohm => "4.7k, 4k7 or 330 Ω",
            Self::Hertz => "7.1M or 7.1 MHz",
            Self::Farad => "330p or 330 pF",
            Self::Henry => "2u2H or 2.2 µH",
            Self::Decibel => "-38 dB",
            Self::Degree => "0.5 deg",
            Self::Radian => "0.01 rad",
            Self::Percent => "10 %",
            Self::Metre => "12 mm",
            Self::Second => "30 ps",
            Self::One => "0.015",
        }
    }

    fn of_sign(text: &str) -> Option<Self> {
        Some(match text {
            "Ω" | "\u{2126}" | "R" => Self::Ohm,
            "F" => Self::Farad,
            "H" => Self::Henry,
            "°" => Self::Degree,
            "%" => Self::Percent,
            "s" => Self::Second,
            _ => match text.to_ascii_lowercase().as_str() {
                "ohm" | "ohms" => Self::Ohm,
                "hz" => Self::Hertz,
                "db" => Self::Decibel,
                "deg" => Self::Degree,
                "rad" => Self::Radian,
                _ => return None,
            },
        })
    }

    /// After a prefix a lower-case unit is clear: `pf`, `uh`.
    fn of_sign_after_prefix(text: &str) -> Option<Self> {
        Self::of_sign(text).or(match text {
            "f" => Some(Self::Farad),
            "h" => Some(Self::Henry),
            "m" => Some(Self::Metre),
            _ => None,
        })
    }
}

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

/// Text that is no value of the kind wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueError {
    text: String,
    expected: Option<Unit>,
    fault: Fault,
}

#[derive(Debug, Clone, PartialEq)]
enum Fault {
    NoNumber,
    Comma,
    TooLarge,
    Tail(String),
    OtherUnit(Unit),
    MilliHertz,
}

impl ValueError {
    fn new(text: &str, expected: Option<Unit>, fault: Fault) -> Self {
        Self {
            text: text.to_owned(),
            expected,
            fault,
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
}

impl std::error::Error for ValueError {}

impl fmt::Display for ValueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quantity = self.expected.map_or("value", Unit::quantity);
        write!(f, "\"{}\" is no {quantity}", self.text)?;
        match &self.fault {
            Fault::NoNumber => f.write_str(": no number at its beginning")?,
            Fault::Comma => f.write_str(": the decimal sign is a point here")?,
            Fault::TooLarge => f.write_str(": it is beyond the largest number kept")?,
            Fault::Tail(tail) => write!(
                f,
                ": \"{tail}\" is neither a prefix (f p n µ m k M G T) nor a unit known here"
            )?,
            Fault::OtherUnit(unit) => write!(f, ": it is a {}", unit.quantity())?,
            Fault::MilliHertz => {
                f.write_str(": m is a thousandth, M is a million")?;
            }
        }
        match self.expected {
            Some(unit) => write!(f, "; write for example {}", unit.example()),
            None => f.write_str("; write for example 4.7k, 330p or 2u2H"),
        }
    }
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
/// assert_eq!(parse_value("−0.5 Ω", Unit::Ohm)?, -0.5);
/// assert_eq!(parse_value("7.1 MHz", Unit::Hertz)?, 7.1e6);
/// assert!(parse_value("7.1m", Unit::Hertz).unwrap_err().to_string().contains("M is a million"));
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn parse_value(text: &str, unit: Unit) -> Result<f64, ValueError> {
    let quantity = parse_quantity(text).map_err(|error| ValueError {
        expected: Some(unit),
        ..error
    })?;
    if let Some(found) = quantity.unit.filter(|found| *found != unit) {
        return Err(ValueError::new(text, Some(unit), Fault::OtherUnit(found)));
    }
    // Alone behind a length, m is the unit and no prefix.
    if unit == Unit::Metre && (quantity.prefix, quantity.unit) == (Some('m'), None) {
        return text_before_unit(text)
            .parse()
            .map_err(|_| ValueError::new(text, Some(unit), Fault::NoNumber));
    }
    if unit == Unit::Hertz && quantity.prefix == Some('m') {
        return Err(ValueError::new(text, Some(unit), Fault::MilliHertz));
    }
    Ok(quantity.value)
}

/// What stands before a final m.
fn text_before_unit(text: &str) -> String {
    let plain = plain_characters(text);
    plain.strip_suffix('m').unwrap_or(&plain).trim().to_owned()
}

/// Reads a value of any unit.
///
/// # Errors
/// [`ValueError`] as for [`parse_value`].
pub fn parse_quantity(text: &str) -> Result<Quantity, ValueError> {
    let fail = |fault| ValueError::new(text.trim(), None, fault);
    let plain = plain_characters(text);
    let (mantissa, tail) = split_number(&plain);
    if !mantissa.bytes().any(|b| b.is_ascii_digit()) {
        return Err(fail(Fault::NoNumber));
    }
    let tail = tail.trim();
    if tail.starts_with(',') {
        return Err(fail(Fault::Comma));
    }
    let (scale, digits, unit) = split_tail(tail).ok_or_else(|| fail(Fault::Tail(tail.into())))?;
    let mut number = mantissa.to_owned();
    if !digits.is_empty() {
        if mantissa.contains(['.', 'e', 'E']) {
            return Err(fail(Fault::Tail(tail.into())));
        }
        number.push('.');
        number.push_str(digits);
    }
    // The prefix joins the number as text, so 4.7k is the double nearest to 4700.
    let value = with_exponent(&number, scale.map_or(0, |(_, exponent)| exponent));
    match value {
        Some(value) if value.is_finite() => Ok(Quantity {
            value,
            unit,
            prefix: scale.map(|(letter, _)| letter),
        }),
        Some(_) => Err(fail(Fault::TooLarge)),
        None => Err(fail(Fault::NoNumber)),
    }
}

/// The text with typographic signs and blanks replaced by those of a keyboard.
pub fn plain_characters(text: &str) -> String {
    text.trim()
        .chars()
        .filter(|c| !matches!(c, '\u{2009}' | '\u{202f}' | '\u{a0}' | '_'))
        .map(|c| match c {
            '\u{2212}' => '-',
            'µ' | 'μ' => 'u',
            other => other,
        })
        .collect()
}

fn split_number(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        at
    };
    let sign = usize::from(bytes.first().is_some_and(|b| matches!(b, b'+' | b'-')));
    let mut end = digits(sign);
    if bytes.get(end) == Some(&b'.') {
        end = digits(end + 1);
    }
    if bytes.get(end).is_some_and(|b| matches!(b, b'e' | b'E')) {
        let sign = usize::from(bytes.get(end + 1).is_some_and(|b| matches!(b, b'+' | b'-')));
        let exponent = digits(end + 1 + sign);
        if exponent > end + 1 + sign {
            end = exponent;
        }
    }
    text.split_at(end)
}

type Scale = Option<(char, i32)>;

/// Splits what follows a number into prefix, decimals after the letter, and unit.
fn split_tail(tail: &str) -> Option<(Scale, &str, Option<Unit>)> {
    if tail.is_empty() {
        return Some((None, "", None));
    }
    if let Some(unit) = Unit::of_sign(tail) {
        return Some((None, "", Some(unit)));
    }
    let letter = tail.chars().next()?;
    let rest = &tail[letter.len_utf8()..];
    let decimals = rest.len() - rest.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let (digits, sign) = rest.split_at(decimals);
    let sign = sign.trim();
    if letter == 'R' && !digits.is_empty() {
        return (sign.is_empty() || Unit::of_sign(sign) == Some(Unit::Ohm)).then_some((
            None,
            digits,
            Some(Unit::Ohm),
        ));
    }
    if letter == 'c' && digits.is_empty() && sign == "m" {
        return Some((Some(('c', -2)), "", Some(Unit::Metre)));
    }
    let exponent = exponent_of_prefix(letter)?;
    let unit = match sign {
        "" => None,
        sign => Some(Unit::of_sign_after_prefix(sign)?),
    };
    Some((Some((letter, exponent)), digits, unit))
}

fn exponent_of_prefix(letter: char) -> Option<i32> {
    Some(match letter {
        'f' => -15,
        'p' => -12,
        'n' => -9,
        'u' => -6,
        'm' => -3,
        'k' | 'K' => 3,
        'M' => 6,
        'G' => 9,
        'T' => 12,
        _ => return None,
    })
}

fn with_exponent(number: &str, exponent: i32) -> Option<f64> {
    let (mantissa, own) = match number.find(['e', 'E']) {
        Some(at) => (&number[..at], number[at + 1..].parse::<i32>().ok()?),
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
    fn what_is_no_value_says_why() {
        for (text, unit, reason) in [
            ("", Unit::Ohm, "no number"),
            ("k", Unit::Ohm, "no number"),
            ("4,7k", Unit::Ohm, "point"),
            ("4.7x", Unit::Ohm, "\"x\""),
            ("4.7k7", Unit::Ohm, "\"k7\""),
            ("330pF", Unit::Ohm, "capacitance"),
            ("3 cF", Unit::Farad, "\"cF\""),
            ("3 mm", Unit::Second, "length"),
            ("2m5", Unit::Metre, "no length"),
            ("7.1 mHz", Unit::Hertz, "M is a million"),
            ("1e999", Unit::Ohm, "largest"),
            ("NaN", Unit::Ohm, "no number"),
            ("inf", Unit::Ohm, "no number"),
        ] {
            let error = parse_value(text, unit).unwrap_err().to_string();
            assert!(error.contains(reason), "{text}: {error}");
        }
    }
}
