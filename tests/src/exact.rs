//! Numbers without rounding: fractions of whole numbers, so that what an f64 formula loses
//! is seen and not guessed.

use num_complex::{Complex, Complex64};
use num_rational::BigRational;
use num_traits::ToPrimitive;
use proptest::prop_assert;
use proptest::test_runner::TestCaseResult;

/// A complex number whose two parts are fractions of whole numbers.
pub type Exact = Complex<BigRational>;

/// The fraction that a finite f64 is.
///
/// # Panics
/// For NaN and infinity.
pub fn fraction(value: f64) -> BigRational {
    BigRational::from_float(value).expect("only finite numbers are fractions")
}

/// The complex fraction that a finite pair of f64 is.
///
/// # Panics
/// For NaN and infinity.
pub fn exact(value: Complex64) -> Exact {
    Complex::new(fraction(value.re), fraction(value.im))
}

/// The nearest f64 pair.
///
/// # Panics
/// Where a part has no nearest f64.
pub fn rounded(value: &Exact) -> Complex64 {
    let part = |x: &BigRational| x.to_f64().expect("in the range of f64");
    Complex64::new(part(&value.re), part(&value.im))
}

/// |value − true|/|true|, with the difference taken before any rounding. 0/0 counts as 0.
pub fn relative_error(value: Complex64, truth: &Exact) -> f64 {
    let miss = rounded(&(exact(value) - truth.clone())).norm();
    if miss == 0.0 {
        return 0.0;
    }
    miss / rounded(truth).norm()
}

/// Passes where |value − truth| ≤ tolerance.
///
/// # Errors
/// The failure of the random case, with both values.
pub fn close(what: &str, value: Complex64, truth: Complex64, tolerance: f64) -> TestCaseResult {
    let miss = (value - truth).norm();
    prop_assert!(
        miss <= tolerance,
        "{what}: {value} for {truth}, off by {miss:e}, allowed {tolerance:e}"
    );
    Ok(())
}
