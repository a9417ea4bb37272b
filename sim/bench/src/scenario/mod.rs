//! The physical question, in memory and in a file.

pub(crate) mod calibration;
mod device;
mod instrument;
mod nudge;
mod strays;
mod sweep;
mod write;

use std::path::Path;

use jigwise_physics::{Nudge, ReferenceImpedance};

use crate::device::{Device, DeviceError};
use crate::file::{self, Keyed, Place, RawTable};
use jigwise_quantity::Unit;

pub use crate::file::ScenarioError;

pub use self::calibration::{CalibrationPlan, METHODS, Skipped, ideal_kit, method_key};
pub use self::instrument::NamedInstrument;
pub use self::nudge::{direction_key, make_nudge, parse_direction};
pub use self::strays::{FixtureStrays, NamedStrays};
pub use self::sweep::{Spacing, SweepPlan};

/// A bench in a file: what is measured, with what, at which frequency.
///
/// ```
/// use jigwise_bench::{Device, Scenario};
///
/// let text = r#"
///     version = 1
///     title = "Unlabelled coil from the junk box"
///     [device]
///     kind = "inductor"
///     inductance = "2u2H"
///     [at]
///     frequency = "7.1 MHz"
///     [instrument]
///     preset = "handheld"
///     averages = 16
///     [nudge]
///     amount = "-5 %"
/// "#;
/// let scenario = Scenario::from_toml(text, "coil.toml")?;
/// assert_eq!(scenario.device, Device::inductor(2.2e-6));
/// assert_eq!(scenario.instrument.as_ref().unwrap().figures.averages, 16);
/// assert_eq!(Scenario::from_toml(&scenario.to_toml(), "again.toml")?, scenario);
/// # Ok::<(), jigwise_bench::ScenarioError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Scenario {
    /// A line that says what this is about.
    pub title: Option<String>,
    /// What is connected.
    pub device: Device,
    /// Frequency, Hz.
    pub freq_hz: Option<f64>,
    /// The frequencies of a sweep.
    pub sweep: Option<SweepPlan>,
    /// What the fixtures add around the part.
    pub fixtures: FixtureStrays,
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
    /// The analyzer's error budget, where uncertainty is asked for.
    pub instrument: Option<NamedInstrument>,
    /// How it was calibrated; `None` for a calibration of which nothing is known but what the
    /// instrument's budget says it leaves.
    pub calibration: Option<CalibrationPlan>,
    /// How often the part was connected after the calibration; 0: soldered and left.
    pub connections: u32,
    /// The small change that somebody wants to see.
    pub nudge: Nudge,
    /// Seed of everything drawn at random.
    pub seed: u64,
}

impl Default for Scenario {
    /// An unlabelled resistor on the bench at 7.1 MHz.
    fn default() -> Self {
        Self {
            title: None,
            device: Device::resistor(4_700.0),
            freq_hz: Some(7.1e6),
            sweep: None,
            fixtures: FixtureStrays::NONE,
            reference: ReferenceImpedance::FIFTY_OHM,
            instrument: None,
            calibration: None,
            connections: 0,
            nudge: Nudge::default(),
            seed: 1,
        }
    }
}

const KEYS: [&str; 10] = [
    "version",
    "title",
    "seed",
    "device",
    "at",
    "sweep",
    "strays",
    "instrument",
    "calibration",
    "nudge",
];

impl Scenario {
    /// The frequency of a single readout, Hz: the one named, or the middle of the sweep.
    pub fn readout_hz(&self) -> Option<f64> {
        self.freq_hz
            .or_else(|| self.sweep.map(|sweep| sweep.middle_hz()))
    }

    /// Reads a scenario file.
    ///
    /// # Errors
    /// [`ScenarioError`] naming file, line and value.
    pub fn read_file(path: impl AsRef<Path>) -> Result<Self, ScenarioError> {
        let (text, name) = file::text_of(path.as_ref())?;
        Self::from_toml(&text, &name)
    }

    /// Reads a scenario from text; `name` is what errors call it.
    ///
    /// # Errors
    /// [`ScenarioError`] naming file, line and value.
    pub fn from_toml(text: &str, name: &str) -> Result<Self, ScenarioError> {
        let place = Place { file: name, text };
        let raw = RawTable::parse(&place)?;
        let file = Keyed::document(&place, &raw, "a scenario", Some(&KEYS))?;
        let (reference, instrument) = instrument::instrument(&file)?;
        let (connections, calibration) = calibration::calibration(&file, reference)?;
        Ok(Self {
            title: title(&file)?,
            device: device::device(&file)?,
            freq_hz: match file.table("at", "at", &["frequency"])? {
                None => None,
                Some(at) => Some(at.needed_positive("frequency", Unit::Hertz)?),
            },
            sweep: sweep::sweep(&file)?,
            fixtures: strays::strays(&file)?,
            reference,
            instrument,
            calibration,
            connections,
            nudge: nudge::nudge(&file)?,
            seed: file.count("seed", 0, u64::MAX)?.unwrap_or(1),
        })
    }
}

/// The title. Commands print it as it is, so that it must not order a terminal about.
fn title(file: &Keyed<'_>) -> Result<Option<String>, ScenarioError> {
    let title = file.text("title")?;
    let is_order = |c: char| c.is_control() && !matches!(c, '\n' | '\r' | '\t');
    if title.as_ref().is_some_and(|title| title.contains(is_order)) {
        return Err(file.error(
            "title",
            "title has a control character; write it as plain text",
        ));
    }
    Ok(title.map(String::from))
}

impl ScenarioError {
    pub(crate) fn of_device(scenario: &Scenario, error: DeviceError) -> Self {
        let message = match &scenario.title {
            Some(title) => format!("{title}: {error}"),
            None => error.to_string(),
        };
        Self::free(message)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn error(text: &str) -> ScenarioError {
        Scenario::from_toml(text, "bench.toml").unwrap_err()
    }

    #[test]
    fn unknown_keys_name_the_nearest() {
        let wrong = error("version = 1\n[device]\nkind = \"open\"\n[at]\nfrequencey = 1\n");
        assert!(wrong.is_unknown_key());
        assert_eq!(wrong.line(), Some(5));
        assert!(
            wrong.to_string().contains("did you mean \"frequency\"?"),
            "{wrong}"
        );
    }

    #[test]
    fn wrong_values_have_their_line() {
        let instrument = "version = 1\n[device]\nkind = \"open\"\n[instrument]\n";
        let nudge = "version = 1\n[device]\nkind = \"open\"\n[nudge]\n";
        for (text, line, reason) in [
            (
                "version = 2\n[device]\nkind = \"open\"".into(),
                1,
                "expected 1",
            ),
            (
                "version = 1\n[device]\nkind = \"coil\"".into(),
                3,
                "expected one of",
            ),
            (
                "version = 1\n[device]\nkind = \"inductor\"".into(),
                3,
                "needs inductance",
            ),
            (
                "version = 1\n[device]\nkind = \"open\"\ncapacitance = 3\n".into(),
                4,
                "has no capacitance",
            ),
            (
                "version = 1\n[device]\nkind = \"resistor\"\nresistance = nan\n".into(),
                4,
                "no resistance",
            ),
            (
                "version = 1\n[device]\nkind = \"resistor\"\nresistance = 1e400\n".into(),
                4,
                "\"1e400\" is no resistance in ohms: it is beyond",
            ),
            (
                "version = 1\n[device]\nkind = \"open\"\n[at]\nfrequency = -7\n".into(),
                5,
                "above zero",
            ),
            (format!("{instrument}reference = 0\n"), 5, "above zero"),
            (
                format!("{instrument}preset = \"handhold\"\n"),
                5,
                "did you mean \"handheld\"?",
            ),
            (format!("{instrument}load = \"6 dB\"\n"), 5, "-300 to 0 dB"),
            (
                format!("{instrument}trace_magnitude = \"-0.01 dB\"\n"),
                5,
                "from 0 to 8 dB",
            ),
            (
                format!("{instrument}load = 0.01\nsource_match = 0.1\n"),
                6,
                "load, open and short",
            ),
            (format!("{instrument}averages = 0\n"), 5, "from 1"),
            (format!("{nudge}amount = \"0 %\"\n"), 5, "up or down"),
            (format!("{nudge}along = \"phase\"\n"), 5, "magnitude"),
            (
                "version = 1\nseed = -1\n[device]\nkind = \"open\"\n".into(),
                2,
                "whole number",
            ),
        ] {
            let text: String = text;
            let error = error(&text);
            assert_eq!(error.line(), Some(line), "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }

    #[test]
    fn what_a_file_lacks_or_has_wrong_is_said_in_our_words() {
        let device = "[device]\nkind = \"open\"\n";
        for (text, line, words) in [
            (device.to_owned(), 1, "\"version\" is missing"),
            (
                format!("vesion = 1\n{device}"),
                1,
                "did you mean \"version\"?",
            ),
            (
                format!("version = \"one\"\n{device}"),
                1,
                "version is one, expected 1",
            ),
            (
                format!("version = 99999999999999999999\n{device}"),
                1,
                "version is 99999999999999999999, expected 1",
            ),
            (format!("version = [1]\n{device}"), 1, "version is a list"),
            ("version = 1\n".into(), 1, "there is no [device] table"),
            (
                "version = 1\ndevice = 5\n".into(),
                2,
                "write it as [device]",
            ),
            (
                "version = 1\n[[device]]\n".into(),
                2,
                "write it as [device]",
            ),
            ("version = 1\n[device]\n".into(), 2, "\"kind\" is missing"),
            (
                format!("version = 1\ntitle = true\n{device}"),
                2,
                "title is yes or no",
            ),
            (
                format!("version = 1\nseed = 2026-11-29\n{device}"),
                2,
                "seed is a date",
            ),
            (
                format!("version = 1\nseed = {{}}\n{device}"),
                2,
                "seed is a table",
            ),
            (
                format!("version = 1\n{device}[at]\n"),
                4,
                "[at] needs frequency",
            ),
            (
                format!("version = 1\n{device}[sweep]\nfrom = \"1 MHz\"\n"),
                4,
                "[sweep] needs to; add for example to = \"7.1 MHz\"",
            ),
            (
                format!("version = 1\n{device}[nudge]\nswapped = 1\n"),
                5,
                "neither true nor false",
            ),
            (
                format!("version = 1\n{device}[at]\nfrequency = \"7,100 kHz\"\n"),
                5,
                "7.1 kHz or 7100 kHz",
            ),
            (
                format!("version = 1\n{device}[strays]\ngap = \"1 F\"\n"),
                5,
                "gap: gap capacitance is 1 F",
            ),
        ] {
            let error = error(&text);
            assert_eq!(error.line(), Some(line), "{error}");
            assert!(error.to_string().contains(words), "{error}");
        }
    }

    #[test]
    fn what_a_file_has_is_quoted_with_a_remedy() {
        let device = "[device]\nkind = \"open\"\n";
        let long = "x".repeat(500);
        for (text, words) in [
            (
                format!("version = 0\n{device}"),
                "version is 0, expected 1; write version = 1",
            ),
            (
                format!("version = 1.0\n{device}"),
                "expected 1; write version = 1",
            ),
            (
                format!("version = 2\n{device}"),
                "expected 1; a newer Jigwise may read it",
            ),
            (
                format!("version = 1\n{device}[instrument]\nbound = \"yes\"\n"),
                "bound is \"yes\", neither true nor false; write bound = true",
            ),
            (
                format!("version = 1\nseed = [1, 2]\n{device}"),
                "seed is a list ([1, 2]), expected a single value; write for example seed =",
            ),
            (
                format!(
                    "version = 1\n{device}[calibration]\nmethod = \"full\"\n\
                     [calibration.open]\ncapacitance = [\"50 fF\", [1]]\n"
                ),
                "capacitance has an entry that is no value, but a list ([1])",
            ),
            (
                format!("version = 1\n{device}[strays.arm]\nvelocity_factor = 0\n"),
                "velocity factor is 0: give a value from 0.01 to 1",
            ),
            (
                format!("version = 1\n{device}[nudge]\nalong = \"\\u001b[31m\"\n"),
                "along is \"\u{fffd}[31m\"",
            ),
            (
                format!("version = 1\ntitle = \"a\\u001bb\"\n{device}"),
                "control character",
            ),
            (
                format!("version = 1\n{device}[nudge]\nalong = \"{long}\"\n"),
                "xxx…\"",
            ),
            (
                format!("version = 1\n{device}[sweep]\nfoo = 1\n"),
                "known here: from, to",
            ),
        ] {
            let error = error(&text).to_string();
            assert!(error.contains(words), "{error}");
            assert!(!error.contains(char::is_control), "{error:?}");
        }
    }

    #[test]
    fn a_decimal_comma_is_read() {
        let text = "version = 1\n[device]\nkind = \"resistor\"\nresistance = \"4,7k\"\n\
                    [instrument]\nload = \"−38,5 dB\"\n";
        let scenario = Scenario::from_toml(text, "comma.toml").unwrap();
        assert_eq!(scenario.device, Device::resistor(4_700.0));
    }

    /// An ideal part and one with parasitics of zero are the same part.
    #[test]
    fn a_part_is_of_one_kind() {
        let device = |lines: &str| {
            let text = format!("version = 1\n[device]\n{lines}");
            Scenario::from_toml(&text, "part.toml").unwrap().device
        };
        for (ideal, spelt_out) in [
            (
                "kind = \"resistor\"\nresistance = 50",
                "parallel_capacitance = 0\nseries_inductance = 0",
            ),
            ("kind = \"capacitor\"\ncapacitance = \"1 nF\"", "esr = 0"),
            (
                "kind = \"inductor\"\ninductance = \"1 µH\"",
                "series_resistance = \"0 Ω\"",
            ),
        ] {
            assert_eq!(device(ideal), device(&format!("{ideal}\n{spelt_out}")));
        }
        assert_eq!(
            device("kind = \"resistor\"\nresistance = -50").fixed_ohm(),
            "-50".parse::<Device>().unwrap().fixed_ohm()
        );
    }
}
