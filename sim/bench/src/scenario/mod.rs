//! The physical question, in memory and in a file.

pub(crate) mod calibration;
mod device;
mod instrument;
mod nudge;
mod strays;
mod sweep;
mod write;

use std::path::Path;

use jigwise_physics::{EntryError, Nudge, ReferenceImpedance};

use crate::device::{Device, DeviceError};
use crate::file::{self, Keyed, Place, RawTable};
use jigwise_quantity::Unit;

pub use crate::file::ScenarioError;

pub(crate) use self::calibration::calibration_file;
pub use self::calibration::{CalibrationPlan, METHODS, Skipped, ideal_kit};
pub use self::device::DraftDevice;
pub use self::instrument::{Band, NamedInstrument};
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
        Self::from_document(&Keyed::document(&place, &raw, "a scenario", Some(&KEYS))?)
    }

    /// Reads a scenario from a table of another file, which has the same tables and keys but no
    /// version of its own.
    ///
    /// # Errors
    /// [`ScenarioError`] naming file, line and value.
    pub fn from_table(table: &Keyed<'_>) -> Result<Self, ScenarioError> {
        table.check_keys(&KEYS[1..])?;
        Self::from_document(table)
    }

    fn from_document(file: &Keyed<'_>) -> Result<Self, ScenarioError> {
        let (reference, instrument) = instrument::instrument(file)?;
        let (connections, calibration) = calibration::calibration(file, reference)?;
        let scenario = Self {
            title: title(file)?,
            device: device::device(file)?,
            freq_hz: match file.table("at", "at", &["frequency"])? {
                None => None,
                Some(at) => Some(at.needed_positive("frequency", Unit::Hertz)?),
            },
            sweep: sweep::sweep(file)?,
            fixtures: strays::strays(file)?,
            reference,
            instrument,
            calibration,
            connections,
            nudge: nudge::nudge(file)?,
            seed: file.count("seed", 0, u64::MAX)?.unwrap_or(1),
        };
        match scenario.stray_too_large() {
            Some(stray) => Err(stray.in_file(file)),
            None => Ok(scenario),
        }
    }

    /// Refuses strays that are longer than the wavelength allows at the frequencies of the
    /// scenario, as [`Scenario::from_toml`] does.
    ///
    /// # Errors
    /// [`ScenarioError`] about the strays.
    pub fn check_strays(&self) -> Result<(), ScenarioError> {
        match self.stray_too_large() {
            Some(stray) => Err(ScenarioError::free(format!("strays: {}", stray.message))
                .about(vec!["strays".into()])),
            None => Ok(()),
        }
    }

    fn stray_too_large(&self) -> Option<strays::TooLarge> {
        let highest_hz = self.sweep.map(|sweep| sweep.to_hz).into_iter();
        let highest_hz = highest_hz.chain(self.freq_hz).reduce(f64::max)?;
        self.fixtures.too_large_at(highest_hz)
    }
}

/// The most letters of a title.
const MAX_TITLE: usize = 400;

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
    let letters = title.as_ref().map_or(0, |title| title.chars().count());
    if letters > MAX_TITLE {
        return Err(file.error(
            "title",
            format!(
                "title has {letters} letters, expected {MAX_TITLE} at most; say the rest in a \
                 comment, behind #"
            ),
        ));
    }
    Ok(title.map(String::from))
}

/// The table of an instrument.
pub(crate) const INSTRUMENT: &str = "instrument";

impl ScenarioError {
    /// An entry of an instrument that can't be computed with.
    pub fn of_instrument(name: &str, error: EntryError) -> Self {
        Self::free(format!("{name}: {error}")).about(vec![INSTRUMENT.into()])
    }

    pub(crate) fn of_device(scenario: &Scenario, error: DeviceError) -> Self {
        let message = match &scenario.title {
            Some(title) => format!("{title}: {error}"),
            None => error.to_string(),
        };
        Self::free(message)
    }
}

#[cfg(test)]
mod tests;
