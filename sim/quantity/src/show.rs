//! Numbers as people read them: engineering prefixes, a true minus, a fixed count of digits.

use crate::prefix::prefix_for;

/// Between a number and its unit: narrow, and never a line break.
const UNIT_GAP: char = '\u{202f}';
/// More decimals than these are digits of the computation.
const MOST_DECIMALS: i32 = 9;

/// `value` with `digits` significant digits and the prefix that leaves one to three of them
/// before the point. NaN and infinity have no number and are shown as a dash.
///
/// ```
/// use jigwise_quantity::engineering;
///
/// assert_eq!(engineering(4_700.0, "Ω", 3), "4.70\u{202f}kΩ");
/// assert_eq!(engineering(-0.0999996, "Ω", 4), "−100.0\u{202f}mΩ");
/// assert_eq!(engineering(0.0, "Ω", 3), "0\u{202f}Ω");
/// ```
pub fn engineering(value: f64, unit: &str, digits: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    if value == 0.0 {
        return with_unit("0", "", unit);
    }
    let digits = digits.max(1);
    let rounded = format!("{:.*e}", digits - 1, value.abs());
    let exponent = exponent_of(&rounded);
    let Some((power, prefix)) = prefix_for(exponent) else {
        return with_unit(&signed(value, rounded), "", unit);
    };
    let decimals = (digits as i32 - 1 - (exponent - power)).max(0) as usize;
    let mantissa = shifted(value.abs(), power);
    with_unit(
        &signed(value, format!("{mantissa:.decimals$}")),
        prefix,
        unit,
    )
}

/// `value` with a fixed count of decimals and a true minus; a dash for NaN and infinity.
///
/// ```
/// use jigwise_quantity::fixed;
///
/// assert_eq!(fixed(-3.5218, 2), "−3.52");
/// assert_eq!(fixed(-0.0004, 2), "0.00");
/// ```
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let text = format!("{:.decimals$}", value.abs());
    let is_zero = text.bytes().all(|b| matches!(b, b'0' | b'.'));
    if is_zero { text } else { signed(value, text) }
}

/// An angle in degrees with a fixed count of decimals. What rounds to −180 is 180: the two are one
/// direction, and which of them a computation ends on is an accident of its last digit.
///
/// ```
/// use jigwise_quantity::angle;
///
/// assert_eq!(angle(-36.87, 1), "−36.9°");
/// assert_eq!(angle(-179.999, 2), "180.00°");
/// assert_eq!(angle(-179.999, 3), "−179.999°");
/// ```
pub fn angle(degrees: f64, decimals: usize) -> String {
    let half_turn = fixed(-180.0, decimals);
    let text = fixed(degrees, decimals);
    let text = if text == half_turn {
        fixed(180.0, decimals)
    } else {
        text
    };
    text + "°"
}

/// A value and its uncertainty `spread` with one prefix, the latter with two digits.
///
/// ```
/// use jigwise_quantity::with_spread;
///
/// assert_eq!(with_spread(4_703.2, 23.7, "Ω"), "(4.703 ± 0.024)\u{202f}kΩ");
/// assert_eq!(with_spread(2e-9, 0.0, "H"), "2.0000\u{202f}nH");
/// assert_eq!(with_spread(0.0712, 0.065, ""), "(0.071 ± 0.065)");
/// assert_eq!(with_spread(0.0124301, 0.0, ""), "0.012430");
/// assert_eq!(with_spread(1e-9, 1e-21, "F"), "1.0000\u{202f}nF");
/// ```
pub fn with_spread(value: f64, spread: f64, unit: &str) -> String {
    if spread <= 0.0 || !spread.is_finite() || !value.is_finite() {
        return rounded(value, unit, 5);
    }
    let largest = value.abs().max(spread);
    let exponent = exponent_of(&format!("{largest:.3e}"));
    let (power, prefix) = match prefix_for(exponent) {
        Some(known) if !unit.is_empty() => known,
        _ => (0, ""),
    };
    let scaled = shifted(spread, power);
    let decimals = (1 - exponent_of(&format!("{scaled:.1e}"))).clamp(0, MOST_DECIMALS) as usize;
    let spread = fixed(scaled, decimals);
    if spread.bytes().all(|b| matches!(b, b'0' | b'.')) {
        // Digits of the computation, no uncertainty of nought.
        return with_spread(value, 0.0, unit);
    }
    let both = format!("({} ± {spread})", fixed(shifted(value, power), decimals));
    with_unit(&both, prefix, unit)
}

/// A range from `low` to `high` with one prefix, its ends rounded to about a tenth of its width
/// and to two digits at least; each end with its own prefix where they are far apart.
///
/// ```
/// use jigwise_quantity::range;
///
/// assert_eq!(range(4_372.0, 5_081.0, "Ω"), "4.4 to 5.1\u{202f}kΩ");
/// assert_eq!(range(2_180.0, 16_400.0, "Ω"), "2.2 to 16\u{202f}kΩ");
/// assert_eq!(range(99.71, 100.43, "Ω"), "99.7 to 100.4\u{202f}Ω");
/// assert_eq!(range(0.31, 21_000.0, "Ω"), "310\u{202f}mΩ to 21\u{202f}kΩ");
/// ```
pub fn range(low: f64, high: f64, unit: &str) -> String {
    const FAR_APART: f64 = 30.0;
    let width = high - low;
    if !width.is_finite() || width <= 0.0 || low <= 0.0 || high > FAR_APART * low {
        return format!(
            "{} to {}",
            engineering(low, unit, 2),
            engineering(high, unit, 2)
        );
    }
    let (power, prefix) = common_prefix(high, 2);
    let step = exponent_of(&format!("{:e}", 0.5 * width));
    let end = |value: f64| {
        let two_digits = exponent_of(&format!("{value:.1e}")) - 1;
        let decimals = (power - step.min(two_digits)).clamp(0, MOST_DECIMALS) as usize;
        fixed(shifted(value, power), decimals)
    };
    with_unit(&format!("{} to {}", end(low), end(high)), prefix, unit)
}

/// A value with the half width of its interval behind ±, the latter with one digit, or two where
/// the first is a one.
///
/// ```
/// use jigwise_quantity::plus_minus;
///
/// assert_eq!(plus_minus(4_703.2, 362.0, "Ω"), "4.7 ± 0.4\u{202f}kΩ");
/// assert_eq!(plus_minus(51.04, 0.138, "Ω"), "51.04 ± 0.14\u{202f}Ω");
/// assert_eq!(plus_minus(999.7, 30.0, "Ω"), "1.00 ± 0.03\u{202f}kΩ");
/// assert_eq!(plus_minus(123.4, 28.3, "Ω"), "120 ± 30\u{202f}Ω");
/// assert_eq!(plus_minus(0.02, 0.276, "Ω"), "0 ± 300\u{202f}mΩ");
/// ```
pub fn plus_minus(value: f64, half_width: f64, unit: &str) -> String {
    if half_width <= 0.0 || !half_width.is_finite() || !value.is_finite() {
        return rounded(value, unit, 5);
    }
    let rounded = format!("{half_width:.1e}");
    let digits = if rounded.starts_with('1') { 1 } else { 0 };
    let last = exponent_of(&format!("{half_width:.digits$e}")) - digits as i32;
    let largest = value.abs().max(half_width);
    let digits_of_largest = (exponent_of(&format!("{largest:e}")) - last).clamp(0, 15) as usize;
    let (power, prefix) = common_prefix(largest, digits_of_largest + 1);
    let decimals = (power - last).clamp(0, MOST_DECIMALS) as usize;
    // Where the last known digit stands before the point, noughts follow it.
    let place = 10f64.powi((last - power).max(0));
    let shown = |value: f64| {
        let places = shifted(value, power) / place;
        if last > power {
            fixed(places.round() * place, 0)
        } else {
            fixed(places, decimals)
        }
    };
    let both = format!("{} ± {}", shown(value), shown(half_width));
    with_unit(&both, prefix, unit)
}

/// A value with the digits that its standard uncertainty `spread` leaves it, down to the second
/// digit of that, and with no more than `most`.
///
/// ```
/// use jigwise_quantity::as_known;
///
/// assert_eq!(as_known(4_703.21, 23.7, "Ω", 5), "4.703\u{202f}kΩ");
/// assert_eq!(as_known(4_703.21, 0.0, "Ω", 5), "4.7032\u{202f}kΩ");
/// assert_eq!(as_known(-2.8422e-14, 0.057, "Ω", 5), "0\u{202f}Ω");
/// assert_eq!(as_known(0.0312, 0.057, "Ω", 5), "31\u{202f}mΩ");
/// assert_eq!(as_known(457.8, 1e-9, "Ω", 4), "457.8\u{202f}Ω");
/// assert_eq!(as_known(50.1, 1e-9, "Ω", 4), "50.10\u{202f}Ω");
/// assert_eq!(as_known(-3.0, 200.0, "Ω", 4), "0\u{202f}Ω");
/// ```
pub fn as_known(value: f64, spread: f64, unit: &str, most: usize) -> String {
    if spread <= 0.0 || !spread.is_finite() || !value.is_finite() {
        return engineering(value, unit, most);
    }
    let largest = value.abs().max(spread);
    let top = exponent_of(&format!("{largest:.1e}"));
    let last = (exponent_of(&format!("{spread:.1e}")) - 1).max(top - most as i32 + 1);
    let (power, prefix) = common_prefix(largest, 2);
    let scaled = shifted(value, power);
    let decimals = (power - last).clamp(0, MOST_DECIMALS) as usize;
    // Above the decimal point the digits that are not known are zeros.
    let step = 10f64.powi(last - power);
    let shown = if last > power {
        (scaled / step).round() * step
    } else {
        scaled
    };
    let number = fixed(shown, decimals);
    let is_zero = number.bytes().all(|b| matches!(b, b'0' | b'.'));
    match is_zero {
        true => with_unit("0", "", unit),
        false => with_unit(&number, prefix, unit),
    }
}

/// The prefix of `value` rounded to `digits`, none where no prefix is large or small enough.
fn common_prefix(value: f64, digits: usize) -> (i32, &'static str) {
    let rounded = format!("{:.*e}", digits.max(1) - 1, value.abs());
    prefix_for(exponent_of(&rounded)).unwrap_or((0, ""))
}

/// `value` with `digits` significant digits: as [`engineering`] where it has a unit, without a
/// prefix where it has none.
///
/// ```
/// use jigwise_quantity::rounded;
///
/// assert_eq!(rounded(0.0123, "Ω", 2), "12\u{202f}mΩ");
/// assert_eq!(rounded(0.0123, "", 2), "0.012");
/// ```
pub fn rounded(value: f64, unit: &str, digits: usize) -> String {
    if unit.is_empty() {
        ratio(value, digits)
    } else {
        engineering(value, unit, digits)
    }
}

/// A number without a unit, which takes no prefix: a Q of 0.0124 is not "12.4 m".
fn ratio(value: f64, digits: usize) -> String {
    if !value.is_finite() || value == 0.0 {
        return engineering(value, "", digits);
    }
    let rounded = format!("{:.*e}", digits - 1, value.abs());
    let exponent = exponent_of(&rounded);
    if !(-4..9).contains(&exponent) {
        return signed(value, rounded);
    }
    let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
    signed(value, format!("{:.decimals$}", value.abs()))
}

pub(crate) fn exponent_of(scientific: &str) -> i32 {
    scientific
        .split_once('e')
        .and_then(|(_, exponent)| exponent.parse().ok())
        .unwrap_or(0)
}

pub(crate) fn shifted(value: f64, power: i32) -> f64 {
    value / 10f64.powi(power)
}

/// A number as it was shown, without the zeros at the end of its decimals.
///
/// ```
/// use jigwise_quantity::without_zeros;
///
/// assert_eq!(without_zeros("4.700\u{202f}kΩ"), "4.7\u{202f}kΩ");
/// assert_eq!(without_zeros("50.0"), "50");
/// assert_eq!(without_zeros("100"), "100");
/// ```
pub fn without_zeros(text: &str) -> String {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '−'))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    if !number.contains('.') {
        return text.to_owned();
    }
    let number = number.trim_end_matches('0').trim_end_matches('.');
    format!("{number}{unit}")
}

pub(crate) fn signed(value: f64, magnitude: String) -> String {
    if value < 0.0 {
        format!("−{magnitude}")
    } else {
        magnitude
    }
}

pub(crate) fn with_unit(number: &str, prefix: &str, unit: &str) -> String {
    if prefix.is_empty() && unit.is_empty() {
        return number.to_owned();
    }
    format!("{number}{UNIT_GAP}{prefix}{unit}")
}

/// A ratio as a percentage with its sign, three digits of it and from a thousand percent on all.
///
/// ```
/// use jigwise_quantity::percent;
///
/// assert_eq!(percent(0.1), "+10.0\u{202f}%");
/// assert_eq!(percent(-12.34), "−1\u{202f}234\u{202f}%");
/// ```
pub fn percent(share: f64) -> String {
    let size = share.abs() * 100.0;
    let text = if size >= 1_000.0 {
        grouped(size)
    } else {
        let decimals = if size < 1.0 {
            3
        } else if size < 10.0 {
            2
        } else if size < 100.0 {
            1
        } else {
            0
        };
        fixed(size, decimals)
    };
    let sign = if share < 0.0 { '−' } else { '+' };
    format!("{sign}{text}\u{202f}%")
}

/// A number rounded to whole ones, its digits in groups of three parted by thin spaces.
///
/// ```
/// use jigwise_quantity::grouped;
///
/// assert_eq!(grouped(1_234_567.0), "1\u{202f}234\u{202f}567");
/// ```
pub fn grouped(value: f64) -> String {
    let digits = format!("{value:.0}");
    let mut text = String::new();
    for (k, digit) in digits.chars().enumerate() {
        if k > 0 && (digits.len() - k).is_multiple_of(3) {
            text.push('\u{202f}');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Unit, parse_value};

    #[test]
    fn rounding_carries_into_the_next_prefix() {
        assert_eq!(engineering(999.96, "Ω", 4), "1.000\u{202f}kΩ");
        assert_eq!(engineering(1e-16, "F", 3), "1.00e-16\u{202f}F");
        assert_eq!(fixed(-0.0004, 2), "0.00");
        assert_eq!(fixed(-3.5218, 2), "−3.52");
    }

    #[test]
    fn what_is_shown_is_taken_back() {
        for value in [4_700.0, -0.33, 1.234e-11, 99.99, 5e12, -7.1e6] {
            let shown = engineering(value, "Ω", 9);
            let back = parse_value(&shown, Unit::Ohm).unwrap();
            assert!((back / value - 1.0).abs() < 1e-8, "{shown}");
        }
    }
}
