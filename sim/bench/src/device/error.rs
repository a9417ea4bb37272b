//! Why a device can't be read, or can't be computed.

use std::fmt;

use jigwise_physics::NumberError;
use jigwise_quantity::{MAX_QUOTED, Unit, ValueError, engineering, excerpt};

/// A device that can't be read, or can't be computed.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum DeviceError {
    /// Text that names no device.
    Value(ValueError),
    /// A value that may be a coil or a capacitor.
    Ambiguous {
        /// The text found.
        text: String,
    },
    /// A value in a unit that no device has.
    WrongUnit {
        /// The text found.
        text: String,
        /// Its unit.
        unit: Unit,
    },
    /// A coil or capacitor below zero.
    Negative {
        /// The text found.
        text: String,
    },
    /// A coil or capacitor without a frequency has no impedance.
    NeedsFrequency,
    /// A table that is none.
    Table(&'static str),
    /// A frequency outside a table.
    OutsideTable {
        /// The frequency asked for, Hz.
        freq_hz: f64,
        /// The table's first, Hz.
        first_hz: f64,
        /// The table's last, Hz.
        last_hz: f64,
    },
    /// A number outside what physics takes.
    Number(NumberError),
}

impl std::error::Error for DeviceError {}

impl From<NumberError> for DeviceError {
    fn from(error: NumberError) -> Self {
        Self::Number(error)
    }
}

impl fmt::Display for DeviceError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quoted = |text: &str| excerpt(text, MAX_QUOTED);
        match self {
            Self::Value(error) => write!(
                f,
                "{error}. A device is open, short, R + jX such as \"330 - j120\", a resistor \
                 4.7k, a capacitor 330p or a coil 2u2H"
            ),
            Self::Ambiguous { text } => write!(
                f,
                "\"{text}\" may be a coil or a capacitor; write {text}H or {text}F",
                text = quoted(text)
            ),
            Self::WrongUnit { text, unit } => write!(
                f,
                "\"{}\" is {}, expected ohms, farads or henries",
                quoted(text),
                unit.a_quantity()
            ),
            Self::Negative { text } => write!(
                f,
                "\"{}\" is below zero, expected a coil or capacitor above zero; for a \
                 reactance write \"j40\" or \"-j40\"",
                quoted(text)
            ),
            Self::NeedsFrequency => f.write_str(
                "this part has an impedance only at a frequency; give one, for example 7.1M",
            ),
            Self::Table(what) => write!(f, "a table of impedances: {what}"),
            Self::OutsideTable {
                freq_hz,
                first_hz,
                last_hz,
            } => write!(
                f,
                "{} is outside the table of this part, which runs from {} to {}; stay inside, or \
                 measure it there",
                engineering(*freq_hz, "Hz", 5),
                engineering(*first_hz, "Hz", 5),
                engineering(*last_hz, "Hz", 5)
            ),
            Self::Number(error) => error.fmt(f),
        }
    }
}
