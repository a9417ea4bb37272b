//! A fenced block as a page holds it, and what can be wrong with it.

use std::fmt;

use jigwise_bench::words::fixture_key;
use jigwise_bench::{Bench, Fixture, Scenario, expected_one_of};

use crate::measurements::Measurements;
use crate::scenarios::{JunkBox, Scenarios};

/// A fenced block: a label, words after it, and a body.
pub struct Block<'a> {
    /// The first word after the fence, which says what is computed.
    pub label: &'a str,
    /// The words after the label.
    pub words: Vec<&'a str>,
    /// What stands between the fences.
    pub body: &'a str,
    /// An HTML id that no other block of the book has.
    pub id: String,
    /// Where measured sweeps come from.
    pub measurements: &'a dyn Measurements,
    /// Where scenarios come from.
    pub scenarios: &'a dyn Scenarios,
    /// True where the reader has the layers of figures that do not follow the part already: they
    /// come empty.
    pub has_still_layers: bool,
}

/// What is wrong with a block, and in which of its lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BlockError {
    line: usize,
    message: String,
}

impl BlockError {
    /// The line of the block: 0 is the opening fence, 1 the first line of the body.
    pub fn line(&self) -> usize {
        self.line
    }

    /// What is wrong, without its place.
    pub fn message(&self) -> &str {
        &self.message
    }
}

impl std::error::Error for BlockError {}

impl fmt::Display for BlockError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl<'a> Block<'a> {
    /// A block from what follows its opening fence, and its body, over the scenarios as they are
    /// shipped.
    pub fn new(
        info: &'a str,
        body: &'a str,
        id: impl Into<String>,
        measurements: &'a dyn Measurements,
    ) -> Self {
        let mut words = info.split([' ', ',']).filter(|word| !word.is_empty());
        Self {
            label: words.next().unwrap_or(""),
            words: words.collect(),
            body,
            id: id.into(),
            measurements,
            scenarios: &JunkBox,
            has_still_layers: false,
        }
    }

    /// The same block over other scenarios.
    pub fn over(self, scenarios: &'a dyn Scenarios) -> Self {
        Self { scenarios, ..self }
    }

    /// The same block with its figures' still layers empty.
    pub fn without_still_layers(self) -> Self {
        Self {
            has_still_layers: true,
            ..self
        }
    }

    /// An error on the line of the opening fence.
    pub fn error(&self, message: impl fmt::Display) -> BlockError {
        BlockError {
            line: 0,
            message: message.to_string(),
        }
    }

    /// An error on a line of the body, counted from 0.
    pub fn body_error(&self, index: usize, message: impl fmt::Display) -> BlockError {
        BlockError {
            line: index + 1,
            message: message.to_string(),
        }
    }

    /// The lines of the body that hold something, each with its index from 0.
    pub(crate) fn lines(&self) -> impl Iterator<Item = (usize, &'a str)> {
        let lines = self.body.lines().map(str::trim).enumerate();
        lines.filter(|(_, line)| !line.is_empty())
    }

    /// Refuses words after the label, where `message` says what may stand there.
    pub(crate) fn no_words(&self, message: &str) -> Result<(), BlockError> {
        match self.words[..] {
            [] => Ok(()),
            _ => Err(self.error(message)),
        }
    }

    pub(crate) fn fixture(&self, word: &str) -> Result<Fixture, BlockError> {
        Fixture::ALL
            .into_iter()
            .find(|fixture| fixture_key(*fixture) == word)
            .ok_or_else(|| {
                let names = Fixture::ALL.map(fixture_key);
                self.error(format!(
                    "\"{word}\" is no fixture, {}",
                    expected_one_of(word, &names)
                ))
            })
    }

    pub(crate) fn scenario(&self, name: &str) -> Result<Scenario, BlockError> {
        let scenario = self.scenarios.scenario(name);
        scenario.map_err(|error| self.error(error))
    }

    pub(crate) fn bench(&self, scenario: &Scenario) -> Result<Bench, BlockError> {
        Bench::new(scenario).map_err(|error| self.error(error))
    }

    /// A scenario that a line of the body names, made ready to compute.
    pub(crate) fn listed(&self, index: usize, name: &str) -> Result<(Scenario, Bench), BlockError> {
        let scenario = self.scenarios.scenario(name);
        let scenario = scenario.map_err(|error| self.body_error(index, error))?;
        let bench = Bench::new(&scenario).map_err(|error| self.body_error(index, error))?;
        Ok((scenario, bench))
    }

    /// The scenario that stands in the body; an error has the line of the body.
    pub(crate) fn scenario_in_body(&self) -> Result<Scenario, BlockError> {
        Scenario::from_toml(self.body, &self.id).map_err(|error| {
            let line = error.line().unwrap_or(0);
            let message = error.to_string();
            let prefix = format!("{}, line {line}: ", self.id);
            let message = message.strip_prefix(&prefix).unwrap_or(&message);
            self.body_error(line.saturating_sub(1), message)
        })
    }
}
