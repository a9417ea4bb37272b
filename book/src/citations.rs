//! Citations: `{{cite KEY}}` names a source, and the page of sources says where each is used.
//!
//! The page of sources has a heading for each source, with its key: `## Name {#key}`. A citation
//! becomes a link with that name. Below each source the pages are listed that cite it.

use std::path::{Path, PathBuf};

use jigwise_bench::hint;
use mdbook_markdown::pulldown_cmark::{Event, HeadingLevel, Tag, TagEnd};
use mdbook_preprocessor::book::Book;

use crate::next::from;
use crate::page::{Page, PageError};

/// The page of sources.
const SOURCES: &str = "sources.md";
const OPEN: &str = "{{cite ";
const CLOSE: &str = "}}";

struct Source {
    key: String,
    name: String,
    line: usize,
    /// Where its text ends on the page of sources.
    end: usize,
    /// The pages that cite it, with their titles.
    cited_on: Vec<(PathBuf, String)>,
}

/// Links every citation, and lists under each source where it is cited.
///
/// # Errors
/// [`PageError`] for a citation of an unknown source, and for a source that no page cites.
pub(crate) fn link(book: &mut Book) -> Result<(), PageError> {
    let Some(page) = book
        .chapters()
        .find(|chapter| chapter.source_path.as_deref() == Some(Path::new(SOURCES)))
    else {
        return Ok(());
    };
    let mut sources = sources(&Page::of(page))?;
    let mut first_error = None;
    book.for_each_chapter_mut(|chapter| {
        let Some(path) = chapter.source_path.clone() else {
            return;
        };
        match cited(&Page::of(chapter), &path, &chapter.name, &mut sources) {
            Ok(content) => chapter.content = content,
            Err(error) => {
                first_error.get_or_insert(error);
            }
        }
    });
    if let Some(error) = first_error {
        return Err(error);
    }
    let mut listed = Ok(());
    book.for_each_chapter_mut(|chapter| {
        if chapter.source_path.as_deref() == Some(Path::new(SOURCES)) {
            match with_pages(&Page::of(chapter), &sources) {
                Ok(content) => chapter.content = content,
                Err(error) => listed = Err(error),
            }
        }
    });
    listed
}

fn sources(page: &Page<'_>) -> Result<Vec<Source>, PageError> {
    let mut sources: Vec<Source> = Vec::new();
    let mut name = None;
    for (event, range) in page.events() {
        match event {
            Event::Start(Tag::Heading { level, id, .. }) => {
                if let Some(last) = sources.last_mut().filter(|last| last.end == 0) {
                    last.end = range.start;
                }
                if let (HeadingLevel::H2, Some(id)) = (level, id) {
                    name = Some((id.to_string(), String::new(), page.line(range.start)));
                }
            }
            Event::Text(text) | Event::Code(text) => {
                if let Some((_, name, _)) = &mut name {
                    name.push_str(&text);
                }
            }
            Event::End(TagEnd::Heading(_)) => {
                let Some((key, name, line)) = name.take() else {
                    continue;
                };
                if sources.iter().any(|source| source.key == key) {
                    let message = format!("a second source with the key {key}; name it otherwise");
                    return Err(PageError::new(page.file(), line, message));
                }
                sources.push(Source {
                    key,
                    name: name.trim().to_owned(),
                    line,
                    end: 0,
                    cited_on: Vec::new(),
                });
            }
            _ => {}
        }
    }
    if let Some(last) = sources.last_mut().filter(|last| last.end == 0) {
        last.end = page.text().len();
    }
    Ok(sources)
}

fn cited(
    page: &Page<'_>,
    path: &Path,
    title: &str,
    sources: &mut [Source],
) -> Result<String, PageError> {
    let code = page.code();
    let mut edits = Vec::new();
    for (start, _) in page.text().match_indices(OPEN) {
        if code.iter().any(|range| range.contains(&start)) {
            continue;
        }
        let inside = &page.text()[start + OPEN.len()..];
        let end = inside
            .find(CLOSE)
            .ok_or_else(|| page.error(start, "{{cite without }}; close it"))?;
        let key = inside[..end].trim();
        let Some(at) = sources.iter().position(|source| source.key == key) else {
            let known: Vec<&str> = sources.iter().map(|source| source.key.as_str()).collect();
            let message = format!(
                "there is no source \"{key}\"{}; add it to {SOURCES} as \"## Name {{#{key}}}\"",
                hint(key, &known)
            );
            return Err(page.error(start, message));
        };
        let source = &mut sources[at];
        if !source.cited_on.iter().any(|(known, _)| known == path) {
            source.cited_on.push((path.to_owned(), title.to_owned()));
        }
        let link = format!(
            "[{}]({}#{key})",
            source.name,
            from(path, Path::new(SOURCES))
        );
        edits.push((start..start + OPEN.len() + end + CLOSE.len(), link));
    }
    Ok(page.edited(edits))
}

fn with_pages(page: &Page<'_>, sources: &[Source]) -> Result<String, PageError> {
    let mut edits = Vec::new();
    for source in sources {
        if source.cited_on.is_empty() {
            let message = format!(
                "no page cites \"{}\"; write {OPEN}{}{CLOSE} where it is used, or take it out",
                source.name, source.key
            );
            return Err(PageError::new(page.file(), source.line, message));
        }
        let links: Vec<String> = source
            .cited_on
            .iter()
            .map(|(path, title)| format!("[{title}]({})", path.display()))
            .collect();
        let end = page.text()[..source.end].trim_end().len();
        edits.push((end..end, format!(" Used on: {}.", links.join(", "))));
    }
    Ok(page.edited(edits))
}

#[cfg(test)]
mod tests {
    use super::*;
    use mdbook_preprocessor::book::{BookItem, Chapter};

    const SOURCE: &str = "# Sources\n\n## The guide {#guide}\n\nA guide.\n\n## B {#b}\n\nB.\n";

    fn linked(text: &str) -> Result<Vec<String>, PageError> {
        let chapter = |name: &str, text: &str, path: &str| {
            BookItem::Chapter(Chapter::new(name, text.to_owned(), path, Vec::new()))
        };
        let mut book = Book::new_with_items(vec![
            chapter("One", text, "part/one.md"),
            chapter("Sources", SOURCE, SOURCES),
        ]);
        link(&mut book)?;
        Ok(book.chapters().map(|c| c.content.clone()).collect())
    }

    #[test]
    fn a_citation_is_a_link_and_the_source_knows_its_pages() {
        let pages = linked("# One\n\nBy {{cite guide}}, {{cite b}}, `{{cite x}}`.\n").unwrap();
        assert!(
            pages[0].contains("[The guide](../sources.md#guide)"),
            "{}",
            pages[0]
        );
        assert!(pages[0].contains("`{{cite x}}`"));
        assert!(
            pages[1].contains("A guide. Used on: [One](part/one.md)."),
            "{}",
            pages[1]
        );
        assert!(pages[1].contains("B. Used on: [One]"), "{}", pages[1]);
    }

    #[test]
    fn a_broken_citation_has_its_line() {
        for (text, file, line, reason) in [
            ("# One\n\n{{cite guied}}\n", "one.md", 3, "did you mean"),
            ("# One\n\n\n{{cite guide\n", "one.md", 4, "close it"),
            (
                "# One\n\n{{cite guide}}\n",
                "sources.md",
                7,
                "no page cites",
            ),
        ] {
            let error = linked(text).unwrap_err();
            assert!(error.file().ends_with(file), "{error}");
            assert_eq!(error.line(), line, "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }
}
