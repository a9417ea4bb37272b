//! An error with its place in a file.

use std::fmt;

use crate::problem::Problem;
use crate::text;

/// Why a file could not be read, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct TouchstoneError {
    pub(crate) file: String,
    pub(crate) line: Option<usize>,
    pub(crate) column: Option<usize>,
    pub(crate) problem: Box<Problem>,
}

/// A problem of one line, before the file's name and the line's number are known.
#[derive(Debug)]
pub(crate) struct Located {
    pub column: Option<usize>,
    pub problem: Box<Problem>,
}

impl Located {
    #[cold]
    pub fn at(line: &[u8], at: usize, problem: Problem) -> Self {
        Self {
            column: Some(text::column(line, at)),
            problem: Box::new(problem),
        }
    }

    #[cold]
    pub fn whole_line(problem: Problem) -> Self {
        Self {
            column: None,
            problem: Box::new(problem),
        }
    }

    /// Placed at the line's first word where it has no better place.
    #[cold]
    pub fn on(self, line: &[u8]) -> Self {
        let first = || text::words(line).next().map_or(0, |word| word.at);
        Self {
            column: self.column.or_else(|| Some(text::column(line, first()))),
            ..self
        }
    }
}

impl TouchstoneError {
    pub(crate) fn whole(file: &str, problem: Problem) -> Self {
        Self {
            file: file.to_owned(),
            line: None,
            column: None,
            problem: Box::new(problem),
        }
    }

    /// The file's name as it was given.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The line, from 1, where the problem has a place.
    pub fn line(&self) -> Option<usize> {
        self.line
    }

    /// The column, from 1, where the problem has one.
    pub fn column(&self) -> Option<usize> {
        self.column
    }

    /// What was wrong.
    pub fn problem(&self) -> &Problem {
        &self.problem
    }

    /// True where the file could not be opened or read at all.
    pub fn is_unreadable(&self) -> bool {
        matches!(
            *self.problem,
            Problem::Unreadable { .. } | Problem::Folder | Problem::WideText
        )
    }

    /// True where the file may be in order but is of a kind this reader does not take.
    pub fn is_unsupported(&self) -> bool {
        matches!(
            *self.problem,
            Problem::Ports { .. }
                | Problem::LongLine { .. }
                | Problem::NormalisedToUnequal { .. }
                | Problem::MixedModeParameter { .. }
        )
    }
}

impl std::error::Error for TouchstoneError {}

impl fmt::Display for TouchstoneError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(column) = self.column {
            write!(f, ", column {column}")?;
        }
        write!(f, ": {}", self.problem)
    }
}

/// The error of a line whose number is known now.
pub(crate) fn placed(name: &str, line: usize, located: Located) -> TouchstoneError {
    TouchstoneError {
        file: name.to_owned(),
        line: Some(line),
        column: located.column,
        problem: located.problem,
    }
}
