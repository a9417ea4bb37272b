//! The glossary: on every page the first use of each of its terms is a link to it.
//!
//! The glossary has a heading for each term, with its name for links: `## Scatter {#scatter}`.
//! Further spellings stand in the heading after a slash. A term is found in running text, with or
//! without a plural ending and with a small or capital first letter; not in headings, links, code,
//! formulas, quoted values and HTML.

use std::cmp::Reverse;
use std::ops::Range;
use std::path::Path;

use mdbook_markdown::pulldown_cmark::{Event, Tag, TagEnd};
use mdbook_preprocessor::book::Book;

use crate::next::from;
use crate::page::{Page, PageError};

/// The page of terms.
const GLOSSARY: &str = "glossary.md";
/// What stands between two spellings of one term.
const OR: char = '/';
/// Endings that a term may take on.
const PLURALS: [&str; 2] = ["s", "es"];

struct Term {
    id: String,
    spellings: Vec<String>,
    line: usize,
    is_used: bool,
}

/// Links the first use of each term on each page.
///
/// # Errors
/// [`PageError`] for a term without a name for links, for a spelling that two terms have, and for
/// a term that no page uses.
pub(crate) fn link(book: &mut Book) -> Result<(), PageError> {
    let glossary = |path: Option<&Path>| path == Some(Path::new(GLOSSARY));
    let Some(page) = book
        .chapters()
        .find(|chapter| glossary(chapter.source_path.as_deref()))
    else {
        return Ok(());
    };
    let (file, mut terms) = {
        let page = Page::of(page);
        (page.file().to_owned(), terms(&page)?)
    };
    // A term of two words comes before one of its words.
    terms.sort_by_key(|term| Reverse(term.spellings.iter().map(String::len).max()));
    book.for_each_chapter_mut(|chapter| {
        let Some(path) = chapter.source_path.clone() else {
            return;
        };
        if !glossary(Some(&path)) {
            chapter.content = linked(&Page::of(chapter), &path, &mut terms);
        }
    });
    terms.sort_by_key(|term| term.line);
    match terms.iter().find(|term| !term.is_used) {
        Some(term) => Err(PageError::new(
            file,
            term.line,
            format!(
                "no page uses the term \"{}\"; take it out, or give it the spelling that pages have",
                term.spellings.join(" / ")
            ),
        )),
        None => Ok(()),
    }
}

fn terms(page: &Page<'_>) -> Result<Vec<Term>, PageError> {
    let mut terms: Vec<Term> = Vec::new();
    let mut open: Option<(Option<String>, String, usize)> = None;
    for (event, range) in page.events() {
        match event {
            Event::Start(Tag::Heading { id, .. }) => {
                let line = page.line(range.start);
                open = Some((id.map(|id| id.to_string()), String::new(), line));
            }
            Event::Text(text) => {
                if let Some((_, name, _)) = &mut open {
                    name.push_str(&text);
                }
            }
            Event::End(TagEnd::Heading(level)) => {
                let Some((id, name, line)) = open.take() else {
                    continue;
                };
                if level == mdbook_markdown::pulldown_cmark::HeadingLevel::H1 {
                    continue;
                }
                let id = id.ok_or_else(|| {
                    let message = format!(
                        "the term \"{name}\" has no name for links; write ## {name} {{#name}}"
                    );
                    PageError::new(page.file(), line, message)
                })?;
                let spellings: Vec<String> =
                    name.split(OR).map(|one| one.trim().to_owned()).collect();
                if let Some(twice) = spellings
                    .iter()
                    .find(|one| terms.iter().any(|term| term.spellings.contains(one)))
                {
                    let message = format!("\"{twice}\" is a spelling of two terms; keep one");
                    return Err(PageError::new(page.file(), line, message));
                }
                terms.push(Term {
                    id,
                    spellings,
                    line,
                    is_used: false,
                });
            }
            _ => {}
        }
    }
    Ok(terms)
}

fn linked(page: &Page<'_>, path: &Path, terms: &mut [Term]) -> String {
    let plain = plain(page);
    let mut edits: Vec<(Range<usize>, String)> = Vec::new();
    for term in terms {
        let found = plain
            .iter()
            .flat_map(|range| {
                term.spellings
                    .iter()
                    .filter_map(|spelling| find(page.text(), range, spelling))
            })
            .filter(|found| {
                edits
                    .iter()
                    .all(|(other, _)| found.end <= other.start || other.end <= found.start)
            })
            .min_by_key(|found| (found.start, usize::MAX - found.end));
        if let Some(found) = found {
            let text = &page.text()[found.clone()];
            let to = from(path, Path::new(GLOSSARY));
            let link = format!("[{text}]({to}#{})", term.id);
            edits.push((found, link));
            term.is_used = true;
        }
    }
    page.edited(edits)
}

/// The first use of a spelling within a range of the text.
fn find(text: &str, range: &Range<usize>, spelling: &str) -> Option<Range<usize>> {
    let inside = &text[range.clone()];
    let mut capital = spelling.chars();
    let capital: String = capital
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .chain(capital)
        .collect();
    let is_word = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    let whole = |start: usize, end: usize| {
        let before = inside[..start]
            .chars()
            .next_back()
            .is_none_or(|c| !is_word(c));
        before && inside[end..].chars().next().is_none_or(|c| !is_word(c))
    };
    [spelling, &capital]
        .into_iter()
        .flat_map(|form| inside.match_indices(form))
        .filter_map(|(start, form)| {
            let end = start + form.len();
            let ends = PLURALS
                .iter()
                .filter(|plural| inside[end..].starts_with(**plural))
                .map(|plural| end + plural.len());
            [end]
                .into_iter()
                .chain(ends)
                .find(|end| whole(start, *end))
                .map(|end| range.start + start..range.start + end)
        })
        .min_by_key(|found| found.start)
}

/// The pieces of running text.
fn plain(page: &Page<'_>) -> Vec<Range<usize>> {
    let mut pieces = Vec::new();
    let mut inside = 0_usize;
    for (event, range) in page.events() {
        match event {
            Event::Start(
                Tag::Heading { .. }
                | Tag::Link { .. }
                | Tag::Image { .. }
                | Tag::CodeBlock(_)
                | Tag::HtmlBlock
                | Tag::TableHead,
            ) => inside += 1,
            Event::End(
                TagEnd::Heading(_)
                | TagEnd::Link
                | TagEnd::Image
                | TagEnd::CodeBlock
                | TagEnd::HtmlBlock
                | TagEnd::TableHead,
            ) => inside = inside.saturating_sub(1),
            Event::Text(_) if inside == 0 => pieces.push(range),
            _ => {}
        }
    }
    let aside = aside(page.text());
    pieces
        .into_iter()
        .flat_map(|piece| without(piece, &aside))
        .collect()
}

/// Formulas, and numbers and citations that a later pass fills in.
fn aside(text: &str) -> Vec<Range<usize>> {
    let mut found = Vec::new();
    for (open, close) in [("{{", "}}"), ("$$", "$$"), ("$", "$")] {
        let mut at = 0;
        while let Some(start) = text[at..].find(open).map(|offset| at + offset) {
            let inside = start + open.len();
            let Some(end) = text[inside..].find(close) else {
                break;
            };
            at = inside + end + close.len();
            let range = start..at;
            if !found
                .iter()
                .any(|known: &Range<usize>| known.contains(&start))
            {
                found.push(range);
            }
        }
    }
    found
}

fn without(piece: Range<usize>, aside: &[Range<usize>]) -> Vec<Range<usize>> {
    let mut left = vec![piece];
    for cut in aside {
        left = left
            .into_iter()
            .flat_map(|part| {
                let before = part.start..part.end.min(cut.start);
                let after = part.start.max(cut.end)..part.end;
                [before, after]
                    .into_iter()
                    .filter(|part| part.start < part.end)
            })
            .collect();
        if left.is_empty() {
            break;
        }
    }
    left
}

#[cfg(test)]
mod tests {
    use super::*;
    use mdbook_preprocessor::book::{BookItem, Chapter};

    fn linked(text: &str, glossary: &str) -> Result<String, PageError> {
        let chapter = |text: &str, path: &str| {
            BookItem::Chapter(Chapter::new("c", text.to_owned(), path, Vec::new()))
        };
        let mut book = Book::new_with_items(vec![
            chapter(text, "part/one.md"),
            chapter(glossary, GLOSSARY),
        ]);
        link(&mut book)?;
        Ok(book.chapters().next().unwrap().content.clone())
    }

    #[test]
    fn the_first_use_in_running_text_is_a_link() {
        let text =
            "# A nudge\n\n`nudge` [nudge](x.md) $nudge$ {{value nudge}} nudgeless nudges nudge.\n";
        let linked = linked(text, "# G\n\n## nudge {#nudge}\n\n## Σ / nudgeless {#s}\n").unwrap();
        assert!(
            linked.contains("[nudges](../glossary.md#nudge) nudge."),
            "{linked}"
        );
        assert!(linked.contains("[nudgeless](../glossary.md#s)"), "{linked}");
        assert_eq!(linked.matches("glossary.md").count(), 2, "{linked}");
    }

    #[test]
    fn a_term_of_two_words_comes_first() {
        let linked = linked(
            "# One\n\nA load match.\n\nA match.\n",
            "# G\n\n## match {#m}\n\n## load match {#l}\n",
        )
        .unwrap();
        assert!(
            linked.contains("[load match](../glossary.md#l)"),
            "{linked}"
        );
        assert!(linked.contains("A [match](../glossary.md#m)"), "{linked}");
    }

    #[test]
    fn a_broken_glossary_has_its_line() {
        for (glossary, line, reason) in [
            ("# G\n\n## Nudge\n", 3, "no name for links"),
            (
                "# G\n\n## Nudge {#a}\n\n## x / Nudge {#b}\n",
                5,
                "two terms",
            ),
            ("# G\n\n## Nudge {#a}\n\n## Never {#b}\n", 5, "no page uses"),
        ] {
            let error = linked("# One\n\nA Nudge.\n", glossary).unwrap_err();
            assert_eq!(error.line(), line, "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }
}
