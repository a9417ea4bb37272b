//! Devices as a person names them.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use jigwise_physics::{
    Complex64, Fixture, Immittance, LineEnd, NumberError, Part, ReferenceImpedance,
};
use jigwise_touchstone::Sweep;

use jigwise_quantity::{Quantity, Unit, ValueError, parse_quantity, parse_value, plain_characters};
use jigwise_quantity::{complex_ohm, engineering};

/// A part of the junk box.
#[derive(Debug, Clone, PartialEq)]
pub enum Device {
    /// A fixed R + jX, Ω, the same at every frequency. R below zero is an active part.
    Fixed(Complex64),
    /// A coil, H.
    Inductor(f64),
    /// A capacitor, F.
    Capacitor(f64),
    /// Nothing connected.
    Open,
    /// A perfect link.
    Short,
    /// A part with what comes with it.
    Part(Part),
    /// A part known by its impedance at some frequencies.
    Table(ImpedanceTable),
}

/// Impedance against frequency, as measured or computed elsewhere. Between its points R and X
/// run straight.
#[derive(Debug, Clone, PartialEq)]
pub struct ImpedanceTable {
    freq_hz: Arc<[f64]>,
    z_ohm: Arc<[Complex64]>,
}

impl ImpedanceTable {
    /// A table of impedances in ohms at rising frequencies in hertz.
    ///
    /// # Errors
    /// [`DeviceError::Table`] for no point, columns of different length, or frequencies that do
    /// not rise; [`DeviceError::Number`] for a value that is not finite.
    pub fn new(freq_hz: Vec<f64>, z_ohm: Vec<Complex64>) -> Result<Self, DeviceError> {
        if freq_hz.is_empty() || freq_hz.len() != z_ohm.len() {
            return Err(DeviceError::Table(
                "expected at least one frequency, with one impedance for each",
            ));
        }
        if freq_hz.iter().any(|f| !f.is_finite() || *f <= 0.0)
            || !freq_hz.is_sorted_by(|a, b| a < b)
        {
            return Err(DeviceError::Table(
                "frequencies must be above zero and rise from one point to the next",
            ));
        }
        for z in &z_ohm {
            Immittance::from_impedance(*z)?;
        }
        Ok(Self {
            freq_hz: freq_hz.into(),
            z_ohm: z_ohm.into(),
        })
    }

    /// A one-port sweep as a device.
    ///
    /// # Errors
    /// [`DeviceError`] for a sweep of more ports, or one with an open among its points.
    pub fn of_sweep(sweep: &Sweep) -> Result<Self, DeviceError> {
        const OPEN: DeviceError =
            DeviceError::Table("a point of the sweep is an open, which has no impedance in ohms");
        if sweep.ports() != 1 {
            return Err(DeviceError::Table("expected a one-port sweep (.s1p)"));
        }
        let z0 = ReferenceImpedance::new(sweep.reference_ohm())?;
        let z_ohm = (0..sweep.len())
            .map(|k| {
                Fixture::Reflect
                    .immittance(sweep.s(k, 1, 1), z0)?
                    .impedance()
                    .ok_or(OPEN)
            })
            .collect::<Result<_, DeviceError>>()?;
        Self::new(sweep.frequency_hz().to_vec(), z_ohm)
    }

    /// The frequencies, Hz, rising.
    pub fn freq_hz(&self) -> &[f64] {
        &self.freq_hz
    }

    /// The impedances, Ω, one for each frequency.
    pub fn z_ohm(&self) -> &[Complex64] {
        &self.z_ohm
    }

    fn immittance(&self, freq_hz: f64) -> Result<Immittance, DeviceError> {
        let (first, last) = (self.freq_hz[0], self.freq_hz[self.freq_hz.len() - 1]);
        if !(first..=last).contains(&freq_hz) {
            return Err(DeviceError::OutsideTable {
                freq_hz,
                first_hz: first,
                last_hz: last,
            });
        }
        let above = self.freq_hz.partition_point(|f| *f < freq_hz);
        let z = if self.freq_hz[above] == freq_hz {
            self.z_ohm[above]
        } else {
            let (low, high) = (self.freq_hz[above - 1], self.freq_hz[above]);
            let share = (freq_hz - low) / (high - low);
            self.z_ohm[above - 1] * (1.0 - share) + self.z_ohm[above] * share
        };
        Ok(Immittance::from_impedance(z)?)
    }
}

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
        match self {
            Self::Value(error) => write!(
                f,
                "{error}. A device is open, short, R + jX such as \"330 - j120\", a resistor \
                 4.7k, a capacitor 330p or a coil 2u2H"
            ),
            Self::Ambiguous { text } => write!(
                f,
                "\"{text}\" may be a coil or a capacitor; write {text}H or {text}F"
            ),
            Self::WrongUnit { text, unit } => write!(
                f,
                "\"{text}\" is a {}, expected ohms, farads or henries",
                unit.quantity()
            ),
            Self::Negative { text } => write!(
                f,
                "\"{text}\" is below zero, expected a coil or capacitor above zero; for a \
                 reactance write \"j40\" or \"-j40\""
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

impl Device {
    /// The device as [`str::parse`] takes it back, for the kinds that can be typed; others as
    /// shown.
    pub(crate) fn typed(&self) -> String {
        match self {
            Self::Fixed(ohm) => fixed_text(*ohm),
            Self::Inductor(henry) => format!("{henry:e} H"),
            Self::Capacitor(farad) => format!("{farad:e} F"),
            other => other.to_string(),
        }
    }

    /// The impedance at a frequency in hertz, which all but fixed parts, opens and shorts need.
    ///
    /// # Errors
    /// [`DeviceError::NeedsFrequency`], or [`DeviceError::Number`] for a frequency that is not
    /// above zero or a value beyond the range of doubles.
    pub fn immittance(&self, freq_hz: Option<f64>) -> Result<Immittance, DeviceError> {
        let needed = || freq_hz.ok_or(DeviceError::NeedsFrequency);
        Ok(match self {
            Self::Fixed(ohm) => Immittance::from_impedance(*ohm)?,
            Self::Inductor(henry) => Immittance::ideal_inductor(*henry, needed()?)?,
            Self::Capacitor(farad) => Immittance::ideal_capacitor(*farad, needed()?)?,
            Self::Part(part) => part.immittance(needed()?)?,
            Self::Table(table) => table.immittance(needed()?)?,
            Self::Open => Immittance::OPEN,
            Self::Short => Immittance::SHORT,
        })
    }
}

impl fmt::Display for Device {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const DIGITS: usize = 4;
        f.write_str(&match self {
            Self::Fixed(ohm) if ohm.im == 0.0 => engineering(ohm.re, "Ω", DIGITS),
            Self::Fixed(ohm) => complex_ohm(*ohm, DIGITS),
            Self::Inductor(henry) => format!("coil of {}", engineering(*henry, "H", DIGITS)),
            Self::Capacitor(farad) => format!("capacitor of {}", engineering(*farad, "F", DIGITS)),
            Self::Open => "open".to_owned(),
            Self::Short => "short".to_owned(),
            Self::Part(part) => part_words(part, DIGITS),
            Self::Table(table) => format!(
                "table of {} impedances from {} to {}",
                table.freq_hz.len(),
                engineering(table.freq_hz[0], "Hz", DIGITS),
                engineering(table.freq_hz[table.freq_hz.len() - 1], "Hz", DIGITS)
            ),
        })
    }
}

/// R + jX with every digit.
pub(crate) fn fixed_text(ohm: Complex64) -> String {
    let sign = if ohm.im.is_sign_negative() { '-' } else { '+' };
    format!("{:e} {sign} j{:e}", ohm.re, ohm.im.abs())
}

/// A part in a few words: its value, then what comes with it.
fn part_words(part: &Part, digits: usize) -> String {
    let show = |value: f64, unit: &str| engineering(value, unit, digits);
    let with = |rest: [(f64, &str, &str); 3]| {
        let named: Vec<String> = rest
            .into_iter()
            .filter(|(value, ..)| *value > 0.0)
            .map(|(value, unit, what)| format!("{} {what}", show(value, unit)))
            .collect();
        if named.is_empty() {
            String::new()
        } else {
            format!(" with {}", named.join(", "))
        }
    };
    const NONE: (f64, &str, &str) = (0.0, "", "");
    match part {
        Part::Resistor(p) => format!(
            "resistor of {}{}",
            show(p.resistance_ohm, "Ω"),
            with([
                (p.parallel_capacitance_f, "F", "across it"),
                (p.series_inductance_h, "H", "in series"),
                NONE,
            ])
        ),
        Part::Capacitor(p) => format!(
            "capacitor of {}{}",
            show(p.capacitance_f, "F"),
            with([
                (p.esr_ohm, "Ω", "ESR"),
                (p.esl_h, "H", "ESL"),
                (p.leakage_ohm.unwrap_or(0.0), "Ω", "leakage"),
            ])
        ),
        Part::Inductor(p) => format!(
            "coil of {}{}",
            show(p.inductance_h, "H"),
            with([
                (p.series_resistance_ohm, "Ω", "in series"),
                (p.parallel_capacitance_f, "F", "across it"),
                (
                    p.skin.map_or(0.0, |skin| skin.resistance_ohm),
                    "Ω",
                    "skin loss",
                ),
            ])
        ),
        Part::SeriesRlc(p) => format!(
            "{}, {} and {} in series",
            show(p.resistance_ohm, "Ω"),
            show(p.inductance_h, "H"),
            show(p.capacitance_f, "F")
        ),
        Part::ParallelRlc(p) => format!(
            "{}, {} and {} side by side",
            show(p.resistance_ohm, "Ω"),
            show(p.inductance_h, "H"),
            show(p.capacitance_f, "F")
        ),
        Part::Crystal(p) => format!(
            "crystal with its series resonance at {}",
            engineering(p.series_resonance_hz, "Hz", 7)
        ),
        Part::Choke(p) => format!(
            "choke of {} on a core that relaxes at {}",
            show(p.inductance_h, "H"),
            show(p.relaxation_hz, "Hz")
        ),
        Part::Stub(p) => format!(
            "{} of {} line, {} long",
            match p.end {
                LineEnd::Open => "open stub",
                LineEnd::Short => "shorted stub",
            },
            show(p.zc_ohm, "Ω"),
            show(p.delay_s, "s")
        ),
    }
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
            let ohm = complex_of(parts, Unit::Ohm).map_err(DeviceError::Value)?;
            return Ok(Self::Fixed(ohm));
        }
        let Quantity {
            value,
            unit,
            prefix,
        } = parse_quantity(&plain).map_err(DeviceError::Value)?;
        let text = || text.trim().to_owned();
        let unit = match (unit, prefix) {
            (Some(unit), _) => unit,
            (None, Some('f' | 'p' | 'n')) => Unit::Farad,
            (None, Some('u')) => return Err(DeviceError::Ambiguous { text: text() }),
            (None, _) => Unit::Ohm,
        };
        match unit {
            Unit::Ohm => Ok(Self::Fixed(Complex64::new(value, 0.0))),
            Unit::Farad | Unit::Henry if value <= 0.0 => {
                Err(DeviceError::Negative { text: text() })
            }
            Unit::Farad => Ok(Self::Capacitor(value)),
            Unit::Henry => Ok(Self::Inductor(value)),
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
        Some(parts) => complex_of(parts, Unit::One),
        None => parse_value(&plain, Unit::One).map(|re| Complex64::new(re, 0.0)),
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
            ("4.7k", fixed(4_700.0, 0.0)),
            ("10m", fixed(0.01, 0.0)),
            ("330p", Device::Capacitor(330e-12)),
            ("100 nF", Device::Capacitor(100e-9)),
            ("2u2H", Device::Inductor(2.2e-6)),
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
            ("3 + jx", "no number"),
            ("", "no number"),
        ] {
            let error = text.parse::<Device>().unwrap_err().to_string();
            assert!(error.contains(reason), "{text}: {error}");
        }
    }
}
