//! Numbers taken back from text as it is shown to people: true minus, thin spaces, prefixes.

use jigwise_bench::{Unit, parse_value};
use num_complex::Complex64;

/// Ohms from text such as "17.4 kΩ".
///
/// # Panics
/// Where the text is no resistance.
#[track_caller]
pub fn ohm(text: &str) -> f64 {
    parse_value(text, Unit::Ohm).unwrap_or_else(|error| panic!("{error}"))
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
