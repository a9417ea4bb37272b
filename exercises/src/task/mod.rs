//! A task: a scenario, a question about it, and hints.

mod asks;
mod setup;

pub use asks::Asks;
pub(crate) use setup::Setup;

use std::sync::{Arc, OnceLock};

use jigwise_bench::words::fixture_key;
use jigwise_bench::{
    Bench, Fixture, Formula, Measurement, Readout, Scenario, ScenarioError, Unit, engineering,
};
use jigwise_touchstone::{Options, write_text};

use crate::area::Area;
use crate::choices::Choices;
use crate::claim::Knowable;
use crate::handout::{self, DataFile};
use crate::solve;
use crate::tolerance::Tolerance;

/// A question with a checked answer.
#[derive(Debug, Clone)]
pub struct Task {
    pub(crate) key: String,
    pub(crate) title: String,
    pub(crate) area: Area,
    pub(crate) objective: String,
    pub(crate) level: u8,
    pub(crate) minutes: u32,
    pub(crate) chapter: String,
    pub(crate) fixture: Fixture,
    pub(crate) setup: Arc<Setup>,
    pub(crate) asks: Asks,
    pub(crate) tolerance: Tolerance,
    pub(crate) choices: Option<Choices>,
    pub(crate) formula: Option<Formula>,
    pub(crate) has_data: bool,
    pub(crate) prompt: String,
    pub(crate) hints: Vec<String>,
    pub(crate) knowable: OnceLock<Option<Knowable>>,
}

impl Task {
    /// A question that no page prints, so that an answer to it is judged as a task's is.
    pub(crate) fn unprinted(
        key: String,
        area: Area,
        fixture: Fixture,
        scenario: Scenario,
        asks: Asks,
        tolerance: Tolerance,
    ) -> Self {
        Self {
            key,
            title: String::new(),
            area,
            objective: String::new(),
            level: 1,
            minutes: 1,
            chapter: String::new(),
            fixture,
            setup: Setup::new(scenario),
            asks,
            tolerance,
            choices: None,
            formula: None,
            has_data: false,
            prompt: String::new(),
            hints: Vec::new(),
            knowable: OnceLock::new(),
        }
    }

    /// Its name in the index, as commands take it.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// Its title, a few words.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The area it practises.
    pub fn area(&self) -> Area {
        self.area
    }

    /// What somebody can do who has solved it, in a sentence.
    pub fn objective(&self) -> &str {
        &self.objective
    }

    /// How hard it is, from 1: one step, two or three steps, a choice of the way.
    pub fn level(&self) -> u8 {
        self.level
    }

    /// About how many minutes it takes with a pocket calculator.
    pub fn minutes(&self) -> u32 {
        self.minutes
    }

    /// The page of the book that it belongs to, from the book's folder of texts.
    pub fn chapter(&self) -> &str {
        &self.chapter
    }

    /// The fixture it practises.
    pub fn fixture(&self) -> Fixture {
        self.fixture
    }

    /// The scenario that the answer is computed from.
    pub fn scenario(&self) -> &Scenario {
        self.setup.scenario()
    }

    /// The bench of the scenario; `None` where it can't be computed.
    pub(crate) fn bench(&self) -> Option<&Bench> {
        self.setup.bench().ok()
    }

    /// The readout of the bench.
    pub(crate) fn readout(&self) -> Option<&Readout> {
        self.setup.readout()
    }

    /// What could be known of the value that is asked for with its ±; `None` for other tasks.
    pub fn knowable(&self) -> Option<Knowable> {
        *self.knowable.get_or_init(|| solve::knowable(self))
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

    /// The options of a choice or a ranking, each with its letter.
    pub fn options(&self) -> Vec<(char, &str)> {
        self.choices
            .as_ref()
            .map_or(Vec::new(), |choices| choices.options().collect())
    }

    /// The formula that is asked about, as it was published.
    pub fn formula(&self) -> Option<&Formula> {
        self.formula.as_ref()
    }

    /// The measurement that the task hands out, a file of the open standard; `None` where its
    /// numbers are in the question.
    ///
    /// # Errors
    /// [`ScenarioError`] where the scenario can't be measured.
    pub fn data(&self) -> Result<Option<DataFile>, ScenarioError> {
        if !self.has_data {
            return Ok(None);
        }
        let measured = Measurement::of(self.scenario(), self.fixture)?;
        let free = |error: &dyn std::fmt::Display| ScenarioError::free(error.to_string());
        let sweep = measured.corrected().map_err(|error| free(&error))?;
        let about = format!("task {}, {}", self.key, fixture_key(self.fixture));
        let sweep = handout::without_story(&sweep, &about, self.scenario().instrument.as_ref())
            .map_err(|error| free(&error))?;
        let ports = sweep.ports();
        Ok(Some(DataFile {
            name: format!("{}.s{ports}p", self.key),
            text: write_text(&sweep, &Options::default()).map_err(|error| free(&error))?,
        }))
    }

    /// The form that the answer must have, in a sentence.
    pub fn form(&self) -> String {
        let example = self.asks.example();
        match (self.asks, self.tolerance) {
            (Asks::Fixture | Asks::FixtureThatSees, _) => {
                let names = Fixture::ALL.map(fixture_key);
                format!("Answer with one of {}.", names.join(", "))
            }
            (Asks::Formula, _) => "Answer with a formula in S and Z0.".to_owned(),
            (Asks::Limit, _) => "Answer with noise or display.".to_owned(),
            (Asks::Choice, _) => format!("Answer with one letter, as in {example}."),
            (Asks::Ranking, _) => {
                format!("Answer with all letters in order, as in {example}.")
            }
            (Asks::Averages, _) => format!("Give a whole number, as in {example}."),
            (asks, _) if asks.is_claim() => format!(
                "Give the value with its 95 % interval, as in {example}; or write can't be told."
            ),
            (asks, Tolerance::Digits(digits)) if asks.unit() == Some(Unit::One) => {
                format!("Give {digits} significant digits, as in {example}.")
            }
            (_, Tolerance::Digits(digits)) => {
                format!("Give {digits} significant digits and the unit, as in {example}.")
            }
            (asks, Tolerance::Uncertainty(distance)) => format!(
                "Within {} counts; give the unit, as in {example}.",
                engineering(distance, asks.unit().map_or("", Unit::sign), 2),
            ),
        }
    }
}
