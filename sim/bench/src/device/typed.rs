//! Devices and readings as people type them.

use std::str::FromStr;

use jigwise_physics::{Complex64, Part};
use jigwise_quantity::{Quantity, Unit, ValueError, parse_quantity, parse_value, plain_characters};

use super::{Device, DeviceError};

impl Device {
    /// The device as [`str::parse`] takes it back, for the kinds that can be typed; others as
    /// shown.
    pub(crate) fn typed(&self) -> String {
        match self {
            Self::Fixed(ohm) => fixed_text(*ohm),
            Self::Part(Part::Resistor(p)) if p.is_ideal() => format!("{:e} ohm", p.resistance_ohm),
            Self::Part(Part::Inductor(p)) if p.is_ideal() => format!("{:e} H", p.inductance_h),
            Self::Part(Part::Capacitor(p)) if p.is_ideal() => format!("{:e} F", p.capacitance_f),
            other => other.to_string(),
        }
    }
}

/// R + jX with every digit.
pub(crate) fn fixed_text(ohm: Complex64) -> String {
    let sign = if ohm.im.is_sign_negative() { '-' } else { '+' };
    format!("{:e} {sign} j{:e}", ohm.re, ohm.im.abs())
}

/// Reads a device as typed: `open`, `short`, `4.7k`, `330p`, `2u2H`, `330 - j120`, `j50`.
///
/// Without a unit, f, p and n are capacitors (common practice, no source) and u is refused as
/// unclear; no prefix, m, k, M, G and T are ohms.
impl FromStr for Device {
    type Err = DeviceError;

    fn from_str(text: &str) -> Result<Self, DeviceError> {
        let plain = plain_characters(text);
        match plain.to_ascii_lowercase().as_str() {
            "open" => return Ok(Self::Open),
            "short" => return Ok(Self::Short),
            _ => {}
        }
        if let Some(parts) = split_reactance(&plain) {
            let ohm = complex_of(parts, Unit::Ohm)
                .map_err(|error| DeviceError::Value(error.quoting(text)))?;
            return Ok(Self::Fixed(ohm));
        }
        let Quantity {
            value,
            unit,
            prefix,
        } = parse_quantity(text).map_err(DeviceError::Value)?;
        let text = || text.trim().to_owned();
        let unit = match (unit, prefix) {
            (Some(unit), _) => unit,
            (None, Some('f' | 'p' | 'n')) => Unit::Farad,
            (None, Some('u')) => return Err(DeviceError::Ambiguous { text: text() }),
            (None, _) => Unit::Ohm,
        };
        match unit {
            Unit::Ohm => Ok(Self::resistor(value)),
            Unit::Farad | Unit::Henry if value <= 0.0 => {
                Err(DeviceError::Negative { text: text() })
            }
            Unit::Farad => Ok(Self::capacitor(value)),
            Unit::Henry => Ok(Self::inductor(value)),
            unit => Err(DeviceError::WrongUnit { text: text(), unit }),
        }
    }
}

/// Reads a reading as typed: `0.98`, `0.2 - j0.1`, `-j0.5`.
///
/// # Errors
/// [`ValueError`] for text that is no such number.
pub fn parse_reading(text: &str) -> Result<Complex64, ValueError> {
    let plain = plain_characters(text);
    match split_reactance(&plain) {
        Some(parts) => complex_of(parts, Unit::One).map_err(|error| error.quoting(text)),
        None => parse_value(text, Unit::One).map(|re| Complex64::new(re, 0.0)),
    }
}

fn complex_of((re, im): (&str, String), unit: Unit) -> Result<Complex64, ValueError> {
    let re = match re.trim() {
        "" => 0.0,
        part => parse_value(part, unit)?,
    };
    Ok(Complex64::new(re, parse_value(&im, unit)?))
}

/// Splits "330 - j120" into "330" and "-120", "-j40" into "" and "-40", "3+40j" likewise.
fn split_reactance(text: &str) -> Option<(&str, String)> {
    let j = text.find('j')?;
    let before = text[..j].trim_end();
    let after = text[j + 1..].trim();
    let sign_at = before.rfind(['+', '-']).filter(|at| {
        // The sign of an exponent belongs to its number.
        !before[..*at].ends_with(['e', 'E'])
    });
    let (resistance, sign, between) = match sign_at {
        Some(at) => (&before[..at], &before[at..=at], before[at + 1..].trim()),
        None if after.is_empty() => ("", "", before),
        None => (before, "", ""),
    };
    let digits = match (between, after) {
        ("", "") => "1",
        ("", digits) | (digits, "") => digits,
        _ => return None,
    };
    if sign_at.is_none() && !resistance.is_empty() {
        return None;
    }
    Some((resistance, format!("{sign}{digits}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn devices_as_people_type_them() {
        let fixed = |re, im| Device::Fixed(Complex64::new(re, im));
        for (text, device) in [
            ("330 - j120", fixed(330.0, -120.0)),
            ("330−j120", fixed(330.0, -120.0)),
            ("1k2+470j", fixed(1_200.0, 470.0)),
            ("-j40", fixed(0.0, -40.0)),
            ("j2.5k", fixed(0.0, 2_500.0)),
            ("1e-3 + j1e3", fixed(1e-3, 1e3)),
            ("-50 + j10", fixed(-50.0, 10.0)),
            ("3+j", fixed(3.0, 1.0)),
            ("4.7k", Device::resistor(4_700.0)),
            ("4,7k", Device::resistor(4_700.0)),
            ("330,5 - j120,25", fixed(330.5, -120.25)),
            ("-50", fixed(-50.0, 0.0)),
            ("0", fixed(0.0, 0.0)),
            ("10m", Device::resistor(0.01)),
            ("330p", Device::capacitor(330e-12)),
            ("100 nF", Device::capacitor(100e-9)),
            ("2u2H", Device::inductor(2.2e-6)),
            ("Open", Device::Open),
            (" short ", Device::Short),
        ] {
            assert_eq!(text.parse(), Ok(device), "{text}");
        }
    }

    #[test]
    fn what_is_no_device_says_why() {
        for (text, reason) in [
            ("10u", "10uH or 10uF"),
            ("7.1 MHz", "frequency"),
            ("-330p", "above zero"),
            ("0H", "above zero"),
            ("resistor", "no number"),
            ("3 j4", "neither"),
            ("330 - j1,200", "\"330 - j1,200\" is not clear"),
            ("_", "\"_\""),
            ("1 000", "write 1000"),
            ("3 + jx", "no number"),
            ("", "no number"),
        ] {
            let error = text.parse::<Device>().unwrap_err().to_string();
            assert!(error.contains(reason), "{text}: {error}");
        }
    }
}
