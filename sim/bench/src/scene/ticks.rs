//! Round values to be marked on a scale.

use std::ops::RangeInclusive;

/// Room for rounding where an end of a scale is itself a round value.
const AT_END: f64 = 1e-9;

/// Round values from `low` to `high` in even steps of 1, 2 or 5 times a power of ten, about
/// `steps` of them at most. `low` alone where the scale has no length.
pub(super) fn even(low: f64, high: f64, steps: f64) -> Vec<f64> {
    let least = (high - low) / steps;
    if least <= 0.0 || !least.is_finite() {
        return vec![low];
    }
    let power = 10f64.powf(least.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|step| step * power)
        .find(|step| *step >= least * 0.999)
        .unwrap_or(10.0 * power);
    let first = (low / step - AT_END).ceil() as i64;
    let last = (high / step + AT_END).floor() as i64;
    (first..=last).map(|k| k as f64 * step).collect()
}

/// The exponents of the powers of ten on a scale between two logarithms.
pub(super) fn decades(low_log10: f64, high_log10: f64) -> RangeInclusive<i32> {
    ((low_log10 - AT_END).ceil() as i32)..=((high_log10 + AT_END).floor() as i32)
}

/// 1 to 9 times each power of ten, rising, with the digit.
pub(super) fn digits(exponents: RangeInclusive<i32>) -> impl Iterator<Item = (f64, u32)> {
    exponents.flat_map(|exponent| {
        (1..10).map(move |digit| (10f64.powi(exponent) * f64::from(digit), digit))
    })
}

/// Of the decades of ohms `decade` apart, every how manieth has room for a word in letters of
/// this size.
pub(super) fn decades_per_word(decade: f64, type_size: f64) -> i32 {
    /// Width of "100 mΩ" with air around it, in heights of its letters.
    const WORD: f64 = 4.2;
    const MOST: f64 = 9.0;
    (WORD * type_size / decade).ceil().clamp(1.0, MOST) as i32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn even_steps_are_round() {
        assert_eq!(
            even(0.0, 30.0, 6.0),
            [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0]
        );
        assert_eq!(even(7.0, 7.0, 6.0), [7.0]);
        assert_eq!(even(7.1, 7.3, 5.0).len(), 5);
    }

    #[test]
    fn an_end_that_is_a_power_of_ten_is_marked() {
        assert_eq!(decades(-2.0, 3.0), -2..=3);
        assert_eq!(decades(0.1, 2.9), 1..=2);
        assert_eq!(digits(0..=1).last(), Some((90.0, 9)));
    }

    #[test]
    fn words_are_left_out_where_decades_are_narrow() {
        assert_eq!(decades_per_word(60.0, 14.0), 1);
        assert_eq!(decades_per_word(50.0, 14.0), 2);
        assert_eq!(decades_per_word(30.0, 14.0), 2);
        assert_eq!(decades_per_word(0.0, 14.0), 9);
    }
}
