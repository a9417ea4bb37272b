//! The way on: every page ends with a link to the one after it in the summary, the last with one
//! to the first.

use std::path::{Path, PathBuf};

use mdbook_preprocessor::book::Book;

/// Adds the link below the text of each page.
pub(crate) fn link(book: &mut Book) {
    let pages: Vec<(PathBuf, String)> = book
        .chapters()
        .filter_map(|chapter| Some((chapter.source_path.clone()?, chapter.name.clone())))
        .collect();
    book.for_each_chapter_mut(|chapter| {
        let Some(here) = &chapter.source_path else {
            return;
        };
        let at = pages.iter().position(|(path, _)| path == here);
        let next = at.and_then(|at| pages.get(at + 1));
        let way_on = match (next, pages.first()) {
            (Some((path, title)), _) => format!("Next: [{title}]({})", from(here, path)),
            (None, Some((path, title))) => {
                format!("Back to the beginning: [{title}]({})", from(here, path))
            }
            (None, None) => return,
        };
        let text = chapter.content.trim_end();
        chapter.content = format!("{text}\n\n<span class=\"way-on\">{way_on}</span>\n");
    });
}

/// `to` as a link on the page `here`.
pub(crate) fn from(here: &Path, to: &Path) -> String {
    let up = here.components().count().saturating_sub(1);
    let to: Vec<String> = to
        .components()
        .map(|part| part.as_os_str().to_string_lossy().into_owned())
        .collect();
    format!("{}{}", "../".repeat(up), to.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_leads_out_of_the_page_s_folder() {
        let to = Path::new("shunt/circuit.md");
        assert_eq!(from(Path::new("use.md"), to), "shunt/circuit.md");
        assert_eq!(
            from(Path::new("reflect/tasks.md"), to),
            "../shunt/circuit.md"
        );
    }
}
