//! `answer KEY`: the right answer of a task, for the page of worked answers.

use jigwise_bench::words::{fixture_key, limit_key};
use jigwise_bench::{complex_ohm, engineering, fixed, percent};
use jigwise_exercises::{Answer, Asks, Task, catalogue};
use jigwise_quantity::grouped;
use maud::{Markup, html};

use crate::block::{Block, BlockError};

pub(crate) fn answer(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [key] = block.words[..] else {
        return Err(block.error("expected answer KEY, as in answer reflect-level"));
    };
    let task = catalogue().task(key).map_err(|error| block.error(error))?;
    let right = task
        .right_answer()
        .ok_or_else(|| block.error("this task has no answer that can be computed"))?;
    Ok(html! {
        p.answer { strong { "Answer." } " " (shown(task, &right)) }
    })
}

fn shown(task: &Task, answer: &Answer) -> String {
    const DIGITS: usize = 4;
    match answer {
        Answer::Fixture(fixture) => fixture_key(*fixture).to_owned(),
        Answer::Limit(limit) => limit_key(*limit).to_owned(),
        Answer::Formula(formula) => formula.text().to_owned(),
        Answer::Value(value) => match task.asks() {
            Asks::Impedance => complex_ohm(*value, DIGITS),
            Asks::Level => format!("{}\u{202f}dB", fixed(value.re, 3)),
            Asks::Change => percent(value.re / 100.0),
            Asks::Averages => fixed(value.re, 0),
            Asks::Quality => grouped(value.re),
            asks => {
                let unit = asks.unit().map_or("", |unit| unit.sign());
                engineering(value.re, unit, DIGITS)
            }
        },
    }
}
