//! Numbers taken back from text as it is shown to people: true minus, thin spaces, prefixes.
//!
//! Written out a second time, by none of the library's parsers: what is shown wrongly and read
//! back by the same mistake would go unseen.

use num_complex::Complex64;

/// The prefixes that are shown, and their powers of ten.
const PREFIXES: [(char, i32); 9] = [
    ('f', -15),
    ('p', -12),
    ('n', -9),
    ('µ', -6),
    ('m', -3),
    ('k', 3),
    ('M', 6),
    ('G', 9),
    ('T', 12),
];

/// Ohms from text such as "17.4 kΩ" or "4.8k".
///
/// # Panics
/// Where the text is no resistance.
#[track_caller]
pub fn ohm(text: &str) -> f64 {
    let plain: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let plain = plain.replace('−', "-");
    let scaled = plain.strip_suffix('Ω').unwrap_or(&plain);
    let (digits, power) = PREFIXES
        .into_iter()
        .find_map(|(prefix, power)| Some((scaled.strip_suffix(prefix)?, power)))
        .unwrap_or((scaled, 0));
    // Scaled by the digits' own reader, so that nothing is rounded twice.
    let (digits, own_power) = match digits.split_once('e') {
        Some((digits, own)) => (digits, own.parse::<i32>().ok()),
        None => (digits, Some(0)),
    };
    own_power
        .and_then(|own| format!("{digits}e{}", own + power).parse().ok())
        .unwrap_or_else(|| panic!("no resistance: {text}"))
}

/// A complex number from text such as "0.5833 − j0.4167", or ohms from "0.0 − j150.0 kΩ",
/// where the unit belongs to both parts.
///
/// # Panics
/// Where the text is neither.
#[track_caller]
pub fn complex(text: &str) -> Complex64 {
    let (number, unit) = match text.split_once('\u{202f}') {
        Some((number, unit)) => (number, unit),
        None => (text, ""),
    };
    let (real, sign, imaginary) = [(" + j", 1.0), (" − j", -1.0)]
        .into_iter()
        .find_map(|(mark, sign)| {
            let (real, imaginary) = number.split_once(mark)?;
            Some((real, sign, imaginary))
        })
        .unwrap_or_else(|| panic!("no complex number: {text}"));
    let part = |digits: &str| ohm(&format!("{digits}{unit}"));
    Complex64::new(part(real), sign * part(imaginary))
}
