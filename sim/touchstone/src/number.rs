//! Decimal numbers as the standard writes them, each the nearest double.

use crate::error::Located;
use crate::problem::Problem;
use crate::text::is_blank;

/// The number that begins at `at`, and where it ends. It must end at a blank, a comment or the
/// line's end.
#[inline]
pub(crate) fn number_at(line: &[u8], at: usize) -> Result<(f64, usize), Located> {
    let text = &line[at..];
    if let Ok((value, length)) = fast_float2::parse_partial::<f64, _>(text) {
        let plain = matches!(text[0], b'0'..=b'9' | b'+' | b'-' | b'.') && value.is_finite();
        let ends = text
            .get(length)
            .is_none_or(|next| is_blank(*next) || *next == b'!');
        if plain && ends {
            return Ok((value, at + length));
        }
    }
    Err(no_number(line, at))
}

#[cold]
fn no_number(line: &[u8], at: usize) -> Located {
    let word = crate::text::words(&line[at..]).next();
    let text = word.map(|word| word.text()).unwrap_or_default();
    let advice = advice(&text);
    let text = text.replace(char::is_control, "\u{fffd}");
    Located::at(
        line,
        at,
        Problem::Number {
            found: text,
            advice,
        },
    )
}

fn advice(text: &str) -> &'static str {
    let lower = text.to_ascii_lowercase();
    if lower.contains("nan") || lower.contains("inf") {
        "it must be finite: repeat that point of the sweep, delete its line, or write -400 for \
         a zero reading in decibels"
    } else if text.contains(char::is_control) {
        "it is not even text: this is no Touchstone file, export the sweep as one"
    } else if text.parse().is_ok_and(f64::is_infinite) {
        "it is larger than any reading can be: repeat that point of the sweep or delete its line"
    } else if text.contains(',') {
        "write the decimal with a point and part numbers by blanks"
    } else if lower.contains('d') {
        "write the exponent with an E"
    } else {
        "a note needs an exclamation mark before it"
    }
}

/// Longest number whose unit joins it on the stack; longer ones take the heap.
const STACK: usize = 64;

/// A frequency in hertz. The unit joins the number as text, so that 0.067 GHz is the double
/// nearest to 67 MHz.
pub(crate) fn frequency_hz(
    line: &[u8],
    at: usize,
    value: f64,
    end: usize,
    unit_exponent: i32,
) -> Result<f64, Located> {
    if unit_exponent == 0 {
        return Ok(value);
    }
    let word = &line[at..end];
    let (mantissa, written) = match word.iter().position(|b| matches!(b, b'e' | b'E')) {
        Some(e) => (&word[..e], exponent(&word[e + 1..])),
        None => (word, 0),
    };
    let exponent = written.saturating_add(unit_exponent);
    let joined = if mantissa.len() + 12 <= STACK {
        let mut buffer = [0; STACK];
        let length = join(&mut buffer, mantissa, exponent);
        fast_float2::parse::<f64, _>(&buffer[..length])
    } else {
        let mut text = mantissa.to_vec();
        text.extend_from_slice(format!("e{exponent}").as_bytes());
        fast_float2::parse::<f64, _>(&text)
    };
    match joined {
        Ok(freq_hz) if freq_hz.is_finite() => Ok(freq_hz),
        _ => Err(Located::at(
            line,
            at,
            Problem::Number {
                found: crate::text::shown(word),
                advice: "no frequency is that large: check the unit in the option line",
            },
        )),
    }
}

/// The exponent's digits; beyond any double it no longer matters by how much.
fn exponent(digits: &[u8]) -> i32 {
    let (sign, digits) = match digits {
        [b'-', rest @ ..] => (-1, rest),
        [b'+', rest @ ..] => (1, rest),
        rest => (1, rest),
    };
    let size = digits.iter().fold(0_i32, |sum, digit| {
        sum.saturating_mul(10)
            .saturating_add(i32::from(digit.saturating_sub(b'0')))
    });
    sign * size.min(100_000_000)
}

/// Writes `mantissa`, E and the exponent; gives the length.
fn join(buffer: &mut [u8; STACK], mantissa: &[u8], exponent: i32) -> usize {
    let mut at = mantissa.len();
    buffer[..at].copy_from_slice(mantissa);
    buffer[at] = b'e';
    at += 1;
    if exponent < 0 {
        buffer[at] = b'-';
        at += 1;
    }
    let mut size = exponent.unsigned_abs();
    let mut digits = [0; 10];
    let mut count = 0;
    loop {
        digits[count] = b'0' + (size % 10) as u8;
        count += 1;
        size /= 10;
        if size == 0 {
            break;
        }
    }
    for digit in digits[..count].iter().rev() {
        buffer[at] = *digit;
        at += 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library, which is correctly rounded.
    #[test]
    fn numbers_are_the_nearest_double() {
        let mut state = 20_261_126_u64;
        let mut next = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            state >> 11
        };
        for case in 0..400_000 {
            let (a, b) = (next() as f64 / 2f64.powi(53), next());
            let text = match case % 8 {
                0 => format!("{a}"),
                1 => format!("-{:.9}", a * 3.0),
                2 => format!("{:.6e}", a * 10f64.powi((b % 60) as i32 - 30)),
                3 => format!("{}", b % 1_000_000_007),
                4 => format!("{b}.{b}"),
                5 => format!("{:e}", f64::from_bits(b.wrapping_mul(4_097))),
                6 => format!("+0.{b:017}E-{}", b % 25),
                _ => format!(".{:08}e+0{}", b % 100_000_000, b % 9),
            };
            let expected: f64 = text.parse().unwrap();
            if !expected.is_finite() {
                continue;
            }
            let (found, end) = number_at(text.as_bytes(), 0).unwrap();
            assert_eq!(
                (found.to_bits(), end),
                (expected.to_bits(), text.len()),
                "{text}"
            );
        }
        for text in [
            "",
            "-",
            ".",
            "-.",
            "1e",
            "1e+",
            "1:",
            "0123456/",
            "1.1234567:",
            "1.2.3",
        ] {
            assert!(number_at(text.as_bytes(), 0).is_err(), "{text}");
        }
    }

    #[test]
    fn a_unit_joins_as_text() {
        for (text, unit, hz) in [
            ("0.067", 9, 67e6),
            ("7.1", 6, 7.1e6),
            ("1e-3", 6, 1e3),
            ("+2.5E+1", 3, 25e3),
            ("0", 9, 0.0),
            ("1e-999999999999", 9, 0.0),
        ] {
            let line = text.as_bytes();
            let (value, end) = number_at(line, 0).unwrap();
            assert_eq!(
                frequency_hz(line, 0, value, end, unit).unwrap(),
                hz,
                "{text}"
            );
        }
        let long = format!("0.{}1", "0".repeat(200));
        let (value, end) = number_at(long.as_bytes(), 0).unwrap();
        let found = frequency_hz(long.as_bytes(), 0, value, end, 9).unwrap();
        assert_eq!(found, format!("{long}e9").parse::<f64>().unwrap());
    }
}
