//! Numbers held against the expected ones.

use num_complex::Complex64;

/// Passes where |value − expected| ≤ tolerance.
///
/// # Panics
/// Where it is more, with `what`.
#[track_caller]
pub fn near(what: &str, value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance,
        "{what}: {value}, expected {expected} ± {tolerance}"
    );
}

/// Passes where |value − expected| ≤ share·|expected|.
///
/// # Panics
/// Where it is more.
#[track_caller]
pub fn near_by_share(value: Complex64, expected: Complex64, share: f64) {
    let off = (value - expected).norm();
    assert!(
        off <= share * expected.norm(),
        "{value}, expected {expected}, off by {off:e}"
    );
}

/// Passes where both lists are equally long and each value is within `share` of the expected one.
///
/// # Panics
/// Where one is not.
#[track_caller]
pub fn same(values: &[f64], expected: &[f64], share: f64) {
    assert_eq!(values.len(), expected.len(), "{values:?} for {expected:?}");
    for (value, expected_one) in values.iter().zip(expected) {
        assert!(
            (value / expected_one - 1.0).abs() <= share,
            "{values:?} for {expected:?}"
        );
    }
}
