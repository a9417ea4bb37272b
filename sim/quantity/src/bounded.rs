//! Values with a bound, whole numbers and lists.

use crate::error::{Expected, Fault, ValueError};
use crate::number::plain_characters;
use crate::parse::{parse_in, parse_value};
use crate::show::{engineering, without_zeros};
use crate::unit::Unit;

/// Reads a value above zero, as [`parse_value`] does.
///
/// # Errors
/// [`ValueError`].
///
/// ```
/// use jigwise_quantity::{Unit, above_zero};
///
/// assert_eq!(above_zero("7.1M", Unit::Hertz)?, 7.1e6);
/// let error = above_zero("0", Unit::Hertz).unwrap_err().to_string();
/// assert!(error.contains("expected a frequency above zero"));
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn above_zero(text: &str, unit: Unit) -> Result<f64, ValueError> {
    let value = parse_value(text, unit)?;
    if value > 0.0 {
        Ok(value)
    } else {
        Err(ValueError::new(text, unit, Fault::NotAboveZero))
    }
}

/// Reads a value above zero that has a prefix or a unit, as people mean 7.1 MHz by `7.1`.
///
/// # Errors
/// [`ValueError`], with the likely meaning of a bare number.
///
/// ```
/// use jigwise_quantity::{Unit, above_zero_with_unit};
///
/// assert_eq!(above_zero_with_unit("7.1M", Unit::Hertz)?, 7.1e6);
/// assert_eq!(above_zero_with_unit("50 Hz", Unit::Hertz)?, 50.0);
/// let error = above_zero_with_unit("7.1", Unit::Hertz).unwrap_err().to_string();
/// assert!(error.contains("write 7.1 MHz if that is meant, or 7.1 Hz"), "{error}");
/// let error = above_zero_with_unit("7.1e6", Unit::Hertz).unwrap_err().to_string();
/// assert!(error.contains("write 7.1 MHz if"), "{error}");
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn above_zero_with_unit(text: &str, unit: Unit) -> Result<f64, ValueError> {
    let value = above_zero(text, unit)?;
    check_unit_written(text, unit)?;
    Ok(value)
}

/// Refuses a number other than zero without a prefix and a unit, where people are likely to mean
/// a prefix: frequencies, capacitances, inductances and times. Other units pass.
///
/// # Errors
/// [`ValueError`], with the likely meaning.
///
/// ```
/// use jigwise_quantity::{Unit, check_unit_written};
///
/// let error = check_unit_written("29.2", Unit::Second).unwrap_err().to_string();
/// assert!(error.contains("write 29.2 ps if that is meant, or 29.2 s"), "{error}");
/// assert!(check_unit_written("330p", Unit::Farad).is_ok());
/// assert!(check_unit_written("0", Unit::Farad).is_ok());
/// assert!(check_unit_written("50", Unit::Ohm).is_ok());
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn check_unit_written(text: &str, unit: Unit) -> Result<(), ValueError> {
    // The prefix that people leave out, and the size from which a number in plain units is not
    // what a part or a sweep has.
    let (prefix, is_unlikely): (_, fn(f64) -> bool) = match unit {
        Unit::Hertz => ("M", |hertz| hertz < 1e4),
        Unit::Farad => ("p", |farad| farad >= 1e-2),
        Unit::Henry => ("u", |henry| henry >= 1e-2),
        Unit::Second => ("p", |second| second >= 1e-3),
        _ => return Ok(()),
    };
    let found = parse_in(text, unit)?;
    if found.unit.is_some() || found.prefix.is_some() || found.value == 0.0 {
        return Ok(());
    }
    let typed = unit.typed();
    let number = plain_characters(text);
    let likely = if is_unlikely(found.value.abs()) {
        format!("{number} {prefix}{typed}")
    } else {
        let shown = without_zeros(&engineering(found.value, typed, 12));
        shown.replace('\u{202f}', " ")
    };
    let plain = format!("{number} {typed}");
    Err(ValueError::new(text, unit, Fault::Bare { likely, plain }))
}

/// Reads a value of zero or more, as [`parse_value`] does.
///
/// # Errors
/// [`ValueError`].
///
/// ```
/// use jigwise_quantity::{Unit, zero_or_more};
///
/// assert_eq!(zero_or_more("0", Unit::Farad)?, 0.0);
/// assert!(zero_or_more("-1 pF", Unit::Farad).is_err());
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn zero_or_more(text: &str, unit: Unit) -> Result<f64, ValueError> {
    let value = parse_value(text, unit)?;
    if value >= 0.0 {
        Ok(value)
    } else {
        Err(ValueError::new(text, unit, Fault::BelowZero))
    }
}

/// Reads a value from `least` to `most`, as [`parse_value`] does.
///
/// # Errors
/// [`ValueError`].
///
/// ```
/// use jigwise_quantity::{Unit, between};
///
/// assert_eq!(between("45°", Unit::Degree, -90.0, 90.0)?, 45.0);
/// let error = between("95", Unit::Degree, -90.0, 90.0).unwrap_err().to_string();
/// assert!(error.contains("from -90 to 90"));
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn between(text: &str, unit: Unit, least: f64, most: f64) -> Result<f64, ValueError> {
    let value = parse_value(text, unit)?;
    if (least..=most).contains(&value) {
        Ok(value)
    } else {
        Err(ValueError::new(
            text,
            unit,
            Fault::NotBetween { least, most },
        ))
    }
}

/// Reads a whole number from `least` to `most`.
///
/// # Errors
/// [`ValueError`], also for a number with decimals, a prefix or a unit.
///
/// ```
/// use jigwise_quantity::parse_count;
///
/// assert_eq!(parse_count("16", 1, 1_000)?, 16);
/// let error = parse_count("0", 1, 1_000).unwrap_err();
/// assert_eq!(error.to_string(), "\"0\" is no count, expected a whole number from 1 to 1000");
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn parse_count(text: &str, least: u64, most: u64) -> Result<u64, ValueError> {
    match plain_characters(text).parse() {
        Ok(count) if (least..=most).contains(&count) => Ok(count),
        _ => Err(ValueError::new(
            text,
            Expected::ANY,
            Fault::NoCount { least, most },
        )),
    }
}

/// Reads a list of values parted by commas. A comma can be no decimal sign here, so that each
/// entry needs its unit: `120,5 ps` would otherwise be 120 s and 5 ps.
///
/// # Errors
/// [`ValueError`] for the first entry without a unit or of another quantity.
///
/// ```
/// use jigwise_quantity::{Unit, parse_list};
///
/// assert_eq!(parse_list("120 ps, 80.5 ps", Unit::Second)?, [120e-12, 80.5e-12]);
/// let error = parse_list("120,5 ps", Unit::Second).unwrap_err().to_string();
/// assert!(error.contains("\"120\" in \"120,5 ps\" has no unit"));
/// # Ok::<(), jigwise_quantity::ValueError>(())
/// ```
pub fn parse_list(text: &str, unit: Unit) -> Result<Vec<f64>, ValueError> {
    text.split(',')
        .map(|entry| {
            let quantity = parse_in(entry, unit)?;
            if quantity.unit.is_some() {
                return Ok(quantity.value);
            }
            let expected = Expected {
                what: unit.quantity(),
                example: unit.example().into(),
            };
            let entry = entry.trim().to_owned();
            Err(ValueError::new(
                text,
                expected,
                Fault::NoUnitInList { entry },
            ))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_of_a_list_needs_its_unit() {
        for (text, entry) in [
            ("0,5 ps", "\"0\""),
            ("1,5 ps,2 ps", "\"1\""),
            ("10 ps,20", "\"20\""),
            ("30", "\"30\""),
        ] {
            let error = parse_list(text, Unit::Second).unwrap_err().to_string();
            assert!(error.starts_with(entry), "{error}");
        }
        assert_eq!(parse_list("2 m,3 mm", Unit::Metre), Ok(vec![2.0, 0.003]));
        assert!(parse_list("10 ps,,20 ps", Unit::Second).is_err());
    }

    #[test]
    fn a_count_is_a_whole_number_of_its_range() {
        assert_eq!(parse_count("1\u{202f}000", 1, 1_000), Ok(1_000));
        assert_eq!(
            parse_count("18446744073709551615", 0, u64::MAX),
            Ok(u64::MAX)
        );
        for text in ["0", "1.5", "-1", "1k", "1001", "", "18446744073709551616"] {
            assert!(parse_count(text, 1, 1_000).is_err(), "{text}");
        }
    }
}
