//! Fenced blocks that are computed: worked examples, tables, figures, tasks, shell lines.

mod blank;
mod figure;
mod got_back;
mod over;
mod plane;
mod reduced;
mod resolves;
mod seen;
mod shell;
mod table;
mod task;
mod worked;

use jigwise_bench::words::fixture_key;
use jigwise_bench::{Fixture, Scenario, expected_one_of, hint};
use jigwise_exercises::scenario;

use crate::page::{Fence, Page, PageError, escaped};

/// Labels of fences that are printed as they stand.
const PLAIN: [&str; 3] = ["rust", "text", "toml"];
const COMPUTED: [&str; 23] = [
    "worked",
    "resolves",
    "compare",
    "ends",
    "circuit",
    "chart",
    "clouds",
    "reach",
    "calibrations",
    "crossovers",
    "got-back",
    "checks",
    "blank",
    "over",
    "best-over",
    "apparent",
    "millimetre",
    "wire",
    "plane",
    "signs",
    "reduced",
    "task",
    "console",
];

/// A fence on its page.
struct Block<'a> {
    page: &'a Page<'a>,
    fence: &'a Fence,
    /// The words after the label.
    words: Vec<&'a str>,
    /// Unique in the whole book.
    id: String,
}

impl Block<'_> {
    fn error(&self, message: impl std::fmt::Display) -> PageError {
        PageError::new(self.page.file(), self.fence.line, message)
    }

    /// An error on a line of the body, from 0.
    fn body_error(&self, index: usize, message: impl std::fmt::Display) -> PageError {
        PageError::new(self.page.file(), self.fence.line + 1 + index, message)
    }

    fn fixture(&self, word: &str) -> Result<Fixture, PageError> {
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

    fn scenario(&self, name: &str) -> Result<Scenario, PageError> {
        scenario(name).map_err(|error| self.error(error))
    }

    /// The scenario that stands in the body, errors naming the page's own lines.
    fn scenario_in_body(&self) -> Result<Scenario, PageError> {
        Scenario::from_toml(&self.fence.body, self.page.file()).map_err(|error| {
            let message = error.to_string();
            let prefix = format!("{}, line {}: ", self.page.file(), error.line().unwrap_or(0));
            let message = message.strip_prefix(&prefix).unwrap_or(&message);
            self.body_error(error.line().map_or(0, |line| line - 1), message)
        })
    }
}

/// The page with every computed block in place of its fence.
pub(crate) fn expanded(page: &Page<'_>) -> Result<String, PageError> {
    let mut edits = Vec::new();
    for (index, fence) in page.fences().iter().enumerate() {
        let mut words = fence.info.split([' ', ',']).filter(|word| !word.is_empty());
        let label = words.next().unwrap_or("");
        if PLAIN.contains(&label) {
            continue;
        }
        let block = Block {
            page,
            fence,
            words: words.collect(),
            id: id(page.file(), index),
        };
        let html = match label {
            "worked" => worked::html(&block)?,
            "resolves" => resolves::html(&block)?,
            "clouds" => seen::clouds(&block)?,
            "reach" => seen::reach(&block)?,
            "calibrations" => seen::calibrations(&block)?,
            "crossovers" => seen::crossovers(&block)?,
            "compare" => table::compare(&block)?,
            "ends" => table::ends(&block)?,
            "circuit" => figure::circuit(&block)?,
            "chart" => figure::chart(&block)?,
            "signs" => figure::signs(&block)?,
            "got-back" => got_back::got_back(&block)?,
            "checks" => got_back::checks(&block)?,
            "blank" => blank::html(&block)?,
            "over" => over::curve(&block)?,
            "best-over" => over::best(&block)?,
            "apparent" => over::apparent(&block)?,
            "millimetre" => plane::millimetre(&block)?,
            "wire" => plane::wire(&block)?,
            "plane" => plane::moved(&block)?,
            "reduced" => reduced::html(&block)?,
            "task" => task::html(&block)?,
            "console" => shell::html(&block)?,
            other => return Err(block.error(unknown(other))),
        };
        edits.push((fence.range.clone(), html));
    }
    Ok(page.edited(edits))
}

fn unknown(label: &str) -> String {
    if label.is_empty() {
        return "a fence without a label; say what it holds, text if nothing else".to_owned();
    }
    let known: Vec<&str> = COMPUTED.into_iter().chain(PLAIN).collect();
    format!(
        "\"{label}\" is no label of a fence here{}",
        hint(label, &known)
    )
}

fn id(file: &str, index: usize) -> String {
    let slug: String = file
        .trim_start_matches("book/text/")
        .trim_end_matches(".md")
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '-' })
        .collect();
    format!("jw-{slug}-{index}")
}

/// A paragraph of escaped text.
fn paragraph(class: &str, text: &str) -> String {
    format!("<p class=\"{class}\">{}</p>", escaped(text))
}
