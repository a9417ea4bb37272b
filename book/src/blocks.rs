//! Fenced blocks: each is replaced by what it computes, or by what a shell line says.

use jigwise_bench::hint;
use jigwise_page::{Block, BlockError, follows_a_part, html, labels};

use crate::captions;
use crate::live_piece::{self, Asked};
use crate::measurements::Shipped;
use crate::page::{Page, PageError};
use crate::shell;

/// Labels of fences that are printed as they stand.
const PLAIN: [&str; 3] = ["rust", "text", "toml"];
/// The label of shell lines, which run here and in no reader's browser.
const CONSOLE: &str = "console";

/// The page with every computed block in place of its fence.
pub(crate) fn expanded(page: &Page<'_>) -> Result<String, PageError> {
    let mut edits = Vec::new();
    for (index, fence) in page.fences().into_iter().enumerate() {
        let asked = Asked::default();
        let id = id(page.file(), index);
        let block = Block::new(&fence.info, &fence.body, id.clone(), &Shipped).over(&asked);
        if PLAIN.contains(&block.label) {
            continue;
        }
        let html = computed(&block).map_err(|error| {
            PageError::new(page.file(), fence.line + error.line(), error.message())
        })?;
        if let Some(element) = captions::missing(&html) {
            let message = format!("computes a table or a figure whose {element} says nothing");
            return Err(PageError::new(page.file(), fence.line, message));
        }
        if !asked.is_empty() && !follows_a_part(block.label) {
            let message = format!(
                "{} quotes a scenario; put it with the blocks that follow a part, in book/page",
                block.label
            );
            return Err(PageError::new(page.file(), fence.line, message));
        }
        let piece = live_piece::block(&fence.info, &fence.body, &id, html, asked);
        edits.push((fence.range.clone(), piece));
    }
    Ok(page.edited(edits))
}

fn computed(block: &Block<'_>) -> Result<String, BlockError> {
    match block.label {
        CONSOLE => shell::html(block),
        label if labels().any(|known| known == label) => html(block),
        label => Err(block.error(unknown(label))),
    }
}

fn unknown(label: &str) -> String {
    if label.is_empty() {
        return "a fence without a label; say what it holds, text if nothing else".to_owned();
    }
    let known: Vec<&str> = labels().chain([CONSOLE]).chain(PLAIN).collect();
    format!(
        "\"{label}\" is no label of a fence here{}",
        hint(label, &known)
    )
}

/// An id that is unique in the whole book.
fn id(file: &str, index: usize) -> String {
    let slug: String = file
        .trim_start_matches("book/text/")
        .trim_end_matches(".md")
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '-' })
        .collect();
    format!("jw-{slug}-{index}")
}
