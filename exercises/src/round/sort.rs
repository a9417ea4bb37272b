//! The five sorts of unlabelled part, and what is drawn for a round.

use jigwise_bench::{CalibrationPlan, Device, NamedInstrument, Scenario, ScenarioError};

use super::code::Code;
use crate::task::Asks;
use crate::tray::{Purpose, Seed, Stream};

/// A sort of unlabelled part, from the easiest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[repr(u8)]
pub enum Sort {
    /// A resistor in an ideal fixture.
    Resistor = 0,
    /// A capacitor, whose ohms depend on the frequency that is chosen.
    Capacitor = 1,
    /// A coil in a fixture with strays.
    Coil = 2,
    /// A resistor on an analyzer that somebody else calibrated, well or not.
    Borrowed = 3,
    /// A crystal behind strays, with a botched calibration.
    Crystal = 4,
}

impl Sort {
    /// All sorts, from the easiest.
    pub const ALL: [Self; 5] = [
        Self::Resistor,
        Self::Capacitor,
        Self::Coil,
        Self::Borrowed,
        Self::Crystal,
    ];

    /// Its name on a button.
    pub fn title(self) -> &'static str {
        match self {
            Self::Resistor => "A resistor",
            Self::Capacitor => "A capacitor",
            Self::Coil => "A coil behind strays",
            Self::Borrowed => "A borrowed analyzer",
            Self::Crystal => "A crystal, and trouble",
        }
    }

    /// Its name in commands and files.
    pub fn key(self) -> &'static str {
        match self {
            Self::Resistor => "resistor",
            Self::Capacitor => "capacitor",
            Self::Coil => "coil",
            Self::Borrowed => "borrowed",
            Self::Crystal => "crystal",
        }
    }

    /// What is known before the first reading.
    pub fn about(self) -> &'static str {
        match self {
            Self::Resistor => {
                "A resistor without a label. The fixtures are ideal, and the analyzer has just been \
                 calibrated."
            }
            Self::Capacitor => {
                "A capacitor without a label, discharged. The fixtures are ideal, and the analyzer \
                 has just been calibrated. Its ohms go with the frequency that you choose."
            }
            Self::Coil => {
                "A coil without a label, in fixtures with strays: a capacitance across the gap, an \
                 inductance on the way to ground. A blank shows them. The analyzer has just been \
                 calibrated."
            }
            Self::Borrowed => {
                "A resistor without a label, in ideal fixtures. Somebody else calibrated the analyzer \
                 and has gone home. A known part shows whether that was done well."
            }
            Self::Crystal => {
                "A crystal in fixtures with strays, on an analyzer that somebody else calibrated. \
                 Find its resistance at its series resonance."
            }
        }
    }

    pub(super) fn asks(self) -> Asks {
        match self {
            Self::Resistor | Self::Borrowed | Self::Crystal => Asks::ResistanceClaim,
            Self::Capacitor => Asks::CapacitanceClaim,
            Self::Coil => Asks::InductanceClaim,
        }
    }

    /// True where the fixtures have strays, which a blank shows.
    pub fn has_strays(self) -> bool {
        matches!(self, Self::Coil | Self::Crystal)
    }
}

/// What is drawn for a round.
#[derive(Debug, Clone)]
pub(super) struct Drawn {
    /// The bench with a sound calibration.
    pub sound: Scenario,
    /// The calibration that was there before the round, where it is not sound.
    pub botched: Option<CalibrationPlan>,
    /// Frequencies to choose from, Hz.
    pub freq_hz: Vec<f64>,
    /// The frequency that the question is about, where the value goes with it, Hz.
    pub asked_hz: Option<f64>,
}

/// The instrument of all rounds.
pub(super) const INSTRUMENT: &str = "handheld";
/// Averages with which the standards are read.
const CALIBRATION_AVERAGES: u32 = 64;
/// Front ends that the labs know, none of them extreme.
const FRONT_ENDS: [u32; 8] = [11, 12, 13, 14, 15, 16, 17, 18];
/// Loads that somebody took for 50 Ω.
const WRONG_LOADS: [&str; 4] = ["39", "42", "60", "68"];

/// Log-uniform between two positive numbers.
fn between(stream: &mut Stream, from: f64, to: f64) -> f64 {
    from * (to / from).powf(stream.uniform())
}

impl Drawn {
    pub(super) fn of(code: Code) -> Result<Self, ScenarioError> {
        let Code { sort, seed } = code;
        let bits = u128::from(seed) | u128::from(sort as u8) << 64;
        let mut stream = Seed::new(bits.to_be_bytes()).stream(Purpose::Round, 0);
        let front_end = FRONT_ENDS[stream.below(FRONT_ENDS.len())];
        let mut asked_hz = None;
        let mut freq_hz = vec![1e6, 7.1e6, 28e6];
        let device = match sort {
            Sort::Resistor | Sort::Borrowed => resistor(between(&mut stream, 1.0, 10e3)),
            Sort::Capacitor => {
                let farad = between(&mut stream, 20e-12, 5e-9);
                format!("kind = \"capacitor\"\ncapacitance = \"{farad:e} F\"\nesr = \"0.05\"\n")
            }
            Sort::Coil => {
                let henry = between(&mut stream, 0.3e-6, 20e-6);
                let ohm = between(&mut stream, 0.5, 2.0);
                format!(
                    "kind = \"inductor\"\ninductance = \"{henry:e} H\"\n\
                     series_resistance = \"{ohm:.3}\"\n"
                )
            }
            Sort::Crystal => {
                // Round to 100 Hz, so that the question can name it.
                let hz = (between(&mut stream, 18e6, 24e6) / 100.0).round() * 100.0;
                asked_hz = Some(hz);
                freq_hz = vec![hz - 3e3, hz, hz + 3e3];
                let ohm = between(&mut stream, 15.0, 200.0);
                let farad = between(&mut stream, 10e-15, 25e-15);
                let across = between(&mut stream, 3e-12, 6e-12);
                format!(
                    "kind = \"crystal\"\nseries_resonance = \"{hz} Hz\"\n\
                     motional_capacitance = \"{farad:e} F\"\nmotional_resistance = \"{ohm:.4}\"\n\
                     parallel_capacitance = \"{across:e} F\"\n"
                )
            }
        };
        let strays = if sort.has_strays() {
            let (gap, ground, pin) = (
                between(&mut stream, 1e-12, 3e-12),
                between(&mut stream, 5e-9, 20e-9),
                between(&mut stream, 2e-12, 6e-12),
            );
            format!(
                "[strays]\ngap = \"{gap:e} F\"\nground = \"{ground:e} H\"\npin = \"{pin:e} F\"\n"
            )
        } else {
            String::new()
        };
        let botch = match sort {
            Sort::Resistor | Sort::Capacitor | Sort::Coil => None,
            Sort::Borrowed => (stream.uniform() < 0.5).then(|| stream.below(BOTCHES)),
            Sort::Crystal => Some(stream.below(BOTCHES)),
        };
        let noise = stream.seed();
        let at_hz = asked_hz.unwrap_or(7.1e6);
        let bench = |calibration: &str| {
            let text = format!(
                "version = 1\nseed = {}\n[device]\n{device}[at]\nfrequency = \"{at_hz} Hz\"\n\
                 {strays}[instrument]\npreset = \"{INSTRUMENT}\"\naverages = {CALIBRATION_AVERAGES}\n\
                 [calibration]\nmethod = \"both directions\"\nfront_end = {front_end}\n{calibration}",
                noise >> 1
            );
            Scenario::from_toml(&text, "a round")
        };
        let sound = bench("")?;
        let botched = botch.map(|which| bench(&botched(which))).transpose()?;
        Ok(Self {
            sound,
            botched: botched.and_then(|scenario| scenario.calibration),
            freq_hz,
            asked_hz,
        })
    }
}

fn resistor(ohm: f64) -> String {
    format!("kind = \"resistor\"\nresistance = \"{ohm:.5}\"\n")
}

/// How many ways there are to botch a calibration.
const BOTCHES: usize = WRONG_LOADS.len() + 1;

/// The entries of a calibration gone wrong: a wrong load, or a resistor where the short belongs.
fn botched(which: usize) -> String {
    match WRONG_LOADS.get(which) {
        Some(ohm) => {
            format!("[calibration.load]\nresistance = \"{ohm} ohm\"\ntaken_as = \"ideal\"\n")
        }
        None => "[calibration.short]\ninstead = \"22 ohm\"\n".to_owned(),
    }
}

/// What a round says of itself: the instrument and the frequencies.
pub(super) fn known_words(instrument: &NamedInstrument, freq_hz: &[f64]) -> String {
    let all: Vec<String> = freq_hz.iter().map(|hz| super::hertz(*hz)).collect();
    format!(
        "The analyzer is the {}, an invented one. It can be set to {}.",
        instrument.name,
        all.join(", ")
    )
}

/// The known resistor that lies beside the analyzer.
pub(super) const KNOWN_OHM: f64 = 100.0;

pub(super) fn known_device() -> Device {
    Device::resistor(KNOWN_OHM)
}
