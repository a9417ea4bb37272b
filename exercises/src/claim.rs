//! A value with its ±, and whether that is what could be known.
//!
//! Readings allow a half width of the 95 % interval, the *possible* ±. A claim v ± c passes where
//! the true value t is inside it, |v − t| ≤ c, and it is neither too sure nor too cautious,
//!
//! 0.7 ≤ c/possible ≤ 3.
//!
//! Where the possible ± is more than half of the value, the value can't be told, and saying so is
//! the right answer.

use std::fmt;

use jigwise_bench::words::short_percent;
use jigwise_bench::{
    MAX_QUOTED, Unit, ValueError, excerpt, parse_quantity, parse_share, parse_value,
};

/// The least claim that is not too sure, as a part of the possible one.
pub const TOO_SURE_BELOW: f64 = 0.7;
/// The largest claim that is not too cautious, as a part of the possible one.
pub const TOO_CAUTIOUS_ABOVE: f64 = 3.0;
/// The largest possible ±, as a part of the value, at which the value is told at all.
pub const TOLD_WITHIN: f64 = 0.5;
/// Half the 95 % interval of a normal quantity, in standard uncertainties.
pub const NORMAL_95: f64 = 1.959_963_984_540_054;

/// What somebody claims to know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Claim {
    /// A value and half the width of its 95 % interval.
    Within {
        /// The value.
        value: f64,
        /// Half the width of the interval, in the unit of the value.
        half_width: f64,
    },
    /// A value without its ±.
    Bare(f64),
    /// The value can't be told from these readings.
    CantBeTold,
}

/// What could be known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knowable {
    /// The true value.
    pub right: f64,
    /// Half the width of the 95 % interval that the readings allow, in the unit of the value.
    /// Infinite where they allow none.
    pub possible: f64,
}

/// How a claim compares with what could be known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// The true value is inside, and the claim is as wide as it may be.
    Right,
    /// The ± is smaller than the readings allow.
    TooSure,
    /// The ± is larger than the readings need.
    TooCautious,
    /// The ± is sound, and the true value is outside.
    Outside,
    /// The value could have been told.
    CouldBeTold,
    /// Nothing could be told, and a value was claimed.
    NotTold,
    /// A value without its ±.
    NoWidth,
}

/// A claim held against what could be known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// What was claimed.
    pub claim: Claim,
    /// What could be known.
    pub knowable: Knowable,
    /// How they compare.
    pub outcome: Outcome,
}

impl Knowable {
    /// True where the readings tell the value at all.
    pub fn can_be_told(&self) -> bool {
        self.possible <= TOLD_WITHIN * self.right.abs()
    }

    /// The claim of somebody who knows what could be known.
    pub fn best_claim(&self) -> Claim {
        match self.can_be_told() {
            true => Claim::Within {
                value: self.right,
                half_width: self.possible,
            },
            false => Claim::CantBeTold,
        }
    }

    /// Holds a claim against what could be known.
    ///
    /// ```
    /// use jigwise_exercises::claim::{Claim, Knowable, Outcome};
    ///
    /// let knowable = Knowable { right: 100.0, possible: 3.0 };
    /// let outcome = |value, half_width| knowable.judge(Claim::Within { value, half_width }).outcome;
    /// assert_eq!(outcome(101.0, 3.0), Outcome::Right);
    /// assert_eq!(outcome(101.0, 0.5), Outcome::TooSure);
    /// assert_eq!(outcome(101.0, 10.0), Outcome::TooCautious);
    /// assert_eq!(outcome(104.0, 3.0), Outcome::Outside);
    /// ```
    pub fn judge(&self, claim: Claim) -> Judged {
        let outcome = match (claim, self.can_be_told()) {
            (Claim::CantBeTold, true) => Outcome::CouldBeTold,
            (Claim::CantBeTold, false) => Outcome::Right,
            (Claim::Bare(_), true) => Outcome::NoWidth,
            (Claim::Bare(_), false) => Outcome::NotTold,
            (Claim::Within { value, half_width }, told) => {
                // The last bits of the computer's own arithmetic are nobody's fault.
                const ROUNDING: f64 = 1.0 + 1e-9;
                let is_inside = (value - self.right).abs() <= half_width * ROUNDING;
                let ratio = half_width / self.possible;
                if !told {
                    // An interval as wide as the readings ask for says the same in numbers.
                    if is_inside && half_width > TOLD_WITHIN * value.abs() {
                        Outcome::Right
                    } else {
                        Outcome::NotTold
                    }
                } else if ratio * ROUNDING < TOO_SURE_BELOW {
                    Outcome::TooSure
                } else if ratio > TOO_CAUTIOUS_ABOVE * ROUNDING {
                    Outcome::TooCautious
                } else if is_inside {
                    Outcome::Right
                } else {
                    Outcome::Outside
                }
            }
        };
        Judged {
            claim,
            knowable: *self,
            outcome,
        }
    }
}

impl Judged {
    /// True where the claim passes.
    pub fn is_right(&self) -> bool {
        self.outcome == Outcome::Right
    }

    /// The value claimed, where there is one.
    pub fn value(&self) -> Option<f64> {
        match self.claim {
            Claim::Within { value, .. } | Claim::Bare(value) => Some(value),
            Claim::CantBeTold => None,
        }
    }

    /// True where the value is as near as the readings allow, whatever was claimed of it.
    pub fn is_value_right(&self) -> bool {
        self.knowable.can_be_told()
            && self
                .value()
                .is_some_and(|value| (value - self.knowable.right).abs() <= self.knowable.possible)
    }

    /// True where a sound interval misses the true value by no more than bad luck may.
    pub fn is_near(&self) -> bool {
        const BAD_LUCK: f64 = 2.0;
        self.outcome == Outcome::Outside
            && self.value().is_some_and(|value| {
                (value - self.knowable.right).abs() <= BAD_LUCK * self.knowable.possible
            })
    }

    fn ratio_of(&self, width: f64) -> String {
        short_percent(width / self.knowable.right.abs())
    }
}

/// What was possible and what was claimed, without the true value.
impl fmt::Display for Judged {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let possible = self.ratio_of(self.knowable.possible);
        let claimed = match self.claim {
            Claim::Within { half_width, .. } => self.ratio_of(half_width),
            Claim::Bare(_) | Claim::CantBeTold => String::new(),
        };
        match self.outcome {
            Outcome::Right if self.claim == Claim::CantBeTold => {
                f.write_str("Right: these readings can't tell the value")
            }
            Outcome::Right if !self.knowable.can_be_told() => {
                f.write_str("Right: these readings leave an interval as wide as that")
            }
            Outcome::Right => write!(
                f,
                "Right: with these readings ±{possible} was possible, and you claimed ±{claimed}"
            ),
            Outcome::TooSure => write!(
                f,
                "too sure: with these readings ±{possible} was possible, and you claimed \
                 ±{claimed}"
            ),
            Outcome::TooCautious => write!(
                f,
                "too cautious: with these readings ±{possible} was possible, and you claimed \
                 ±{claimed}"
            ),
            Outcome::Outside => write!(
                f,
                "the part is outside your interval, which is as wide as it should be: with these \
                 readings ±{possible} was possible, and you claimed ±{claimed}"
            ),
            Outcome::CouldBeTold => {
                write!(f, "these readings tell the value: ±{possible} was possible")
            }
            Outcome::NotTold => f.write_str(
                "these readings can't tell the value to half of itself, so no number with a \
                 smaller ± can be known from them",
            ),
            Outcome::NoWidth => write!(
                f,
                "a value needs its ±: with these readings ±{possible} was possible"
            ),
        }
    }
}

/// Text that is no value with its ±.
#[derive(Debug, Clone, PartialEq)]
pub enum ClaimError {
    /// The value or the ± is no number.
    Value(ValueError),
    /// The ± is zero or below.
    NoWidth {
        /// The text found.
        text: String,
    },
    /// The ± has no unit, and it may be in that of the value or not.
    Unclear {
        /// The text found.
        text: String,
    },
}

impl std::error::Error for ClaimError {}

impl fmt::Display for ClaimError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quoted = |text: &str| excerpt(text, MAX_QUOTED);
        match self {
            Self::Value(error) => error.fmt(f),
            Self::NoWidth { text } => write!(
                f,
                "\"{}\" has a ± that is not above zero; write for example 4.7k ± 2 %",
                quoted(text)
            ),
            Self::Unclear { text } => write!(
                f,
                "\"{}\" has a ± without a unit; write its unit or %, as in 4.7k ± 2 %",
                quoted(text)
            ),
        }
    }
}

const SIGNS: [&str; 5] = ["±", "+/-", "+-", "+/−", "+−"];
const NOT_TOLD: [&str; 8] = [
    "cant be told",
    "cannot be told",
    "can not be told",
    "cant tell",
    "cannot tell",
    "can not tell",
    "not told",
    "cant be known",
];

impl Claim {
    /// Reads a claim in `unit`, as in `4.7k ± 2 %`, `(4.70 ± 0.05) kΩ`, `4k7 +- 50 ohm` or
    /// `can't be told`. A value without its ± is read too.
    ///
    /// ```
    /// use jigwise_bench::Unit;
    /// use jigwise_exercises::claim::Claim;
    ///
    /// let within = |value, half_width| Ok(Claim::Within { value, half_width });
    /// assert_eq!(Claim::read("4,7 kΩ ± 1 %", Unit::Ohm), within(4_700.0, 47.0));
    /// assert_eq!(Claim::read("(4.7 ± 0.5) kΩ", Unit::Ohm), within(4_700.0, 500.0));
    /// assert_eq!(Claim::read("47 +- 2", Unit::Ohm), within(47.0, 2.0));
    /// assert_eq!(Claim::read("can’t be told", Unit::Ohm), Ok(Claim::CantBeTold));
    /// ```
    ///
    /// # Errors
    /// [`ClaimError`] for any other text.
    pub fn read(text: &str, unit: Unit) -> Result<Self, ClaimError> {
        let text = text.trim();
        let plain: String = text
            .to_lowercase()
            .chars()
            .filter(|c| !matches!(c, '\'' | '’' | '.' | '"'))
            .collect();
        if NOT_TOLD.contains(&plain.trim()) {
            return Ok(Self::CantBeTold);
        }
        let parted = SIGNS
            .iter()
            .find_map(|sign| text.split_once(sign))
            .map(|(value, width)| (value.trim(), width.trim()));
        let Some((value, width)) = parted else {
            return parse_value(text, unit)
                .map(Self::Bare)
                .map_err(ClaimError::Value);
        };
        let (value, half_width) = match bracketed(value, width) {
            Some((inside, width, scale)) => read_both(text, inside, width, Some(scale), unit)?,
            None => read_both(text, value, width, None, unit)?,
        };
        if !(half_width > 0.0 && half_width.is_finite()) {
            return Err(ClaimError::NoWidth {
                text: text.to_owned(),
            });
        }
        Ok(Self::Within { value, half_width })
    }
}

/// `(a ± b) unit` as a, b and the unit.
fn bracketed<'a>(value: &'a str, width: &'a str) -> Option<(&'a str, &'a str, &'a str)> {
    let inside = value.strip_prefix('(')?;
    let (width, scale) = width.rsplit_once(')')?;
    Some((inside.trim(), width.trim(), scale.trim()))
}

fn read_both(
    text: &str,
    value: &str,
    width: &str,
    scale: Option<&str>,
    unit: Unit,
) -> Result<(f64, f64), ClaimError> {
    let scaled = |number: &str, scale: &str| {
        parse_value(&format!("{number} {scale}"), unit).map_err(ClaimError::Value)
    };
    if let Some(scale) = scale {
        return Ok((scaled(value, scale)?, scaled(width, scale)?));
    }
    if width.contains('%') {
        let value = parse_value(value, unit).map_err(ClaimError::Value)?;
        let share = parse_share(width).map_err(ClaimError::Value)?;
        return Ok((value, share * value.abs()));
    }
    let bare = |text: &str| {
        parse_quantity(text).is_ok_and(|found| found.unit.is_none() && found.prefix.is_none())
    };
    match (bare(value), bare(width)) {
        // 4.70 ± 0.05 kΩ: one unit for both.
        (true, false) => {
            let at = width
                .find(|c: char| c.is_alphabetic() || matches!(c, 'Ω' | 'µ'))
                .unwrap_or(width.len());
            let (_, scale) = width.split_at(at);
            Ok((
                scaled(value, scale)?,
                parse_value(width, unit).map_err(ClaimError::Value)?,
            ))
        }
        (false, true) => unclear(text, value, width, unit),
        _ => Ok((
            parse_value(value, unit).map_err(ClaimError::Value)?,
            parse_value(width, unit).map_err(ClaimError::Value)?,
        )),
    }
}

/// `4.7k ± 50` and `4.7k ± 0.05`: only one of ohms and kilohms makes a ± that anybody would claim.
fn unclear(text: &str, value: &str, width: &str, unit: Unit) -> Result<(f64, f64), ClaimError> {
    const CLAIMED: std::ops::Range<f64> = 1e-3..1.0;
    let found = parse_value(value, unit).map_err(ClaimError::Value)?;
    let plain = parse_value(width, unit).map_err(ClaimError::Value)?;
    let prefix = parse_quantity(value)
        .ok()
        .and_then(|found| found.prefix)
        .map_or(String::new(), String::from);
    let scaled = parse_value(&format!("{width}{prefix}"), unit).map_err(ClaimError::Value)?;
    let fits = |width: f64| CLAIMED.contains(&(width / found).abs());
    match (fits(plain), fits(scaled)) {
        _ if plain == scaled => Ok((found, plain)),
        (true, false) => Ok((found, plain)),
        (false, true) => Ok((found, scaled)),
        _ => Err(ClaimError::Unclear {
            text: text.to_owned(),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn claims_are_read_as_people_type_them() {
        for (text, value, half_width) in [
            ("4k7 ± 2 %", 4_700.0, 94.0),
            ("4.7k+-2%", 4_700.0, 94.0),
            ("4.70 ± 0.05 kΩ", 4_700.0, 50.0),
            ("4.7k ± 50", 4_700.0, 50.0),
            ("4.7k ± 0.05", 4_700.0, 50.0),
            ("4.7 kohm +/- 50 ohm", 4_700.0, 50.0),
            ("(4.70\u{202f}±\u{202f}0.05) kΩ", 4_700.0, 50.0),
            ("0,5 ± 0,1", 0.5, 0.1),
        ] {
            let Claim::Within {
                value: v,
                half_width: w,
            } = Claim::read(text, Unit::Ohm).unwrap()
            else {
                panic!("{text}");
            };
            assert!((v / value - 1.0).abs() < 1e-12, "{text}: {v}");
            assert!((w / half_width - 1.0).abs() < 1e-12, "{text}: {w}");
        }
        assert_eq!(Claim::read("4.7k", Unit::Ohm), Ok(Claim::Bare(4_700.0)));
        for text in [
            "",
            "± 3",
            "4.7k ± 0",
            "4.7k ± -2 %",
            "4.7k ± 3 pF",
            "many ± few",
        ] {
            assert!(Claim::read(text, Unit::Ohm).is_err(), "{text}");
        }
    }

    #[test]
    fn where_nothing_can_be_told_saying_so_is_right() {
        let knowable = Knowable {
            right: 100.0,
            possible: 90.0,
        };
        let within = |value, half_width| Claim::Within { value, half_width };
        assert!(knowable.judge(Claim::CantBeTold).is_right());
        assert!(knowable.judge(within(60.0, 70.0)).is_right());
        for claim in [within(100.0, 3.0), within(400.0, 250.0), Claim::Bare(100.0)] {
            assert_eq!(knowable.judge(claim).outcome, Outcome::NotTold, "{claim:?}");
        }
    }

    #[test]
    fn no_sentence_holds_the_true_value() {
        let knowable = Knowable {
            right: 4_321.0,
            possible: 130.0,
        };
        for claim in [
            Claim::CantBeTold,
            Claim::Bare(4_000.0),
            Claim::Within {
                value: 4_000.0,
                half_width: 10.0,
            },
        ] {
            assert!(!knowable.judge(claim).to_string().contains("4321"));
        }
    }
}
