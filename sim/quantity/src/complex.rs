//! Complex numbers as people read them.

use num_complex::Complex64;

use crate::prefix::prefix_for;
use crate::show::{exponent_of, fixed, shifted, signed, with_unit};

/// R + jX with one prefix for both parts, the larger one with `digits` significant digits.
///
/// ```
/// use jigwise_quantity::{Complex64, complex_ohm};
///
/// assert_eq!(complex_ohm(Complex64::new(330.0, -120.0), 4), "330.0 − j120.0\u{202f}Ω");
/// assert_eq!(complex_ohm(Complex64::new(0.2, 2_175.0), 4), "0.000 + j2.175\u{202f}kΩ");
/// ```
pub fn complex_ohm(ohm: Complex64, digits: usize) -> String {
    let largest = ohm.re.abs().max(ohm.im.abs());
    if !largest.is_finite() {
        return "–".to_owned();
    }
    if largest == 0.0 {
        return with_unit("0", "", "Ω");
    }
    let digits = digits.max(1);
    let exponent = exponent_of(&format!("{:.*e}", digits - 1, largest));
    let sign = if ohm.im < 0.0 { '−' } else { '+' };
    let Some((power, prefix)) = prefix_for(exponent) else {
        let plain = |value: f64| format!("{:.*e}", digits - 1, value.abs());
        let real = signed(ohm.re, plain(ohm.re));
        return with_unit(&format!("{real} {sign} j{}", plain(ohm.im)), "", "Ω");
    };
    let decimals = (digits as i32 - 1 - (exponent - power)).max(0) as usize;
    let real = fixed(shifted(ohm.re, power), decimals);
    let imaginary = fixed(shifted(ohm.im.abs(), power), decimals);
    with_unit(&format!("{real} {sign} j{imaginary}"), prefix, "Ω")
}

/// A complex number without a unit, the larger part with `digits` significant digits.
///
/// ```
/// use jigwise_quantity::{Complex64, plain_complex};
///
/// assert_eq!(plain_complex(Complex64::new(0.760705, -0.075567), 4), "0.7607 − j0.0756");
/// ```
pub fn plain_complex(value: Complex64, digits: usize) -> String {
    const MOST_DECIMALS: i32 = 9;
    let largest = value.re.abs().max(value.im.abs());
    if !largest.is_finite() {
        return "–".to_owned();
    }
    let digits = digits.max(1);
    let exponent = exponent_of(&format!("{:.*e}", digits - 1, largest));
    let decimals = (digits as i32 - 1 - exponent.min(digits as i32 - 1)).min(MOST_DECIMALS);
    let decimals = decimals.max(0) as usize;
    let sign = if value.im < 0.0 { '−' } else { '+' };
    format!(
        "{} {sign} j{}",
        fixed(value.re, decimals),
        fixed(value.im.abs(), decimals)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ohms_beyond_the_prefixes_stay_short() {
        for size in [1e308, 1e-300, 3e15, 1e-17] {
            let shown = complex_ohm(Complex64::new(-size, 0.5 * size), 4);
            assert!(shown.len() < 40 && shown.starts_with('−'), "{shown}");
        }
    }
}
