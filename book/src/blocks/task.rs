use jigwise_exercises::catalogue;

use super::{Block, paragraph};
use crate::page::{PageError, escaped};

/// `task KEY`: the question, its hints folded away, and how to have an answer checked. What
/// is right stands nowhere on the page.
pub(super) fn html(block: &Block<'_>) -> Result<String, PageError> {
    let [key] = block.words[..] else {
        return Err(block.error("expected task KEY, as in task reflect-level"));
    };
    let task = catalogue().task(key).map_err(|error| block.error(error))?;
    let id = &block.id;
    let mut html = format!(
        "<section class=\"task\" aria-labelledby=\"{id}\"><h2 id=\"{id}\">{}</h2>",
        escaped(task.title())
    );
    html.push_str(&paragraph("prompt", task.prompt()));
    html.push_str(&paragraph("form", &task.form()));
    for (index, hint) in task.hints().iter().enumerate() {
        html.push_str(&format!(
            "<details><summary>Hint {}</summary>{}</details>",
            index + 1,
            paragraph("hint", hint)
        ));
    }
    html.push_str(&format!(
        "<p class=\"check\">Check: <code>cargo lab check {} \"{}\"</code></p></section>",
        escaped(task.key()),
        escaped("your answer")
    ));
    Ok(html)
}
