use jigwise_physics::{Complex64, Equivalents, Fixture, Part};
use jigwise_quantity::{angle, complex_ohm, engineering, fixed, plain_complex};

use super::error::QuoteError;
use super::keys::{self, MAX_DIGITS, keys};
use super::shown::{Shown, UNIT_GAP};
use super::{around, part, seen};
use crate::change::{level_move, nudged_level};
use crate::device::Device;
use crate::readout::{Bench, Readout};
use crate::scenario::Scenario;
use crate::words::fixture_key;

const DEFAULT_DIGITS: usize = 3;

/// A number asked for as `KEY` or `KEY DIGITS`, for example `series-through.level 2`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quote {
    key: String,
    digits: usize,
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
                .filter(|digits| (1..=MAX_DIGITS).contains(digits))
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
    /// The number with its unit, computed from a scenario.
    ///
    /// The digits are significant digits, but decimals for levels and angles.
    ///
    /// # Errors
    /// [`QuoteError`] where the scenario can't be computed or has no such number.
    pub fn of(&self, scenario: &Scenario) -> Result<String, QuoteError> {
        let bench = Bench::new(scenario).map_err(QuoteError::Scenario)?;
        let text = match self.key.split_once('.') {
            None => self.of_whole(scenario, &bench),
            Some((name, key)) => Fixture::ALL
                .into_iter()
                .find(|fixture| fixture_key(*fixture) == name)
                .and_then(|fixture| self.of_one(key, &bench, fixture)),
        };
        text.ok_or_else(|| QuoteError::Undefined {
            key: self.key.clone(),
        })
    }

    fn of_whole(&self, scenario: &Scenario, bench: &Bench) -> Option<String> {
        let key = self.key.as_str();
        if keys::SEEN.contains(&key) {
            seen::of_scenario(key, scenario, bench)
        } else if keys::AROUND.contains(&key) || keys::strays().any(|stray| stray == key) {
            around::of_scenario(key, scenario, self.digits)
        } else if keys::PART.contains(&key) {
            part::of_scenario(key, scenario, bench, self.digits)
        } else {
            self.of_scenario(scenario, &bench.readout())
        }
    }

    fn of_one(&self, key: &str, bench: &Bench, fixture: Fixture) -> Option<String> {
        if keys::FIXTURE_SEEN.contains(&key) {
            seen::of_fixture(key, bench, fixture, self.digits)
        } else if keys::FIXTURE_BACK.contains(&key) {
            around::of_fixture(key, bench, fixture, self.digits)
        } else {
            self.of_fixture(&bench.readout(), fixture, key)
        }
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
            "angle" => angle(entry.degrees()?, self.digits),
            "reading" => plain_complex(entry.reading?, self.digits),
            "size" => fixed(entry.reading?.norm(), self.digits),
            "nudged" => level(nudged_level(readout, fixture)?),
            "moves" => level(level_move(readout, fixture)?),
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
            "phase" if z.norm() > 0.0 => angle(z.arg().to_degrees(), self.digits),
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
