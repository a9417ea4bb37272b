use std::fmt;

/// Why a file could not be read, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct TouchstoneError {
    pub(crate) file: String,
    pub(crate) line: Option<usize>,
    pub(crate) column: Option<usize>,
    pub(crate) problem: Problem,
}

/// What was wrong. The text of each says what was expected and what to do next.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Problem {
    /// The operating system would not give the file.
    Unreadable {
        /// The system's reason.
        reason: String,
    },
    /// The path is a folder.
    Folder,
    /// No data at all.
    Empty,
    /// Data came before any option line.
    NoOptionLine,
    /// A word of the option line that is none of its fields.
    OptionWord {
        /// The word found.
        found: String,
        /// What would be right there.
        expected: &'static str,
    },
    /// A reference that is not one positive real number.
    Reference {
        /// The text found.
        found: String,
    },
    /// Two ports with different references.
    UnequalReferences {
        /// The references in Ω.
        ohm: [f64; 2],
    },
    /// Version 2 of the format.
    VersionTwo,
    /// More ports than this reader takes.
    Ports {
        /// Ports named by the file's extension.
        count: usize,
    },
    /// A parameter that needs two ports in a one-port file.
    ParameterNeedsTwoPorts {
        /// H or G.
        parameter: char,
    },
    /// Text that is no number.
    Number {
        /// The text found.
        found: String,
        /// How to write it.
        advice: &'static str,
    },
    /// A record with the wrong count of numbers.
    Count {
        /// Numbers found.
        found: usize,
        /// Numbers in a record of this file.
        expected: usize,
        /// What to do about it.
        advice: &'static str,
    },
    /// The file ends inside a record.
    Truncated {
        /// Numbers found in the last record.
        found: usize,
        /// Numbers a record has.
        expected: usize,
    },
    /// A frequency that does not rise.
    Frequency {
        /// The frequency as written, in the file's own unit.
        found: String,
        /// The one before it; `None` where the one found is below zero.
        previous: Option<String>,
    },
    /// A negative magnitude.
    NegativeMagnitude {
        /// The value found.
        found: f64,
    },
    /// A matrix that has no S-parameters.
    Singular,
}

impl TouchstoneError {
    pub(crate) fn whole(file: &str, problem: Problem) -> Self {
        Self {
            file: file.to_owned(),
            line: None,
            column: None,
            problem,
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
        matches!(self.problem, Problem::Unreadable { .. } | Problem::Folder)
    }

    /// True where the file is in order but of a kind this reader does not take.
    pub fn is_unsupported(&self) -> bool {
        matches!(
            self.problem,
            Problem::VersionTwo | Problem::Ports { .. } | Problem::UnequalReferences { .. }
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

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable { reason } => {
                write!(
                    f,
                    "can't be read ({reason}); check the name and the permissions"
                )
            }
            Self::Folder => f.write_str("is a folder; name a .s1p or .s2p file inside it"),
            Self::Empty => f.write_str(
                "holds no data; expected an option line such as \"# MHz S RI R 50\" and at \
                 least one line of numbers. Export the sweep again",
            ),
            Self::NoOptionLine => f.write_str(
                "data before any option line, so unit and format are unknown; add a line such \
                 as \"# MHz S RI R 50\" above it",
            ),
            Self::OptionWord { found, expected } => write!(
                f,
                "found \"{found}\" in the option line, expected {expected}"
            ),
            Self::Reference { found } => write!(
                f,
                "found reference \"{found}\", expected R and one positive real number of ohms \
                 such as \"R 50\""
            ),
            Self::UnequalReferences { ohm: [a, b] } => write!(
                f,
                "the ports refer to {a} and {b} ohms; expected the same on both. Export the \
                 sweep with one reference"
            ),
            Self::VersionTwo => f.write_str(
                "is a version 2 file, which is not read yet; export it as version 1 (.s1p or \
                 .s2p)",
            ),
            Self::Ports { count } => write!(
                f,
                "the extension says {count} ports, expected one or two; export the two ports \
                 that held the part"
            ),
            Self::ParameterNeedsTwoPorts { parameter } => write!(
                f,
                "{parameter} parameters exist for two ports only, expected S, Y or Z in a \
                 one-port file"
            ),
            Self::Number { found, advice } => {
                write!(f, "found \"{found}\", expected a number; {advice}")
            }
            Self::Count {
                found,
                expected,
                advice,
            } => write!(f, "found {found} numbers, expected {expected}; {advice}"),
            Self::Truncated { found, expected } => write!(
                f,
                "the file ends after {found} of the {expected} numbers of a record; export the \
                 sweep again, or delete this last record if the rest is enough"
            ),
            Self::Frequency {
                found,
                previous: Some(previous),
            } => write!(
                f,
                "found frequency {found} after {previous}, expected a higher one; sort the \
                 records or keep one sweep per file"
            ),
            Self::Frequency {
                found,
                previous: None,
            } => write!(
                f,
                "found frequency {found}, expected zero or more; check the first column"
            ),
            Self::NegativeMagnitude { found } => write!(
                f,
                "found magnitude {found}, expected zero or more; if the file holds real and \
                 imaginary parts, its option line must say RI"
            ),
            Self::Singular => f.write_str(
                "this matrix has no S-parameters (a pole of the conversion); export the sweep \
                 as S-parameters",
            ),
        }
    }
}
