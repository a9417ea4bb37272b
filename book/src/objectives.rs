//! What a reader can do after a chapter, and how long the chapter takes: at the chapter's head.
//!
//! A chapter is what has a line of its own in a part of the summary, with the pages below it. Its
//! head holds a fence `objectives` with one objective a line.

use mdbook_preprocessor::book::{Book, BookItem, Chapter};

use crate::minutes::{Counted, Minutes};
use crate::page::{Page, PageError};

const LABEL: &str = "objectives";
/// Parts whose chapters are looked up or done, not learnt from first page to last.
const WITHOUT: [&str; 2] = ["To look up", "Do"];

/// Sets the objectives at the head of every chapter.
///
/// # Errors
/// [`PageError`] for a chapter without objectives, and for objectives elsewhere.
pub(crate) fn set(book: &mut Book, counted: &Counted) -> Result<(), PageError> {
    let mut wanted = false;
    for item in &mut book.items {
        match item {
            BookItem::PartTitle(title) => wanted = !WITHOUT.contains(&title.as_str()),
            BookItem::Chapter(chapter) if !chapter.is_draft_chapter() => {
                for below in chapters_below(chapter) {
                    if let Some(fence) = fence_of(&Page::of(below)) {
                        return Err(misplaced(&Page::of(below), fence.line));
                    }
                }
                set_in(chapter, wanted && chapter.number.is_some(), counted)?;
            }
            _ => {}
        }
    }
    Ok(())
}

fn misplaced(page: &Page<'_>, line: usize) -> PageError {
    PageError::new(
        page.file(),
        line,
        "objectives belong to the first page of a chapter; move them there",
    )
}

fn set_in(chapter: &mut Chapter, wanted: bool, counted: &Counted) -> Result<(), PageError> {
    let page = Page::of(chapter);
    let Some(fence) = fence_of(&page) else {
        let message = "this chapter says nowhere what it is for; add a fence \"objectives\" with \
                       what a reader can do after it, one a line";
        return match wanted {
            true => Err(PageError::new(page.file(), 1, message)),
            false => Ok(()),
        };
    };
    let objectives: Vec<&str> = fence.body.lines().map(str::trim).collect();
    if objectives.is_empty() || objectives.iter().any(|line| line.is_empty()) {
        let message = "an empty objective; write one a line";
        return Err(PageError::new(page.file(), fence.line, message));
    }
    let html = html(&objectives, &lasts(chapter, counted));
    chapter.content = page.edited(vec![(fence.range, html)]);
    Ok(())
}

fn fence_of(page: &Page<'_>) -> Option<crate::page::Fence> {
    page.fences().into_iter().find(|fence| fence.info == LABEL)
}

fn chapters_below(chapter: &Chapter) -> Vec<&Chapter> {
    let mut found = Vec::new();
    for item in &chapter.sub_items {
        if let BookItem::Chapter(below) = item {
            found.push(below);
            found.extend(chapters_below(below));
        }
    }
    found
}

fn lasts(chapter: &Chapter, counted: &Counted) -> String {
    let below = chapters_below(chapter);
    let all = below.iter().copied().chain([chapter]);
    let minutes: Vec<Minutes> = all
        .filter_map(|chapter| counted.get(chapter.source_path.as_ref()?).copied())
        .collect();
    let reading: u32 = minutes.iter().map(|minutes| minutes.reading).sum();
    let tasks: u32 = minutes.iter().map(|minutes| minutes.tasks).sum();
    let pages = below.len() + 1;
    match (pages, tasks) {
        (1, _) => String::new(),
        (_, 0) => format!("The chapter has {pages} pages and takes about {reading} minutes."),
        _ => format!(
            "The chapter has {pages} pages and takes about {reading} minutes to read. Its tasks take \
             about {tasks} minutes more."
        ),
    }
}

fn html(objectives: &[&str], lasts: &str) -> String {
    let items: String = objectives
        .iter()
        .map(|line| format!("<li>{}</li>", line.trim_start_matches("- ")))
        .collect();
    let lasts = match lasts {
        "" => String::new(),
        lasts => format!("<p>{lasts}</p>"),
    };
    format!(
        "<section class=\"objectives\" role=\"group\" aria-label=\"Objectives\"><p><strong>After this \
         chapter</strong> you can</p><ul>{items}</ul>{lasts}</section>"
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use mdbook_preprocessor::book::SectionNumber;

    fn chapter(text: &str, below: Vec<Chapter>) -> Chapter {
        let mut chapter = Chapter::new("c", text.to_owned(), "c.md", Vec::new());
        chapter.number = Some(SectionNumber::new([1]));
        chapter.sub_items = below.into_iter().map(BookItem::Chapter).collect();
        chapter
    }

    fn set_for(part: &str, chapter: Chapter) -> Result<String, PageError> {
        let mut book = Book::new_with_items(vec![
            BookItem::PartTitle(part.to_owned()),
            BookItem::Chapter(chapter),
        ]);
        let minutes = Minutes {
            reading: 2,
            tasks: 3,
            spoken: 0,
        };
        set(&mut book, &Counted::from([("c.md".into(), minutes)]))?;
        Ok(book.chapters().next().unwrap().content.clone())
    }

    const WITH: &str = "# C\n\n```objectives\nadd\nsubtract\n```\n\nlast\n";

    #[test]
    fn objectives_come_with_the_minutes_of_all_pages() {
        let below = chapter("# D\n", Vec::new());
        let set = set_for("Learn", chapter(WITH, vec![below])).unwrap();
        assert!(set.contains("<li>add</li><li>subtract</li>"), "{set}");
        assert!(
            set.contains(
                "has 2 pages and takes about 4 minutes to read. Its tasks take about 6 minutes more."
            ),
            "{set}"
        );
        assert_eq!(set.lines().position(|line| line == "last"), Some(7));
    }

    #[test]
    fn a_chapter_without_objectives_is_refused() {
        let bare = || chapter("# C\n\nText.\n", Vec::new());
        let error = set_for("Learn", bare()).unwrap_err();
        assert!(error.to_string().contains("what it is for"), "{error}");
        set_for("To look up", bare()).unwrap();
        let below = chapter(WITH, vec![chapter(WITH, Vec::new())]);
        let error = set_for("Learn", below).unwrap_err();
        assert_eq!(error.line(), 3, "{error}");
        let empty = chapter("# C\n\n```objectives\n```\n", Vec::new());
        assert!(set_for("Learn", empty).is_err());
    }
}
