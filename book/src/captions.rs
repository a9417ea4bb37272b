//! Captions: no table and no figure stands without one.
//!
//! A table in Markdown has its caption in the paragraph before it, `Table: …`. A computed one has
//! it in its HTML.

use mdbook_markdown::pulldown_cmark::{Event, Tag, TagEnd};

use crate::page::{Page, PageError};

/// How the paragraph with a table's caption begins.
const TABLE: &str = "Table: ";
/// An element of computed HTML with the element that has to stand in it.
const CAPTIONED: [(&str, &str, &str); 2] = [
    ("<table", "</table>", "<caption>"),
    ("<figure", "</figure>", "<figcaption>"),
];

/// The page with the captions of its Markdown tables set as such.
///
/// # Errors
/// [`PageError`] for a table without a caption, and for a caption without its table.
pub(crate) fn set(page: &Page<'_>) -> Result<String, PageError> {
    let mut edits = Vec::new();
    let mut last = None;
    let mut caption = None;
    let mut depth = 0_usize;
    for (event, range) in page.events() {
        match event {
            Event::Start(Tag::Table(_)) => {
                let Some(start) = caption.take() else {
                    let message = format!(
                        "a table without a caption; write a paragraph \"{TABLE}what it shows\" \
                         right before it"
                    );
                    return Err(page.error(range.start, message));
                };
                let text = page.text();
                let end = text[start..range.start].trim_end().len() + start;
                // The empty comment ends the block of HTML in its own line.
                edits.push((
                    start..start + TABLE.len(),
                    "<span class=\"caption\">".to_owned(),
                ));
                edits.push((end..end, "</span>".to_owned()));
                depth += 1;
            }
            Event::End(TagEnd::Table) => depth -= 1,
            Event::Start(Tag::Paragraph) if depth == 0 => last = Some(range.start),
            Event::End(TagEnd::Paragraph) if depth == 0 => {
                if let Some(start) = caption {
                    return Err(page.error(start, "a caption without its table below"));
                }
                caption = last.filter(|start| page.text()[*start..].starts_with(TABLE));
            }
            Event::Start(Tag::Heading { .. } | Tag::List(_) | Tag::CodeBlock(_)) => {
                if let Some(start) = caption {
                    return Err(page.error(start, "a caption without its table below"));
                }
            }
            _ => {}
        }
    }
    match caption {
        Some(start) => Err(page.error(start, "a caption without its table below")),
        None => Ok(page.edited(edits)),
    }
}

/// What is missing in a computed piece of HTML: a table or a figure without the text of a caption.
pub(crate) fn missing(html: &str) -> Option<&'static str> {
    CAPTIONED.into_iter().find_map(|(open, close, caption)| {
        html.match_indices(open).find_map(|(start, _)| {
            let rest = &html[start..];
            let element = rest.find(close).map_or(rest, |end| &rest[..end]);
            let text = element.split_once(caption).map(|(_, text)| text);
            let text = text.map(|text| text.split("</").next().unwrap_or_default());
            let is_said = text.is_some_and(|text| text.chars().any(char::is_alphanumeric));
            (!is_said).then_some(caption)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_caption_stands_before_its_table() {
        let text = "# T\n\nTable: What *it* shows.\n\n| a |\n| --- |\n| b |\n";
        let set = set(&Page::new("p.md", text)).unwrap();
        assert!(
            set.contains("<span class=\"caption\">What *it* shows.</span>\n\n| a"),
            "{set}"
        );
    }

    #[test]
    fn a_table_without_caption_has_its_line() {
        for (text, line, reason) in [
            (
                "# T\n\nWords.\n\n| a |\n| --- |\n| b |\n",
                5,
                "without a caption",
            ),
            ("# T\n\nTable: Lost.\n\nWords.\n", 3, "without its table"),
            ("# T\n\nTable: Lost.\n", 3, "without its table"),
        ] {
            let error = set(&Page::new("p.md", text)).unwrap_err();
            assert_eq!(error.line(), line, "{error}");
            assert!(error.to_string().contains(reason), "{error}");
        }
    }

    #[test]
    fn computed_pieces_are_looked_at() {
        for (html, expected) in [
            ("<p>x</p>", None),
            ("<table><caption>A</caption></table>", None),
            ("<table><caption> </caption></table>", Some("<caption>")),
            ("<table></table>", Some("<caption>")),
            ("<figure><svg/></figure>", Some("<figcaption>")),
        ] {
            assert_eq!(missing(html), expected, "{html}");
        }
    }
}
