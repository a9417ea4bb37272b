//! Numbers that can't stand for what they were given as, and the scale between decibels and
//! ratios.

use std::f64::consts::TAU;

use num_complex::Complex64;

/// Nepers in a decibel of amplitude, ln10/20. A small change of magnitude in nepers equals the
/// relative change δ|S|/|S|.
pub const NEPER_PER_DB: f64 = std::f64::consts::LN_10 / 20.0;

/// A number that can't stand for the physical quantity it was given as.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum NumberError {
    /// NaN or infinite where a finite number is needed.
    NotFinite {
        /// The quantity, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// Zero or negative where a positive number is needed.
    NotPositive {
        /// The quantity, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// Negative where zero or more is needed.
    Negative {
        /// The quantity, with its unit.
        what: &'static str,
        /// The value given.
        value: f64,
    },
    /// Both voltage and current are zero: no ratio.
    NoRatio,
}

impl NumberError {
    /// True where the value was NaN or infinite.
    pub fn is_not_finite(&self) -> bool {
        matches!(self, Self::NotFinite { .. })
    }

    /// True where the value had to be positive.
    pub fn is_not_positive(&self) -> bool {
        matches!(self, Self::NotPositive { .. })
    }
}

impl std::fmt::Display for NumberError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotFinite { what, value } => {
                write!(f, "{what} is {value}: give a finite number")
            }
            Self::NotPositive { what, value } => {
                write!(f, "{what} is {value}: give a number above zero")
            }
            Self::Negative { what, value } => {
                write!(f, "{what} is {value}: give zero or more")
            }
            Self::NoRatio => f.write_str(
                "voltage and current are both zero, which is no impedance: \
                 use (1, 0) for an open and (0, 1) for a short",
            ),
        }
    }
}

impl std::error::Error for NumberError {}

pub(crate) fn finite(what: &'static str, value: Complex64) -> Result<Complex64, NumberError> {
    finite_real(what, value.re)?;
    finite_real(what, value.im)?;
    Ok(value)
}

pub(crate) fn finite_real(what: &'static str, value: f64) -> Result<f64, NumberError> {
    if value.is_finite() {
        return Ok(value);
    }
    Err(NumberError::NotFinite { what, value })
}

pub(crate) fn positive(what: &'static str, value: f64) -> Result<f64, NumberError> {
    finite_real(what, value)?;
    if value <= 0.0 {
        return Err(NumberError::NotPositive { what, value });
    }
    Ok(value)
}

pub(crate) fn not_negative(what: &'static str, value: f64) -> Result<f64, NumberError> {
    finite_real(what, value)?;
    if value < 0.0 {
        return Err(NumberError::Negative { what, value });
    }
    Ok(value)
}

/// ω in radians per second.
pub(crate) fn omega(freq_hz: f64) -> Result<f64, NumberError> {
    Ok(TAU * positive("frequency in hertz", freq_hz)?)
}

/// An entry of a budget outside its range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EntryError {
    /// The entry, in words.
    pub entry: &'static str,
    /// The value given.
    pub value: f64,
    /// Least value allowed.
    pub min: f64,
    /// Greatest value allowed.
    pub max: f64,
    /// Unit of the three numbers; empty for a plain ratio.
    pub unit: &'static str,
}

impl std::fmt::Display for EntryError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let gap = if self.unit.is_empty() { "" } else { " " };
        let Self {
            entry,
            value,
            min,
            max,
            unit,
        } = self;
        let [value, min, max] = [*value, *min, *max].map(short);
        write!(
            f,
            "{entry} is {value}{gap}{unit}: give a value from {min} to {max}{gap}{unit}"
        )
    }
}

impl std::error::Error for EntryError {}

/// A number without a long row of zeros.
fn short(value: f64) -> String {
    const PLAIN: std::ops::Range<f64> = 1e-6..1e10;
    if value == 0.0 || !value.is_finite() || PLAIN.contains(&value.abs()) {
        value.to_string()
    } else {
        format!("{value:e}")
    }
}

pub(crate) fn within(
    entry: &'static str,
    value: f64,
    min: f64,
    max: f64,
    unit: &'static str,
) -> Result<f64, EntryError> {
    // NaN is in no range.
    if (min..=max).contains(&value) {
        return Ok(value);
    }
    Err(EntryError {
        entry,
        value,
        min,
        max,
        unit,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_has_no_long_rows_of_zeros() {
        let bandwidth = within("IF bandwidth", 1e12, 1e-3, 1e9, "Hz").unwrap_err();
        assert_eq!(
            bandwidth.to_string(),
            "IF bandwidth is 1e12 Hz: give a value from 0.001 to 1000000000 Hz"
        );
        let floor = within("floor", 0.0, 1e-15, 1.0, "").unwrap_err();
        assert_eq!(
            floor.to_string(),
            "floor is 0: give a value from 1e-15 to 1"
        );
    }
}
