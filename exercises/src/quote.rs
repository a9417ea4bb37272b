//! Numbers quoted from a scenario, so that no text holds one that was typed by hand.

pub(crate) mod around;
pub(crate) mod seen;

pub use around::seems_larger_at;

use std::fmt;

use jigwise_bench::words::fixture_key;
use jigwise_bench::{
    Bench, Complex64, Device, Equivalents, Fixture, FixtureReadout, Part, Readout, Scenario,
    ScenarioError, complex_ohm, engineering, fixed, hint, plain_complex,
};

use crate::solve::nudged_level;

/// Between a number and its unit: narrow, and never a line break.
const UNIT_GAP: char = '\u{202f}';
const DEFAULT_DIGITS: usize = 3;
const MOST_DIGITS: usize = 15;

/// A reading as the analyzer's display shows it: level and angle, rounded.
///
/// Tasks and worked examples go on from here and not from the exact reading, so that a pocket
/// calculator gives the same digits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// 20·log10|S|, to a thousandth of a decibel.
    pub level_db: f64,
    /// The angle, to a hundredth of a degree.
    pub angle_deg: f64,
}

impl Shown {
    /// Decimals of the level.
    pub const LEVEL_DECIMALS: usize = 3;
    /// Decimals of the angle.
    pub const ANGLE_DECIMALS: usize = 2;

    /// What the display shows of a fixture; `None` for a zero reading or none at all.
    pub fn of(entry: &FixtureReadout) -> Option<Self> {
        Some(Self {
            level_db: rounded(entry.decibels()?, Self::LEVEL_DECIMALS),
            angle_deg: rounded(entry.degrees()?, Self::ANGLE_DECIMALS),
        })
    }

    /// The reading as one complex number.
    pub fn reading(self) -> Complex64 {
        Complex64::from_polar(self.magnitude(), self.angle_deg.to_radians())
    }

    /// |S| = 10^(level/20).
    pub fn magnitude(self) -> f64 {
        10f64.powf(self.level_db / 20.0)
    }
}

impl fmt::Display for Shown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}{UNIT_GAP}dB at {}°",
            fixed(self.level_db, Self::LEVEL_DECIMALS),
            fixed(self.angle_deg, Self::ANGLE_DECIMALS)
        )
    }
}

fn rounded(value: f64, decimals: usize) -> f64 {
    format!("{value:.decimals$}").parse().unwrap_or(value)
}

/// What can be quoted of a scenario.
const OF_THE_SCENARIO: [&str; 13] = [
    "title",
    "device",
    "frequency",
    "reference",
    "half-reference",
    "twice-reference",
    "r",
    "x",
    "z",
    "magnitude",
    "phase",
    "capacitance",
    "inductance",
];

/// What can be quoted of each fixture, after its name and a point.
const OF_A_FIXTURE: [&str; 12] = [
    "shown",
    "level",
    "angle",
    "reading",
    "size",
    "nudged",
    "moves",
    "r",
    "x",
    "z",
    "capacitance",
    "inductance",
];

/// A number asked for as `KEY` or `KEY DIGITS`, for example `series-through.level 2`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quote {
    key: String,
    digits: usize,
}

/// Something that can't be quoted.
#[derive(Debug, Clone, PartialEq)]
pub enum QuoteError {
    /// A key that nothing has.
    UnknownKey {
        /// The key found.
        key: String,
    },
    /// Digits that are no number from 1 to 15.
    Digits {
        /// The text found.
        text: String,
    },
    /// More or fewer words than a key and its digits.
    Form {
        /// The text found.
        text: String,
    },
    /// The scenario has no such number, as an open has no resistance.
    Undefined {
        /// The key asked for.
        key: String,
    },
    /// The scenario itself.
    Scenario(ScenarioError),
    /// `{{` without its `}}`.
    NotClosed,
}

impl std::error::Error for QuoteError {}

impl fmt::Display for QuoteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownKey { key } => {
                let keys = keys();
                let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
                let hint = hint(key, &keys);
                write!(f, "\"{key}\" is nothing that can be quoted{hint}")
            }
            Self::Digits { text } => write!(
                f,
                "\"{text}\" is no count of digits, expected a whole number from 1 to {MOST_DIGITS}"
            ),
            Self::Form { text } => write!(
                f,
                "\"{text}\" is no quote, expected a key and its digits, as in \"reflect.level 2\""
            ),
            Self::Undefined { key } => write!(
                f,
                "this scenario has no {key}; quote something else, change the device, or give it \
                 an [instrument]"
            ),
            Self::Scenario(error) => error.fmt(f),
            Self::NotClosed => f.write_str("{{ without }}; close it"),
        }
    }
}

fn keys() -> Vec<String> {
    let of_fixtures = Fixture::ALL.into_iter().flat_map(|fixture| {
        of_a_fixture().map(move |key| format!("{}.{key}", fixture_key(fixture)))
    });
    of_the_scenario()
        .map(str::to_owned)
        .chain(of_fixtures)
        .collect()
}

fn of_the_scenario() -> impl Iterator<Item = &'static str> {
    OF_THE_SCENARIO
        .into_iter()
        .chain(around::OF_THE_SCENARIO)
        .chain(seen::OF_THE_SCENARIO)
}

fn of_a_fixture() -> impl Iterator<Item = &'static str> {
    OF_A_FIXTURE
        .into_iter()
        .chain(around::OF_A_FIXTURE)
        .chain(seen::OF_A_FIXTURE)
}

impl std::str::FromStr for Quote {
    type Err = QuoteError;

    fn from_str(text: &str) -> Result<Self, QuoteError> {
        let mut words = text.split_whitespace();
        let form = || QuoteError::Form {
            text: text.trim().to_owned(),
        };
        let key = words.next().ok_or_else(form)?.to_owned();
        let digits = match words.next() {
            None => DEFAULT_DIGITS,
            Some(word) => word
                .parse()
                .ok()
                .filter(|digits| (1..=MOST_DIGITS).contains(digits))
                .ok_or_else(|| QuoteError::Digits {
                    text: word.to_owned(),
                })?,
        };
        if words.next().is_some() {
            return Err(form());
        }
        if !keys().contains(&key) {
            return Err(QuoteError::UnknownKey { key });
        }
        Ok(Self { key, digits })
    }
}

impl Quote {
    /// The number with its unit.
    ///
    /// Digits are significant digits, and decimals for levels, angles and readings.
    ///
    /// # Errors
    /// [`QuoteError`] where the scenario can't be computed or has no such number.
    pub fn of(&self, scenario: &Scenario) -> Result<String, QuoteError> {
        let bench = Bench::new(scenario).map_err(QuoteError::Scenario)?;
        let readout = bench.readout();
        let text = match self.key.split_once('.') {
            None if seen::OF_THE_SCENARIO.contains(&self.key.as_str()) => {
                seen::of_scenario(&self.key, scenario, &bench)
            }
            None if around::OF_THE_SCENARIO.contains(&self.key.as_str()) => {
                around::of_scenario(&self.key, scenario, &bench, self.digits)
            }
            None => self.of_scenario(scenario, &readout),
            Some((name, key)) => Fixture::ALL
                .into_iter()
                .find(|fixture| fixture_key(*fixture) == name)
                .and_then(|fixture| {
                    if seen::OF_A_FIXTURE.contains(&key) {
                        seen::of_fixture(key, &bench, fixture, self.digits)
                    } else if around::OF_A_FIXTURE.contains(&key) {
                        around::of_fixture(key, &bench, fixture, self.digits)
                    } else {
                        self.of_fixture(&readout, fixture, key)
                    }
                }),
        };
        text.ok_or_else(|| QuoteError::Undefined {
            key: self.key.clone(),
        })
    }

    fn of_scenario(&self, scenario: &Scenario, readout: &Readout) -> Option<String> {
        let ohms = |value| engineering(value, "Ω", self.digits);
        let reference = readout.reference.ohm();
        let z = readout.device.impedance();
        Some(match self.key.as_str() {
            "title" => scenario.title.clone()?,
            "device" => match (scenario.device.fixed_ohm(), &scenario.device) {
                (Some(z), _) if z.im == 0.0 => ohms(z.re),
                (Some(z), _) => complex_ohm(z, self.digits),
                (_, Device::Part(Part::Inductor(part))) if part.is_ideal() => {
                    engineering(part.inductance_h, "H", self.digits)
                }
                (_, Device::Part(Part::Capacitor(part))) if part.is_ideal() => {
                    engineering(part.capacitance_f, "F", self.digits)
                }
                (_, other) => other.to_string(),
            },
            "frequency" => engineering(readout.freq_hz?, "Hz", self.digits),
            "reference" => ohms(reference),
            "half-reference" => ohms(reference / 2.0),
            "twice-reference" => ohms(reference * 2.0),
            "capacitance" => match scenario.device {
                Device::Part(Part::Capacitor(part)) => {
                    engineering(part.capacitance_f, "F", self.digits)
                }
                _ => return None,
            },
            "inductance" => match scenario.device {
                Device::Part(Part::Inductor(part)) => {
                    engineering(part.inductance_h, "H", self.digits)
                }
                _ => return None,
            },
            key => self.of_impedance(key, z?)?,
        })
    }

    fn of_fixture(&self, readout: &Readout, fixture: Fixture, key: &str) -> Option<String> {
        let entry = readout.of(fixture);
        let level = |db| format!("{}{UNIT_GAP}dB", fixed(db, self.digits));
        let got_back = || {
            let shown = Shown::of(&entry)?;
            fixture.immittance(shown.reading(), readout.reference).ok()
        };
        Some(match key {
            "shown" => Shown::of(&entry)?.to_string(),
            "level" => level(entry.decibels()?),
            "angle" => format!("{}°", fixed(entry.degrees()?, self.digits)),
            "reading" => plain_complex(entry.reading?, self.digits),
            "size" => fixed(entry.reading?.norm(), self.digits),
            "nudged" => level(nudged_level(readout, fixture)?),
            "moves" => level(nudged_level(readout, fixture)? - entry.decibels()?),
            "capacitance" => {
                let seen = Equivalents::new(got_back()?, readout.freq_hz?).ok()?;
                engineering(seen.series_capacitance_f()?, "F", self.digits)
            }
            "inductance" => {
                let seen = Equivalents::new(got_back()?, readout.freq_hz?).ok()?;
                engineering(seen.series_inductance_h()?, "H", self.digits)
            }
            key => self.of_impedance(key, got_back()?.impedance()?)?,
        })
    }

    fn of_impedance(&self, key: &str, z: Complex64) -> Option<String> {
        Some(match key {
            "r" => engineering(z.re, "Ω", self.digits),
            "x" => engineering(z.im, "Ω", self.digits),
            "z" => complex_ohm(z, self.digits),
            "magnitude" => engineering(z.norm(), "Ω", self.digits),
            "phase" if z.norm() > 0.0 => {
                format!("{}°", fixed(z.arg().to_degrees(), self.digits))
            }
            _ => return None,
        })
    }
}

/// `text` with every `{{…}}` replaced by what `lookup` gives for its inside.
///
/// # Errors
/// The first error of `lookup`, or [`QuoteError::NotClosed`].
pub fn fill(
    text: &str,
    mut lookup: impl FnMut(&str) -> Result<String, QuoteError>,
) -> Result<String, QuoteError> {
    let mut filled = String::new();
    let mut rest = text;
    while let Some(at) = rest.find("{{") {
        let inside = &rest[at + 2..];
        let end = inside.find("}}").ok_or(QuoteError::NotClosed)?;
        filled.push_str(&rest[..at]);
        filled.push_str(&lookup(inside[..end].trim())?);
        rest = &inside[end + 2..];
    }
    filled.push_str(rest);
    Ok(filled)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario;

    fn quote(name: &str, text: &str) -> Result<String, QuoteError> {
        text.parse::<Quote>()?.of(&scenario(name).unwrap())
    }

    #[test]
    fn numbers_come_with_unit_and_digits() {
        for (name, text, expected) in [
            ("bias-resistor", "device 2", "4.7\u{202f}kΩ"),
            (
                "bias-resistor",
                "series-through.level 2",
                "−33.62\u{202f}dB",
            ),
            (
                "bias-resistor",
                "series-through.shown",
                "−33.625\u{202f}dB at 0.00°",
            ),
            ("bias-resistor", "frequency 2", "7.1\u{202f}MHz"),
            ("dipole-feed", "z 2", "38 − j27\u{202f}Ω"),
            ("dipole-feed", "phase 1", "−35.4°"),
            ("blue-capacitor", "capacitance 2", "47\u{202f}nF"),
            (
                "blue-capacitor",
                "shunt-through.capacitance 3",
                "47.0\u{202f}nF",
            ),
            ("match", "half-reference 2", "25\u{202f}Ω"),
            ("anode-resistor", "nudge", "+10.0\u{202f}%"),
            ("anode-resistor", "seen-from", "2.83\u{202f}σ"),
            ("anode-resistor", "display-step", "0.0500\u{202f}dB"),
            ("anode-resistor", "best-for-change", "series-through"),
            (
                "screen-resistor-averaged",
                "instrument",
                "handheld, changed",
            ),
        ] {
            assert_eq!(quote(name, text).as_deref(), Ok(expected), "{name} {text}");
        }
    }

    #[test]
    fn what_cannot_be_quoted_says_why() {
        for (name, text, reason) in [
            ("match", "levle", "nothing that can be quoted"),
            (
                "match",
                "reflect.levle 2",
                "did you mean \"reflect.level\"?",
            ),
            ("match", "reference two", "count of digits"),
            ("match", "reference 2 3", "expected a key"),
            ("match", "", "expected a key"),
            ("match", "reflect.level", "has no reflect.level"),
            ("open", "r", "has no r"),
            ("match", "capacitance", "has no capacitance"),
            ("match", "reflect.e", "[instrument]"),
            (
                "anode-resistor",
                "nothing-resolves",
                "has no nothing-resolves",
            ),
        ] {
            let error = quote(name, text).unwrap_err().to_string();
            assert!(error.contains(reason), "{text}: {error}");
        }
        assert_eq!(
            fill("a {{ b", |_| Ok(String::new())),
            Err(QuoteError::NotClosed)
        );
    }

    #[test]
    fn every_key_is_answered_or_refused_without_panic() {
        for key in keys() {
            let quote: Quote = key.parse().unwrap();
            for name in crate::scenario_names() {
                let _ = quote.of(&scenario(name).unwrap());
            }
        }
    }
}
