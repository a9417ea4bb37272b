//! Text that is no formula.

use std::fmt;

use jigwise_quantity::{MAX_QUOTED, excerpt};

use crate::hint;

/// Brackets, powers and signs inside each other, at most.
pub(super) const DEEPEST: usize = 64;
/// Characters, at most.
pub(super) const LONGEST: usize = 1_000;

/// Text that is no formula, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormulaError {
    pub(super) column: usize,
    pub(super) fault: Fault,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fault {
    Empty,
    TooLong,
    TooDeep,
    Character(char),
    Name(String),
    Number(String),
    NoValue(Option<char>),
    NotClosed,
    NotOpened,
    NoSign,
    NoBracket(&'static str),
}

impl FormulaError {
    /// The character of the text where it went wrong, from 1.
    pub fn column(&self) -> usize {
        self.column
    }

    /// True where a name is none that a formula has.
    pub fn is_unknown_name(&self) -> bool {
        matches!(self.fault, Fault::Name(_))
    }
}

impl std::error::Error for FormulaError {}

impl fmt::Display for FormulaError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "formula, column {}: ", self.column)?;
        match &self.fault {
            Fault::Empty => f.write_str("nothing there; write for example Z0*(1+S)/(1-S)"),
            Fault::TooLong => write!(
                f,
                "more than {LONGEST} characters; none of these formulas needs so many"
            ),
            Fault::TooDeep => write!(
                f,
                "more than {DEEPEST} brackets or signs inside each other; simplify it"
            ),
            Fault::Character(c) => write!(
                f,
                "'{c}' has no meaning here; known are + - * / ^ ( ), numbers and {}",
                NAMES.join(", ")
            ),
            Fault::Name(name) => {
                write!(f, "\"{}\" is no name here", excerpt(name, MAX_QUOTED))?;
                let folded = name.to_ascii_lowercase();
                if folded.starts_with("s1") || folded.starts_with("s2") {
                    return f.write_str("; the reading is S in every fixture");
                }
                f.write_str(&hint(name, &NAMES))
            }
            Fault::Number(text) => write!(
                f,
                "\"{}\" is no number; write it plain, as 50, 0.5 or 1e-3",
                excerpt(text, MAX_QUOTED)
            ),
            Fault::NoValue(None) => {
                f.write_str("it ends where a number, S, Z0, j or ( was expected")
            }
            Fault::NoValue(Some(c)) => {
                write!(f, "'{c}' stands where a number, S, Z0, j or ( was expected")
            }
            Fault::NotClosed => f.write_str("this ( is never closed; add a )"),
            Fault::NotOpened => f.write_str("this ) closes nothing; take it out or add a ("),
            Fault::NoSign => f.write_str(
                "two values beside each other; write the sign between them, as in 2*Z0*(1-S)",
            ),
            Fault::NoBracket(name) => {
                write!(f, "{name} needs its value in brackets, as in {name}(S)")
            }
        }
    }
}

const NAMES: [&str; 6] = ["S", "Z0", "j", "sqrt", "conj", "abs"];
