//! What the checks of the open file standard share.

use jigwise_touchstone::{Sweep, TouchstoneError, read_text};
use num_complex::Complex64;

pub use crate::fifty_ohm::c;

/// Two ports at one frequency.
pub const TWO_PORT: &str = "# MHz S RI R 50\n1 .11 .011 .21 .021 .12 .012 .22 .022\n";

/// Reads what must be readable.
///
/// # Panics
/// With the reader's sentence, where it is not.
#[track_caller]
pub fn read(name: &str, text: &str) -> Sweep {
    read_text(text.as_bytes(), name).unwrap_or_else(|error| panic!("{error}\nin {text:?}"))
}

/// The error of what must not be readable.
///
/// # Panics
/// Where it was read.
#[track_caller]
pub fn refused(name: &str, text: &str) -> TouchstoneError {
    match read_text(text.as_bytes(), name) {
        Ok(sweep) => panic!("{text:?} was read as {sweep:?}"),
        Err(error) => error,
    }
}

/// The message names the file, the line, and each of `words`.
///
/// # Panics
/// Where it does not.
#[track_caller]
pub fn says(error: &TouchstoneError, line: Option<usize>, words: &[&str]) {
    let message = error.to_string();
    assert_eq!(error.line(), line, "{message}");
    assert!(message.starts_with(error.file()), "{message}");
    for word in words {
        assert!(message.contains(word), "no \"{word}\" in: {message}");
    }
}

/// Equal within the rounding of one operation.
///
/// # Panics
/// Where they are not.
#[track_caller]
pub fn same_reading(value: Complex64, expected: Complex64) {
    assert!((value - expected).norm() <= 1e-15, "{value} for {expected}");
}
