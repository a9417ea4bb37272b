//! The minutes a page takes: stated at its head, shown under its title, summed for the book.

use mdbook_preprocessor::book::Book;

use crate::page::{Page, PageError};

const HEAD: &str = "---\n";
/// Replaced by the sum over all pages.
const TOTAL: &str = "{{minutes}}";

/// Shows each page's minutes and takes its head off.
///
/// # Errors
/// [`PageError`] for a page without minutes or without a title.
pub(crate) fn show(book: &mut Book) -> Result<(), PageError> {
    let mut total = 0;
    let mut first_error = None;
    book.for_each_chapter_mut(|chapter| {
        if chapter.is_draft_chapter() {
            return;
        }
        match shown(&Page::of(chapter)) {
            Ok((minutes, content)) => {
                total += minutes;
                chapter.content = content;
            }
            Err(error) => {
                first_error.get_or_insert(error);
            }
        }
    });
    if let Some(error) = first_error {
        return Err(error);
    }
    book.for_each_chapter_mut(|chapter| {
        chapter.content = chapter.content.replace(TOTAL, &total.to_string());
    });
    Ok(())
}

fn shown(page: &Page<'_>) -> Result<(u32, String), PageError> {
    const REMEDY: &str = "begin the page with three lines: ---, minutes: 4, ---";
    let head_error = |message: &str| PageError::new(page.file(), 1, format!("{message}; {REMEDY}"));
    let inside = page
        .text()
        .strip_prefix(HEAD)
        .ok_or_else(|| head_error("no head"))?;
    let (head, rest) = inside
        .split_once(HEAD)
        .ok_or_else(|| head_error("the head is not closed"))?;
    let mut minutes = None;
    for (index, line) in head.lines().enumerate() {
        let at = |message: String| PageError::new(page.file(), index + 2, message);
        match line.split_once(':') {
            Some(("minutes", value)) => {
                let value = value.trim();
                let known = value.parse::<u32>().ok().filter(|m| (1..=60).contains(m));
                minutes = Some(known.ok_or_else(|| {
                    at(format!(
                        "minutes is \"{value}\", expected a whole number from 1 to 60"
                    ))
                })?);
            }
            _ => return Err(at(format!("\"{line}\" is no entry of a head; {REMEDY}"))),
        }
    }
    let minutes = minutes.ok_or_else(|| head_error("no minutes in the head"))?;
    let title_at = rest.find("# ").filter(|at| rest[..*at].trim().is_empty());
    let title_end = title_at.and_then(|at| Some(at + rest[at..].find('\n')?));
    let title_end = title_end.ok_or_else(|| {
        PageError::new(
            page.file(),
            head.lines().count() + 3,
            "no title; the head is followed by a line \"# Title\"",
        )
    })?;
    let unit = if minutes == 1 { "minute" } else { "minutes" };
    // The two lines that the time takes are taken from the head, so lines below stay.
    let blank = "\n".repeat(head.lines().count());
    Ok((
        minutes,
        format!(
            "{blank}{}\n\n<p class=\"minutes\">About {minutes} {unit}</p>{}",
            &rest[..title_end],
            &rest[title_end..]
        ),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_below_the_title_stay() {
        let text = "---\nminutes: 4\n---\n\n# Title\n\nText\n";
        let (minutes, shown) = shown(&Page::new("p.md", text)).unwrap();
        assert_eq!(minutes, 4);
        let line = |text: &str| text.lines().position(|line| line == "Text");
        assert_eq!(line(&shown), line(text));
        assert!(shown.contains("About 4 minutes"));
    }

    #[test]
    fn a_page_without_minutes_is_refused() {
        for (text, line, reason) in [
            ("# Title\n", 1, "no head"),
            ("---\nminutes: 4\n", 1, "not closed"),
            ("---\nminutes: many\n---\n# T\n", 2, "whole number"),
            ("---\nauthor: me\n---\n# T\n", 2, "no entry"),
            ("---\n---\n# T\n", 1, "no minutes"),
            ("---\nminutes: 4\n---\nText\n", 4, "no title"),
        ] {
            let error = shown(&Page::new("p.md", text)).unwrap_err();
            assert_eq!(error.line(), line, "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }
}
