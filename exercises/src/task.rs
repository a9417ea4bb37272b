//! A task: a scenario, a question about it, and hints.

use jigwise_bench::words::fixture_key;
use jigwise_bench::{Fixture, Scenario, Unit, engineering};

use crate::tolerance::Tolerance;

/// What a task asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Asks {
    /// The level of the reading, dB, from the device.
    Level,
    /// R + jX of the part in ohms, from the reading. Known strays and a known wrong load are
    /// taken out, here and in the next three.
    Impedance,
    /// R in ohms, from the reading.
    Resistance,
    /// The capacitance in farads, from the reading.
    Capacitance,
    /// The inductance in henries, from the reading; the capacitance across a coil is taken out.
    Inductance,
    /// The fixture in which the level moves most when the device grows by a tenth.
    Fixture,
    /// The formula from the reading to the impedance.
    Formula,
    /// The only fixture that shows the nudge.
    FixtureThatSees,
    /// What sets the smallest change that shows, noise or display.
    Limit,
    /// How many averages show the nudge, a whole number.
    Averages,
    /// The smallest change that shows, percent of |Z|, in the nudge's direction.
    Change,
    /// The length of the arm, from the reading of an open at its end.
    Length,
    /// The self-resonance of a part in hertz, from its value and its parasitic.
    SelfResonance,
    /// The Q of a crystal by itself, from its width in the series-through fixture.
    Quality,
}

impl Asks {
    pub(crate) const ALL: [(&'static str, Self); 14] = [
        ("level", Self::Level),
        ("impedance", Self::Impedance),
        ("resistance", Self::Resistance),
        ("capacitance", Self::Capacitance),
        ("inductance", Self::Inductance),
        ("fixture", Self::Fixture),
        ("formula", Self::Formula),
        ("fixture-that-sees", Self::FixtureThatSees),
        ("limit", Self::Limit),
        ("averages", Self::Averages),
        ("change", Self::Change),
        ("length", Self::Length),
        ("self-resonance", Self::SelfResonance),
        ("quality", Self::Quality),
    ];

    /// The unit of the answer; `None` where it is no number.
    pub fn unit(self) -> Option<Unit> {
        match self {
            Self::Level => Some(Unit::Decibel),
            Self::Impedance | Self::Resistance => Some(Unit::Ohm),
            Self::Capacitance => Some(Unit::Farad),
            Self::Inductance => Some(Unit::Henry),
            Self::Averages => Some(Unit::One),
            Self::Change => Some(Unit::Percent),
            Self::Length => Some(Unit::Metre),
            Self::SelfResonance => Some(Unit::Hertz),
            Self::Quality => Some(Unit::One),
            Self::Fixture | Self::FixtureThatSees | Self::Limit | Self::Formula => None,
        }
    }

    /// An example of an answer in the right form.
    pub fn example(self) -> &'static str {
        match self {
            Self::Level => "-20.8 dB",
            Self::Impedance => "330 - j120",
            Self::Resistance => "120 ohm",
            Self::Capacitance => "330 pF",
            Self::Inductance => "2.2 uH",
            Self::Fixture | Self::FixtureThatSees => "reflect",
            Self::Formula => "Z0*S",
            Self::Limit => "noise",
            Self::Averages => "64",
            Self::Change => "30 %",
            Self::Length => "12.5 mm",
            Self::SelfResonance => "7.10 MHz",
            Self::Quality => "120",
        }
    }
}

/// A question with a checked answer.
#[derive(Debug, Clone)]
pub struct Task {
    pub(crate) key: String,
    pub(crate) title: String,
    pub(crate) fixture: Fixture,
    pub(crate) scenario: Scenario,
    pub(crate) asks: Asks,
    pub(crate) tolerance: Tolerance,
    pub(crate) prompt: String,
    pub(crate) hints: Vec<String>,
}

impl Task {
    /// Its name in the index, as commands take it.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Its title, a few words.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The fixture it practises.
    pub fn fixture(&self) -> Fixture {
        self.fixture
    }

    /// The scenario that the answer is computed from.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// What it asks for.
    pub fn asks(&self) -> Asks {
        self.asks
    }

    /// How near an answer has to come.
    pub fn tolerance(&self) -> Tolerance {
        self.tolerance
    }

    /// The question, with its numbers.
    pub fn prompt(&self) -> &str {
        &self.prompt
    }

    /// Hints, the most general first.
    pub fn hints(&self) -> &[String] {
        &self.hints
    }

    /// The form that the answer must have, in a sentence.
    pub fn form(&self) -> String {
        match (self.asks, self.tolerance) {
            (Asks::Fixture | Asks::FixtureThatSees, _) => {
                let names = Fixture::ALL.map(fixture_key);
                format!("Answer with one of {}.", names.join(", "))
            }
            (Asks::Formula, _) => "Answer with a formula in S and Z0.".to_owned(),
            (Asks::Limit, _) => "Answer with noise or display.".to_owned(),
            (Asks::Averages, _) => format!("Give a whole number, as in {}.", self.asks.example()),
            (Asks::Quality, Tolerance::Digits(digits)) => format!(
                "Give {digits} significant digits, as in {}.",
                self.asks.example()
            ),
            (_, Tolerance::Digits(digits)) => format!(
                "Give {digits} significant digits and the unit, as in {}.",
                self.asks.example()
            ),
            (asks, Tolerance::Uncertainty(distance)) => format!(
                "Within {} counts; give the unit, as in {}.",
                engineering(distance, asks.unit().map_or("", Unit::sign), 2),
                asks.example()
            ),
        }
    }
}
