//! Links: every one leads to a page of the book.

use std::collections::{HashMap, HashSet};
use std::path::{Component, Path, PathBuf};

use mdbook_markdown::pulldown_cmark::{Event, Tag};
use mdbook_preprocessor::book::Book;

use crate::page::{Page, PageError};

/// Checks every link of the book.
///
/// # Errors
/// [`PageError`] for a link out of the book, to a page that does not exist, or to a heading
/// without that name.
pub(crate) fn check(book: &Book) -> Result<(), PageError> {
    let mut names: HashMap<PathBuf, HashSet<String>> = HashMap::new();
    for chapter in book.chapters() {
        let Some(path) = &chapter.source_path else {
            continue;
        };
        let of_page = Page::of(chapter)
            .events()
            .filter_map(|(event, _)| match event {
                Event::Start(Tag::Heading { id: Some(id), .. }) => Some(id.to_string()),
                _ => None,
            })
            .collect();
        names.insert(path.clone(), of_page);
    }
    for chapter in book.chapters() {
        let Some(path) = &chapter.source_path else {
            continue;
        };
        let page = Page::of(chapter);
        for (event, range) in page.events() {
            let target = match event {
                Event::Start(Tag::Link { dest_url, .. } | Tag::Image { dest_url, .. }) => dest_url,
                _ => continue,
            };
            check_one(path, &target, &names).map_err(|message| page.error(range.start, message))?;
        }
    }
    Ok(())
}

fn check_one(
    from: &Path,
    target: &str,
    names: &HashMap<PathBuf, HashSet<String>>,
) -> Result<(), String> {
    if target.contains("://") || target.starts_with("//") || target.starts_with("mailto:") {
        return Err(format!(
            "link to \"{target}\" leaves the book, which has to work offline; name the source \
             in words"
        ));
    }
    let (file, fragment) = match target.split_once('#') {
        Some((file, fragment)) => (file, Some(fragment)),
        None => (target, None),
    };
    let path = if file.is_empty() {
        from.to_owned()
    } else {
        resolved(from.parent().unwrap_or(Path::new("")), file)
    };
    let Some(of_page) = names.get(&path) else {
        return Err(format!(
            "link to \"{target}\": there is no page {} in the book; check the name, or add it \
             to SUMMARY.md",
            path.display()
        ));
    };
    match fragment {
        Some(fragment) if !of_page.contains(fragment) => Err(format!(
            "link to \"{target}\": that page has no heading named {fragment}; name it with \
             {{#{fragment}}} after the heading"
        )),
        _ => Ok(()),
    }
}

fn resolved(folder: &Path, file: &str) -> PathBuf {
    let mut path = PathBuf::new();
    for part in folder.join(file).components() {
        match part {
            Component::ParentDir => {
                path.pop();
            }
            Component::CurDir => {}
            part => path.push(part),
        }
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use mdbook_preprocessor::book::{BookItem, Chapter};

    fn book(text: &str) -> Book {
        let chapter = |text: &str, path: &str| {
            BookItem::Chapter(Chapter::new("c", text.to_owned(), path, Vec::new()))
        };
        Book::new_with_items(vec![
            chapter(text, "part/one.md"),
            chapter("# Two {#second}\n", "two.md"),
        ])
    }

    #[test]
    fn links_that_lead_somewhere_pass() {
        for text in [
            "[a](../two.md)",
            "[a](one.md)",
            "[a](../two.md#second)",
            "# T {#top}\n[a](#top)",
            "`[a](nowhere.md)`",
        ] {
            check(&book(text)).unwrap();
        }
    }

    #[test]
    fn a_broken_link_has_its_line() {
        for (text, reason) in [
            ("x\n\n[a](../three.md)", "no page three.md"),
            ("x\n\n[a](two.md)", "no page part/two.md"),
            ("x\n\n[a](../two.md#third)", "no heading named third"),
            ("x\n\n[a](https://example.org)", "leaves the book"),
            ("x\n\n![a](//example.org/x.png)", "leaves the book"),
        ] {
            let error = check(&book(text)).unwrap_err();
            assert_eq!(error.line(), 3, "{error}");
            assert_eq!(error.file(), "book/text/part/one.md");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }
}
