//! A talk: stops in order, each a bench, how it is looked at, one sentence, and what is covered.
//!
//! ```toml
//! version = 1
//! title = "Three fixtures, one part"
//! about = "For a club evening, with questions."
//!
//! [[stop]]
//! title = "A resistor from the junk box"
//! seconds = 60
//! sentence = "The same {{device}}, read three times."
//! scenario = "anode-resistor"
//! covered = ["best fixture"]
//! say = "What the speaker says. Numbers come from the bench: {{reflect.level 2}}."
//! [stop.view]
//! stage = "ohm plane"
//! ```
//!
//! In place of `scenario`, which names one of the junk box, a stop may have a bench of its own:
//! `[stop.bench.device]` and the other tables of a scenario file.

mod read;

use std::sync::LazyLock;

use jigwise_bench::scene::MapAim;
use jigwise_bench::{Scenario, ScenarioError};

use crate::Cover;

/// A talk, read from its file.
#[derive(Debug, Clone)]
pub struct Talk {
    /// Its title.
    pub title: String,
    /// For whom it is, in a sentence.
    pub about: String,
    /// The stops in order.
    pub stops: Vec<Stop>,
}

/// One stop of a talk.
#[derive(Debug, Clone)]
pub struct Stop {
    /// A few words, for the list of stops and the script.
    pub title: String,
    /// How long the speaker stays, s.
    pub seconds: u32,
    /// What the stop shows. Where it is faulty the talk goes on, and this says what is wrong.
    pub shown: Result<Shown, ScenarioError>,
}

/// What a stop shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// The bench.
    pub scenario: Scenario,
    /// How it is looked at.
    pub view: StopView,
    /// The sentence on the screen.
    pub sentence: String,
    /// What is covered until the speaker uncovers it.
    pub covered: Vec<Cover>,
    /// What the speaker says, a paragraph each.
    pub say: Vec<String>,
    /// What the speaker asks before anything is uncovered.
    pub ask: Option<String>,
}

/// How a stop is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StopView {
    /// The picture on which the part is dragged.
    pub stage: StopStage,
    /// The map behind it.
    pub map: Option<MapAim>,
    /// True where the 95 % regions are drawn.
    pub regions: bool,
    /// How often the analyzer was calibrated again before the stop begins.
    pub calibrations: u32,
}

/// The picture of a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StopStage {
    /// The reflection chart.
    Reflection,
    /// Log |Z| against phase.
    OhmPlane,
    /// Uncertainty and resolvable change over |Z|.
    Reach,
}

impl Talk {
    /// How long it lasts, s.
    pub fn seconds(&self) -> u32 {
        self.stops.iter().map(|stop| stop.seconds).sum()
    }

    /// How long it lasts in whole minutes.
    pub fn minutes(&self) -> u32 {
        self.seconds().div_ceil(60)
    }

    /// How many words its script has: sentences, questions and what is said.
    pub fn words(&self) -> usize {
        let shown = self
            .stops
            .iter()
            .filter_map(|stop| stop.shown.as_ref().ok());
        shown
            .flat_map(|shown| shown.say.iter().chain(&shown.ask).chain([&shown.sentence]))
            .map(|text| text.split_whitespace().count())
            .sum()
    }

    /// What is wrong with its stops, in order.
    pub fn faults(&self) -> impl Iterator<Item = &ScenarioError> {
        self.stops
            .iter()
            .filter_map(|stop| stop.shown.as_ref().err())
    }
}

/// A talk that comes with Jigwise.
#[derive(Debug, Clone)]
pub struct BuiltIn {
    /// Its name in commands and links.
    pub key: &'static str,
    /// The talk.
    pub talk: Talk,
}

const FILES: [(&str, &str, &str); 2] = [
    (
        "club",
        "exercises/talks/club.toml",
        include_str!("../../talks/club.toml"),
    ),
    (
        "short",
        "exercises/talks/short.toml",
        include_str!("../../talks/short.toml"),
    ),
];

/// The talks that come with Jigwise.
pub fn talks() -> &'static [BuiltIn] {
    static BUILT_IN: LazyLock<Vec<BuiltIn>> = LazyLock::new(|| {
        FILES
            .iter()
            .map(|(key, file, text)| BuiltIn {
                key,
                talk: Talk::from_toml(text, file).unwrap_or_else(|error| {
                    panic!("{error}; the talks built in are read by a test")
                }),
            })
            .collect()
    });
    &BUILT_IN
}

/// The talk of a name; `None` where none that comes with Jigwise has it.
pub fn talk(key: &str) -> Option<&'static Talk> {
    let found = talks().iter().find(|built_in| built_in.key == key)?;
    Some(&found.talk)
}
