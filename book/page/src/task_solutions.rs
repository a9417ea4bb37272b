//! `task-solutions`, with the key of a task on each line: the tasks worked out step by step, each
//! folded until it is wanted.

use jigwise_exercises::catalogue;
use maud::{Markup, html};

use crate::block::{Block, BlockError};

pub(crate) fn task_solutions(block: &Block<'_>) -> Result<Markup, BlockError> {
    let keys: Vec<&str> = block.body.split_whitespace().collect();
    if keys.is_empty() || !block.words.is_empty() {
        return Err(block.error("expected task-solutions with the key of a task on each line"));
    }
    let tasks = keys
        .into_iter()
        .map(|key| catalogue().task(key).map_err(|error| block.error(error)))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(html! {
        div.jw-solutions {
            @for task in tasks {
                details {
                    summary { (task.title()) " (" (task.key()) ")" }
                    ol { @for step in task.solution() { li { (step) } } }
                }
            }
        }
    })
}
