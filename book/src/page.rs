//! A chapter as it is written, and edits to it that keep every line where it was.
//!
//! Several passes go over a chapter one after the other. What each puts in its place takes as
//! many lines as what stood there, so a later pass still names the line a writer sees.

use std::fmt;
use std::ops::Range;
use std::path::Path;

use mdbook_markdown::pulldown_cmark::{CodeBlockKind, Event, Tag};
use mdbook_markdown::{MarkdownOptions, new_cmark_parser};
use mdbook_preprocessor::book::Chapter;

/// The folder of the chapters, as it is called in errors.
const FOLDER: &str = "book/text";

/// Something wrong on a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageError {
    file: String,
    line: usize,
    message: String,
}

impl PageError {
    /// An error on a line of a file, from 1.
    pub fn new(file: impl Into<String>, line: usize, message: impl fmt::Display) -> Self {
        Self {
            file: file.into(),
            line,
            message: message.to_string(),
        }
    }

    /// The file, from the root of the project.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The line, from 1.
    pub fn line(&self) -> usize {
        self.line
    }
}

impl std::error::Error for PageError {}

impl fmt::Display for PageError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, line {}: {}", self.file, self.line, self.message)
    }
}

/// The name of a chapter in errors: its path from the root of the project.
pub fn file_name(path: &Path) -> String {
    format!("{FOLDER}/{}", path.display())
}

/// A fenced block.
pub struct Fence {
    /// What follows the opening fence.
    pub info: String,
    /// The whole block in the text.
    pub range: Range<usize>,
    /// What stands between the fences.
    pub body: String,
    /// The line of the opening fence, from 1.
    pub line: usize,
}

/// A chapter's text with its name.
pub struct Page<'a> {
    file: String,
    text: &'a str,
}

impl<'a> Page<'a> {
    /// The page of a chapter.
    pub fn of(chapter: &'a Chapter) -> Self {
        let path = chapter.source_path.as_deref().unwrap_or(Path::new(""));
        Self {
            file: file_name(path),
            text: &chapter.content,
        }
    }

    /// A page from its parts.
    pub fn new(file: impl Into<String>, text: &'a str) -> Self {
        Self {
            file: file.into(),
            text,
        }
    }

    /// Its name in errors.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Its text.
    pub fn text(&self) -> &'a str {
        self.text
    }

    /// The line, from 1, of an offset into the text.
    pub fn line(&self, offset: usize) -> usize {
        let upto = &self.text.as_bytes()[..offset.min(self.text.len())];
        upto.iter().filter(|b| **b == b'\n').count() + 1
    }

    /// An error at an offset into the text.
    pub fn error(&self, offset: usize, message: impl fmt::Display) -> PageError {
        PageError::new(&self.file, self.line(offset), message)
    }

    /// The Markdown events with where they stand.
    pub fn events(&self) -> impl Iterator<Item = (Event<'a>, Range<usize>)> {
        new_cmark_parser(self.text, &MarkdownOptions::default()).into_offset_iter()
    }

    /// All fenced blocks, in order.
    pub fn fences(&self) -> Vec<Fence> {
        self.events()
            .filter_map(|(event, range)| match event {
                Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => {
                    let whole = &self.text[range.clone()];
                    let body = whole.split_once('\n').map_or("", |(_, rest)| rest);
                    let body = body.trim_end();
                    let body = body.rfind('\n').map_or("", |at| &body[..=at]);
                    Some(Fence {
                        info: info.trim().to_owned(),
                        line: self.line(range.start),
                        body: body.to_owned(),
                        range,
                    })
                }
                _ => None,
            })
            .collect()
    }

    /// Where code stands, which no pass reads as text.
    pub fn code(&self) -> Vec<Range<usize>> {
        self.events()
            .filter_map(|(event, range)| match event {
                Event::Code(_) | Event::Start(Tag::CodeBlock(_)) => Some(range),
                _ => None,
            })
            .collect()
    }

    /// The text with each range replaced; blank lines make up for lines taken out.
    pub fn edited(&self, mut edits: Vec<(Range<usize>, String)>) -> String {
        edits.sort_by_key(|(range, _)| range.start);
        let mut out = String::with_capacity(self.text.len());
        let mut at = 0;
        for (range, replacement) in edits {
            out.push_str(&self.text[at..range.start]);
            let lines = |text: &str| text.matches('\n').count();
            let missing = lines(&self.text[range.clone()]).saturating_sub(lines(&replacement));
            out.push_str(&replacement);
            out.push_str(&"\n".repeat(missing));
            at = range.end;
        }
        out.push_str(&self.text[at..]);
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fences_know_their_line_and_body() {
        let page = Page::new("p.md", "a\n\n```worked reflect\nx = 1\ny\n```\n\nb `$x$`\n");
        let fences = page.fences();
        assert_eq!(fences.len(), 1);
        assert_eq!(fences[0].info, "worked reflect");
        assert_eq!(fences[0].body, "x = 1\ny\n");
        assert_eq!(fences[0].line, 3);
        assert_eq!(page.code().len(), 2);
    }

    #[test]
    fn edits_keep_lines_where_they_were() {
        let page = Page::new("p.md", "a\n```x\n1\n2\n```\nlast\n");
        let range = page.fences()[0].range.clone();
        let edited = page.edited(vec![(range, "<p>one</p>".to_owned())]);
        assert_eq!(edited.lines().position(|line| line == "last"), Some(5));
    }
}
