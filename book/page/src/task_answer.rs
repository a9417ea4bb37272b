//! `task-answer KEY`: the right answer of a task, for the pages of worked answers.

use jigwise_exercises::catalogue;
use maud::{Markup, html};

use crate::block::{Block, BlockError};

pub(crate) fn task_answer(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [key] = block.words[..] else {
        return Err(block.error("expected task-answer KEY, as in task-answer reflect-level"));
    };
    let task = catalogue().task(key).map_err(|error| block.error(error))?;
    Ok(html! {
        p.answer { strong { "Answer." } " " (task.answer_words()) }
    })
}
