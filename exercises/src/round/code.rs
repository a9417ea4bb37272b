//! The code of a round: which sort of part it is and the seed, with a sign that finds a typo.
//!
//! The 32 signs are the elements of the field of 32, and the last sign makes Σ gᵏ·xₖ zero, with g a
//! generator of the field. All weights differ and none is zero, so one wrong sign and two that have
//! changed places are always found.

use std::fmt;

use jigwise_bench::{MAX_QUOTED, excerpt};

use super::Sort;

/// Letters and digits that nobody mistakes for each other, as on the sheets of a tray.
const SIGNS: &[u8; 32] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";
/// Signs of the seed.
const SEED_SIGNS: usize = 8;
/// Signs in all: the sort, the seed, the check.
const LENGTH: usize = SEED_SIGNS + 2;
/// Bits of a sign.
const BITS: u32 = 5;

/// The name of a round: the same code is the same part, the same calibrations and the same noise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Code {
    pub(super) sort: Sort,
    pub(super) seed: u64,
}

/// Text that is no code of a round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CodeError {
    /// Another count of signs.
    Length {
        /// The text found.
        text: String,
        /// How many signs it has.
        signs: usize,
    },
    /// A sign that no code has.
    Sign {
        /// The text found.
        text: String,
        /// The sign.
        sign: char,
    },
    /// The check sign does not fit: one sign is wrong, or two have changed places.
    Typo {
        /// The text found.
        text: String,
    },
}

impl std::error::Error for CodeError {}

impl fmt::Display for CodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quoted = |text: &str| excerpt(text, MAX_QUOTED);
        match self {
            Self::Length { text, signs } => write!(
                f,
                "\"{}\" has {signs} signs, and the code of a round has {LENGTH}, as in {}; copy it \
                 again, whole",
                quoted(text),
                Code::new(Sort::Resistor, 1)
            ),
            Self::Sign { text, sign } => write!(
                f,
                "\"{}\" has the sign {}, and no code has it; a code has neither 0 and 1 nor the \
                 letters I and O",
                quoted(text),
                excerpt(&sign.to_string(), MAX_QUOTED)
            ),
            Self::Typo { text } => write!(
                f,
                "\"{}\" is no code of a round: one sign is wrong, or two have changed places; \
                 compare it with the one you were given",
                quoted(text)
            ),
        }
    }
}

impl Code {
    /// How many rounds of one sort there are.
    pub const ROUNDS: u64 = 1 << (BITS * SEED_SIGNS as u32);

    /// The round of a sort with a seed, of which the lowest 40 bits count.
    pub fn new(sort: Sort, seed: u64) -> Self {
        Self {
            sort,
            seed: seed % Self::ROUNDS,
        }
    }

    /// The sort of part.
    pub fn sort(self) -> Sort {
        self.sort
    }

    fn elements(self) -> [u8; LENGTH] {
        let mut elements = [0; LENGTH];
        elements[0] = self.sort as u8;
        for (at, element) in elements[1..=SEED_SIGNS].iter_mut().enumerate() {
            *element = (self.seed >> (BITS as usize * at)) as u8 % 32;
        }
        elements[LENGTH - 1] = sum(&elements[..LENGTH - 1]);
        elements
    }
}

/// Σ gᵏ·xₖ, k from 1. The weight of the check sign is 1.
fn sum(elements: &[u8]) -> u8 {
    elements.iter().rev().fold(0, |sum, x| times_g(sum ^ x))
}

/// Times the generator x in the field of 32, modulo x⁵ + x² + 1, which is primitive.
fn times_g(element: u8) -> u8 {
    let shifted = element << 1;
    if shifted & 0b10_0000 == 0 {
        shifted
    } else {
        shifted ^ 0b10_0101
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, element) in self.elements().into_iter().enumerate() {
            if at == LENGTH / 2 {
                f.write_str("-")?;
            }
            write!(f, "{}", char::from(SIGNS[usize::from(element)]))?;
        }
        Ok(())
    }
}

/// As people type it: in small letters, without its hyphen, with spaces.
impl std::str::FromStr for Code {
    type Err = CodeError;

    fn from_str(text: &str) -> Result<Self, CodeError> {
        let text = text.trim();
        let mut elements = Vec::with_capacity(LENGTH);
        for sign in text.chars().filter(|c| !c.is_whitespace() && *c != '-') {
            let upper = sign.to_ascii_uppercase();
            let found = SIGNS.iter().position(|known| char::from(*known) == upper);
            let found = found.ok_or_else(|| CodeError::Sign {
                text: text.to_owned(),
                sign,
            })?;
            // One of 32.
            elements.push(found as u8);
        }
        if elements.len() != LENGTH {
            return Err(CodeError::Length {
                text: text.to_owned(),
                signs: elements.len(),
            });
        }
        let typo = || CodeError::Typo {
            text: text.to_owned(),
        };
        let (body, check) = elements.split_at(LENGTH - 1);
        let sort = Sort::ALL.into_iter().find(|sort| *sort as u8 == body[0]);
        let sort = sort.filter(|_| sum(body) == check[0]).ok_or_else(typo)?;
        let seed = body[1..]
            .iter()
            .rev()
            .fold(0, |seed, element| seed << BITS | u64::from(*element));
        Ok(Self { sort, seed })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_read_as_people_type_it() {
        for seed in [0, 1, 0x12_3456_789a, Code::ROUNDS - 1] {
            for sort in Sort::ALL {
                let code = Code::new(sort, seed);
                let text = code.to_string();
                assert_eq!(text.parse(), Ok(code), "{text}");
                let typed = format!(" {} ", text.to_lowercase().replace('-', " "));
                assert_eq!(typed.parse(), Ok(code), "{typed}");
            }
        }
    }

    #[test]
    fn every_wrong_sign_and_every_change_of_places_is_found() {
        let code = Code::new(Sort::Crystal, 0x7f_3b21_905d);
        let signs: Vec<char> = code.to_string().chars().filter(|c| *c != '-').collect();
        let refused = |signs: &[char]| {
            let text: String = signs.iter().collect();
            text.parse::<Code>().is_err()
        };
        for at in 0..signs.len() {
            for sign in SIGNS.iter().map(|sign| char::from(*sign)) {
                let mut other = signs.clone();
                other[at] = sign;
                assert_eq!(refused(&other), sign != signs[at], "{at} {sign}");
            }
            for with in 0..at {
                let mut other = signs.clone();
                other.swap(at, with);
                assert_eq!(refused(&other), signs[at] != signs[with], "{at} {with}");
            }
        }
    }

    #[test]
    fn what_is_no_code_gets_a_sentence() {
        for (text, words) in [
            ("", "has 0 signs"),
            ("2ABC", "has 4 signs"),
            ("2222O-22222", "neither 0 and 1"),
            ("22222-22223", "compare it"),
        ] {
            let said = text.parse::<Code>().unwrap_err().to_string();
            assert!(said.contains(words), "{said}");
        }
    }
}
