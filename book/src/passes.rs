//! The passes over the book, as preprocessors of mdBook.

use std::io::{Read, Write};

use mdbook_preprocessor::book::Book;
use mdbook_preprocessor::errors::Result;
use mdbook_preprocessor::{Preprocessor, PreprocessorContext, parse_input};

use crate::page::{Page, PageError};
use crate::{blocks, captions, citations, formulas, links, minutes, next, terms, values};

/// One pass over the whole book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pass {
    /// Citations as links, and the pages that use a source.
    Citations,
    /// The first use of each term as a link to the glossary.
    Terms,
    /// Captions of tables.
    Captions,
    /// Every link leads to a page of the book.
    Links,
    /// The link from each page to the next.
    Next,
    /// The minutes of each page, what a chapter is for, and the shorter way through the book.
    Minutes,
    /// Numbers quoted from scenarios.
    Values,
    /// LaTeX to MathML.
    Formulas,
    /// Computed blocks.
    Blocks,
}

impl Pass {
    /// All passes, in the order in which they run; book.toml states the same order.
    pub const ALL: [Self; 9] = [
        Self::Citations,
        Self::Terms,
        Self::Captions,
        Self::Links,
        Self::Minutes,
        Self::Next,
        Self::Values,
        Self::Formulas,
        Self::Blocks,
    ];

    /// Its name in book.toml.
    pub fn key(self) -> &'static str {
        match self {
            Self::Citations => "jigwise-citations",
            Self::Terms => "jigwise-terms",
            Self::Captions => "jigwise-captions",
            Self::Links => "jigwise-links",
            Self::Next => "jigwise-next",
            Self::Minutes => "jigwise-minutes",
            Self::Values => "jigwise-values",
            Self::Formulas => "jigwise-formulas",
            Self::Blocks => "jigwise-blocks",
        }
    }

    /// The pass of a name.
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|pass| pass.key() == key)
    }

    /// Goes over the book.
    ///
    /// # Errors
    /// [`PageError`] naming file and line.
    pub fn over(self, mut book: Book) -> std::result::Result<Book, PageError> {
        match self {
            Self::Citations => citations::link(&mut book)?,
            Self::Terms => terms::link(&mut book)?,
            Self::Captions => each_page(&mut book, captions::set)?,
            Self::Links => links::check(&book)?,
            Self::Next => next::link(&mut book),
            Self::Minutes => minutes::show(&mut book)?,
            Self::Values => each_page(&mut book, values::filled)?,
            Self::Formulas => each_page(&mut book, formulas::set)?,
            Self::Blocks => each_page(&mut book, blocks::expanded)?,
        }
        Ok(book)
    }

    /// The pass as a process of stock mdBook: the book comes in and goes out as JSON.
    ///
    /// # Errors
    /// What can't be read, or what [`Pass::over`] refuses.
    pub fn run_as_command(self, input: &mut dyn Read, out: &mut dyn Write) -> Result<()> {
        let (_, book) = parse_input(input)?;
        serde_json::to_writer(out, &self.over(book)?)?;
        Ok(())
    }
}

fn each_page(
    book: &mut Book,
    pass: impl Fn(&Page<'_>) -> std::result::Result<String, PageError>,
) -> std::result::Result<(), PageError> {
    let mut first_error = None;
    book.for_each_chapter_mut(|chapter| match pass(&Page::of(chapter)) {
        Ok(content) => chapter.content = content,
        Err(error) => {
            first_error.get_or_insert(error);
        }
    });
    first_error.map_or(Ok(()), Err)
}

impl Preprocessor for Pass {
    fn name(&self) -> &str {
        self.key()
    }

    fn run(&self, _context: &PreprocessorContext, book: Book) -> Result<Book> {
        Ok(self.over(book)?)
    }
}
