//! How near an answer has to come.

use jigwise_bench::Complex64;

/// The distance from the right value within which an answer is right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tolerance {
    /// One unit in the last of so many significant digits of the right answer. For a complex
    /// answer these are the digits of its magnitude. It is one unit and not a half, so that a
    /// student who cut digits off on the way loses nothing (common practice, no source).
    Digits(u32),
    /// A stated uncertainty, in the unit of the answer.
    Uncertainty(f64),
}

impl Tolerance {
    /// The largest accepted distance from `right`.
    pub fn around(self, right: f64) -> f64 {
        match self {
            Self::Uncertainty(distance) => distance,
            Self::Digits(digits) => unit_in_digit(right, digits),
        }
    }

    /// True where `answer` is near enough to `right`.
    pub fn allows(self, answer: Complex64, right: Complex64) -> bool {
        // The last bits of the computer's own arithmetic are nobody's fault.
        const ROUNDING: f64 = 1.0 + 1e-9;
        (answer - right).norm() <= self.around(right.norm()) * ROUNDING
    }

    /// True where `answer` is the right one given with fewer digits than were asked for.
    pub(crate) fn is_coarse(self, answer: Complex64, right: Complex64) -> bool {
        let Self::Digits(digits) = self else {
            return false;
        };
        (1..digits).any(|fewer| {
            let half = unit_in_digit(right.norm(), fewer) / 2.0;
            let rounded = |value: f64| (value / (2.0 * half)).round() * 2.0 * half;
            let coarse = Complex64::new(rounded(right.re), rounded(right.im));
            coarse != Complex64::ZERO && (answer - coarse).norm() <= half * 1e-6
        })
    }
}

/// One in the last of `digits` significant digits of `value`.
fn unit_in_digit(value: f64, digits: u32) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let leading = value.abs().log10().floor() as i32;
    10f64.powi(leading + 1 - digits as i32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_counted_from_the_first() {
        for (value, digits, unit) in [
            (4_723.0, 3, 10.0),
            (0.0471, 2, 0.001),
            (-12.309, 3, 0.1),
            (999.9, 1, 100.0),
        ] {
            let found = Tolerance::Digits(digits).around(value);
            assert!((found / unit - 1.0).abs() < 1e-12, "{value}: {found}");
        }
    }

    #[test]
    fn a_coarse_answer_is_known_from_a_wrong_one() {
        let number = |value| Complex64::new(value, 0.0);
        let three = Tolerance::Digits(3);
        assert!(three.is_coarse(number(4_700.0), number(4_723.0)));
        assert!(three.is_coarse(number(5_000.0), number(4_723.0)));
        assert!(!three.is_coarse(number(4_800.0), number(4_723.0)));
        assert!(!Tolerance::Uncertainty(1.0).is_coarse(number(4_700.0), number(4_723.0)));
    }
}
