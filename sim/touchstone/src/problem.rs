//! What can be wrong with a file, each in a sentence.

use std::fmt;

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
    /// Text in two bytes a letter.
    WideText,
    /// A line longer than the reader keeps.
    LongLine {
        /// The longest it keeps.
        bytes: usize,
    },
    /// No data at all.
    Empty,
    /// Data came before any option line.
    NoOptionLine,
    /// A word of the option line that is none of its fields, or one given twice.
    OptionWord {
        /// The word found.
        found: String,
        /// What would be right there.
        expected: &'static str,
    },
    /// A reference that is not a positive real number.
    Reference {
        /// The text found.
        found: String,
    },
    /// References that are neither one nor one for each port.
    ReferenceCount {
        /// How many were found.
        found: usize,
        /// Ports of the file.
        ports: usize,
    },
    /// Parameters normalised to references that differ, which the standard does not define.
    NormalisedToUnequal {
        /// Y, Z, H or G.
        parameter: char,
    },
    /// More ports than this reader takes, or none.
    Ports {
        /// Ports named by the file.
        count: usize,
    },
    /// H or G with another number of ports than two.
    ParameterNeedsTwoPorts {
        /// H or G.
        parameter: char,
        /// Ports of the file.
        ports: usize,
    },
    /// A version that does not exist, or one in the wrong place.
    Version {
        /// The text found.
        found: String,
    },
    /// A line in brackets that is no keyword of the standard, or not closed.
    Keyword {
        /// The line's beginning.
        found: String,
    },
    /// A keyword in a file that does not begin with a version.
    KeywordBeforeVersion {
        /// The keyword found.
        found: String,
    },
    /// A keyword given before one that it depends on, twice, or in the wrong part.
    KeywordOrder {
        /// The keyword found.
        found: &'static str,
        /// What belongs there.
        expected: &'static str,
    },
    /// A keyword that must be there.
    KeywordMissing {
        /// The keyword.
        keyword: &'static str,
        /// Why it must, and what to write.
        advice: &'static str,
    },
    /// An argument that its keyword does not take.
    Argument {
        /// The keyword.
        keyword: &'static str,
        /// The text found.
        found: String,
        /// What it takes.
        expected: &'static str,
    },
    /// Mixed-mode Y or Z, whose references this reader does not know.
    MixedModeParameter {
        /// Y or Z.
        parameter: char,
    },
    /// More or fewer records than the file announces.
    RecordCount {
        /// The keyword that announces them.
        keyword: &'static str,
        /// Records found.
        found: usize,
        /// Records announced.
        expected: usize,
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
    /// A record that ends before it is complete.
    Truncated {
        /// Numbers found in the record.
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

impl fmt::Display for Problem {
    #[expect(
        clippy::too_many_lines,
        reason = "a sentence for each problem, in the order of the enum"
    )]
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable { reason } => {
                // What the system said, without the number that it has for it.
                let end = reason.find(" (os error").unwrap_or(reason.len());
                let reason = &reason[..end];
                write!(
                    f,
                    "can't be read ({reason}); check the name and the permissions"
                )
            }
            Self::Folder => f.write_str("is a folder; name a .s1p or .s2p file inside it"),
            Self::WideText => f.write_str(
                "is text in two bytes a letter, expected plain ASCII; save it as plain text \
                 (ASCII or UTF-8)",
            ),
            Self::LongLine { bytes } => write!(
                f,
                "found a line of more than {bytes} bytes, expected at most four pairs of numbers \
                 a line; break the line, or check that this is a Touchstone file"
            ),
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
                "found reference \"{found}\", expected a positive real number of ohms such as \
                 \"R 50\""
            ),
            Self::ReferenceCount { found, ports } => write!(
                f,
                "found {found} references for {ports} ports, expected one for all or one for \
                 each; correct the list"
            ),
            Self::NormalisedToUnequal { parameter } => write!(
                f,
                "found {parameter} parameters normalised to references that differ between the \
                 ports, which the standard does not define; export S-parameters, or version 2, \
                 which writes ohms"
            ),
            Self::Ports { count } => write!(
                f,
                "found {count} ports, expected 1 to {}; export the ports that matter",
                crate::MOST_PORTS
            ),
            Self::ParameterNeedsTwoPorts { parameter, ports } => write!(
                f,
                "found {parameter} parameters in a file of {ports} port{}, expected S, Y or Z: \
                 {parameter} exists for two ports only. Export S-parameters",
                if *ports == 1 { "" } else { "s" }
            ),
            Self::Version { found } => write!(
                f,
                "found version \"{found}\", expected \"[Version] 2.0\" or \"[Version] 2.1\" as \
                 the first line that is no comment; a version 1 file has no such line"
            ),
            Self::Keyword { found } => write!(
                f,
                "found \"{found}\", expected a keyword of the standard in closed brackets with a \
                 blank after them, such as \"[Number of Ports] 2\"; put remarks behind an \
                 exclamation mark"
            ),
            Self::KeywordBeforeVersion { found } => write!(
                f,
                "found {found} in a file without a version, expected \"[Version] 2.0\" as the \
                 first line that is no comment; add it above the option line"
            ),
            Self::KeywordOrder { found, expected } => {
                write!(f, "found {found}, expected {expected}; move or delete it")
            }
            Self::KeywordMissing { keyword, advice } => {
                write!(
                    f,
                    "found no {keyword}, expected it before this line: {advice}"
                )
            }
            Self::Argument {
                keyword,
                found,
                expected,
            } => write!(
                f,
                "found \"{found}\" after {keyword}, expected {expected}; correct it"
            ),
            Self::MixedModeParameter { parameter } => write!(
                f,
                "found mixed-mode {parameter} parameters, expected S: what they refer to is not \
                 converted here. Export mixed-mode S, or single-ended {parameter}"
            ),
            Self::RecordCount {
                keyword,
                found,
                expected,
            } => write!(
                f,
                "found {found} records where {keyword} announces {expected}; correct the number \
                 if the records are complete, else export the sweep again"
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
                "a record ends after {found} of the {expected} numbers it needs; export the \
                 sweep again, or delete this record if the rest is enough"
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
