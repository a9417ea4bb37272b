use jigwise_exercises::catalogue;
use maud::{Markup, html};

use crate::block::{Block, BlockError};

/// `task KEY`: the question, its hints folded away, and how to have an answer checked. What
/// is right stands nowhere on the page.
pub(crate) fn task(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [key] = block.words[..] else {
        return Err(block.error("expected task KEY, as in task reflect-level"));
    };
    let task = catalogue().task(key).map_err(|error| block.error(error))?;
    let id = &block.id;
    Ok(html! {
        section.task aria-labelledby=(id) data-task=(task.key()) {
            h2 id=(id) { (task.title()) }
            p.prompt { (task.prompt()) }
            p.form { (task.form()) }
            @for (index, hint) in task.hints().iter().enumerate() {
                details {
                    summary { "Hint " (index + 1) }
                    p.hint { (hint) }
                }
            }
            p.check {
                "Check: "
                code { "cargo lab check " (task.key()) " \"your answer\"" }
            }
        }
    })
}
