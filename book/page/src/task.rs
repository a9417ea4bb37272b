use jigwise_exercises::catalogue;
use maud::{Markup, PreEscaped, Render, html};

use crate::block::{Block, BlockError};

/// `task KEY`: the question, its hints folded away, and how to have an answer checked. What
/// is right stands nowhere on the page.
pub(crate) fn task(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [key] = block.words[..] else {
        return Err(block.error("expected task KEY, as in task reflect-level"));
    };
    let task = catalogue().task(key).map_err(|error| block.error(error))?;
    let data = task.data().map_err(|error| block.error(error))?;
    let id = &block.id;
    Ok(html! {
        section.task aria-labelledby=(id) data-task=(task.key()) {
            h2 id=(id) { (task.title()) }
            p.objective {
                (task.objective()) " Level " (task.level()) ", about " (task.minutes()) " minutes."
            }
            p.prompt { (task.prompt()) }
            @if !task.options().is_empty() {
                ul.options {
                    @for (letter, option) in task.options() { li { (letter) ") " (option) } }
                }
            }
            @if let Some(data) = &data {
                details {
                    summary { "The file " (data.name) }
                    // A blank line would end the block for mdBook.
                    pre { code.nohighlight { (PreEscaped(one_line(&data.text))) } }
                }
            }
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

/// A text whose lines end by a reference to the line feed, so that it stands on one line.
fn one_line(text: &str) -> String {
    let escaped = text.trim_end().render().into_string();
    escaped.replace('\n', "&#10;")
}
