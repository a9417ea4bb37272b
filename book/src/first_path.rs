//! A shorter way through the book: a page lists it in a fence `path`, one page a line, and each page
//! on it says which is the next.

use std::path::{Path, PathBuf};

use mdbook_preprocessor::book::Book;

use crate::minutes::Counted;
use crate::next::from;
use crate::page::{Page, PageError};

const LABEL: &str = "path";
/// Replaced by the minutes of all pages on the path.
const TOTAL: &str = "{{minutes-path}}";

struct Stop {
    path: PathBuf,
    title: String,
    minutes: u32,
}

/// Sets the list and the signs on the way, at the end of the pages on it.
///
/// # Errors
/// [`PageError`] for a page of the path that the book does not have, or has twice on the path.
pub(crate) fn set(book: &mut Book, counted: &Counted) -> Result<(), PageError> {
    let Some((page, stops)) = stops(book, counted)? else {
        return Ok(());
    };
    let total: u32 = stops.iter().map(|stop| stop.minutes).sum();
    book.for_each_chapter_mut(|chapter| {
        let Some(here) = chapter.source_path.clone() else {
            return;
        };
        if here == page {
            let list = list(&here, &stops);
            let fence = fence_of(&Page::of(chapter)).map(|fence| fence.range);
            if let Some(range) = fence {
                chapter.content = Page::of(chapter).edited(vec![(range, list)]);
            }
        }
        if let Some(at) = stops.iter().position(|stop| stop.path == here) {
            let next = match stops.get(at + 1) {
                Some(next) => format!("next on it: [{}]({})", next.title, from(&here, &next.path)),
                None => format!("its last; [where it is listed]({})", from(&here, &page)),
            };
            let text = chapter.content.trim_end();
            chapter.content = format!(
                "{text}\n\n<span class=\"way-on\">First path, page {} of {}; {next}.</span>\n",
                at + 1,
                stops.len()
            );
        }
        chapter.content = chapter.content.replace(TOTAL, &total.to_string());
    });
    Ok(())
}

fn fence_of(page: &Page<'_>) -> Option<crate::page::Fence> {
    page.fences().into_iter().find(|fence| fence.info == LABEL)
}

fn stops(book: &Book, counted: &Counted) -> Result<Option<(PathBuf, Vec<Stop>)>, PageError> {
    let mut found: Option<(PathBuf, Vec<Stop>)> = None;
    for chapter in book.chapters() {
        let page = Page::of(chapter);
        let (Some(fence), Some(path)) = (fence_of(&page), &chapter.source_path) else {
            continue;
        };
        let mut stops: Vec<Stop> = Vec::new();
        for (index, name) in fence.body.lines().map(str::trim).enumerate() {
            let refused =
                |message: String| PageError::new(page.file(), fence.line + 1 + index, message);
            let stop = book
                .chapters()
                .find(|chapter| chapter.source_path.as_deref() == Some(Path::new(name)))
                .ok_or_else(|| {
                    refused(format!(
                        "there is no page {name} in the book; check the name"
                    ))
                })?;
            if stops.iter().any(|known| known.path == Path::new(name)) {
                return Err(refused(format!(
                    "{name} is twice on the path; take one out"
                )));
            }
            stops.push(Stop {
                path: name.into(),
                title: stop.name.clone(),
                minutes: counted
                    .get(Path::new(name))
                    .map_or(0, |minutes| minutes.reading),
            });
        }
        if found.is_some() {
            let message = "a second path; the book has one";
            return Err(PageError::new(page.file(), fence.line, message));
        }
        found = Some((path.clone(), stops));
    }
    Ok(found)
}

/// As many lines as the fence has, less the two of its marks.
fn list(here: &Path, stops: &[Stop]) -> String {
    stops
        .iter()
        .map(|stop| {
            format!(
                "1. [{}]({}), {} min\n",
                stop.title,
                from(here, &stop.path),
                stop.minutes
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::minutes::Minutes;
    use mdbook_preprocessor::book::{BookItem, Chapter};

    fn book(list: &str) -> Book {
        let chapter = |name: &str, text: &str, path: &str| {
            BookItem::Chapter(Chapter::new(name, text.to_owned(), path, Vec::new()))
        };
        Book::new_with_items(vec![
            chapter(
                "Use",
                &format!("# –\n\n{{{{minutes-path}}}}\n\n```path\n{list}```\n\nlast\n"),
                "use.md",
            ),
            chapter("One", "# –\n", "part/one.md"),
            chapter("Two", "# –\n", "two.md"),
        ])
    }

    fn counted() -> Counted {
        let reading = |minutes| Minutes {
            reading: minutes,
            ..Minutes::default()
        };
        Counted::from([
            ("part/one.md".into(), reading(2)),
            ("two.md".into(), reading(3)),
        ])
    }

    #[test]
    fn the_path_is_listed_and_signposted() {
        let mut book = book("part/one.md\ntwo.md\n");
        set(&mut book, &counted()).unwrap();
        let pages: Vec<&str> = book.chapters().map(|c| c.content.as_str()).collect();
        assert!(pages[0].contains("\n5\n"), "{}", pages[0]);
        assert!(
            pages[0].contains("1. [One](part/one.md), 2 min\n1. [Two](two.md), 3 min"),
            "{}",
            pages[0]
        );
        assert_eq!(pages[0].lines().position(|line| line == "last"), Some(9));
        assert!(
            pages[1].contains("page 1 of 2; next on it: [Two](../two.md)"),
            "{}",
            pages[1]
        );
        assert!(pages[2].contains("page 2 of 2; its last"), "{}", pages[2]);
    }

    #[test]
    fn a_wrong_path_has_its_line() {
        for (list, line, reason) in [
            ("two.md\nthree.md\n", 7, "no page three.md"),
            ("two.md\ntwo.md\n", 7, "twice"),
        ] {
            let error = set(&mut book(list), &counted()).unwrap_err();
            assert_eq!(error.line(), line, "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }
}
