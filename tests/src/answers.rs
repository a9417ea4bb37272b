//! What a command answers as JSON, taken apart.

use num_complex::Complex64;
use serde_json::Value;

/// The three fixtures as the commands name them.
pub const KEYS: [&str; 3] = ["reflect", "shunt-through", "series-through"];

/// A number.
///
/// # Panics
/// Where the value is something else.
#[track_caller]
pub fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("no number: {value}"))
}

/// R + jX of a point, in ohms.
///
/// # Panics
/// Where it has no `r_ohm` or `x_ohm`.
#[track_caller]
pub fn ohms(point: &Value) -> Complex64 {
    Complex64::new(number(&point["r_ohm"]), number(&point["x_ohm"]))
}

/// Passes where a number is within `tolerance` of the expected one.
///
/// # Panics
/// Where it is not.
#[track_caller]
pub fn answer_near(value: &Value, expected: f64, tolerance: f64) {
    let found = number(value);
    assert!(
        (found - expected).abs() <= tolerance,
        "{found}, expected {expected}"
    );
}

/// The names of an object's fields in the alphabet's order.
///
/// # Panics
/// Where the value is no object.
#[track_caller]
pub fn field_names(value: &Value) -> Vec<&str> {
    let fields = value
        .as_object()
        .unwrap_or_else(|| panic!("no object: {value}"));
    let mut names: Vec<_> = fields.keys().map(String::as_str).collect();
    names.sort_unstable();
    names
}
