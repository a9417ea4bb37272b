//! Ratios as people read them: plain numbers and percentages, no prefix.

use crate::show::{fixed, percent};

/// `value` with `digits` significant digits, without prefix or exponent: for ratios near one.
///
/// ```
/// use jigwise_quantity::significant;
///
/// assert_eq!(significant(0.0208333, 3), "0.0208");
/// assert_eq!(significant(24.01, 3), "24.0");
/// ```
pub fn significant(value: f64, digits: usize) -> String {
    let leading = match value.abs().log10() {
        power if power.is_finite() => power.floor() as i32,
        _ => 0,
    };
    fixed(value, (digits as i32 - 1 - leading).max(0) as usize)
}

/// The size of a ratio as a percentage without a sign.
///
/// ```
/// use jigwise_quantity::unsigned_percent;
///
/// assert_eq!(unsigned_percent(-0.0196), "1.96\u{202f}%");
/// ```
pub fn unsigned_percent(share: f64) -> String {
    percent(share).trim_start_matches(['+', '−']).to_owned()
}
