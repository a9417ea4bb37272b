//! A value with its ±, and whether that is what could be known.
//!
//! Readings allow a half width of the 95 % interval, the *possible* ±. A claim v ± c passes where
//! the true value t is inside it, |v − t| ≤ c, and it is neither too sure nor too cautious,
//!
//! 0.7 ≤ c/possible ≤ 3.
//!
//! Where the possible ± is more than half of the value, the value can't be told, and saying so is
//! the right answer.

mod read;

use std::fmt;

use jigwise_bench::words::short_percent;

pub use read::ClaimError;

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
                "Right: with these readings ±{possible} of the right value was possible, and you \
                 claimed ±{claimed} of it"
            ),
            Outcome::TooSure => write!(
                f,
                "too sure: with these readings ±{possible} of the right value was possible, and you \
                 claimed ±{claimed} of it"
            ),
            Outcome::TooCautious => write!(
                f,
                "too cautious: with these readings ±{possible} of the right value was possible, and \
                 you claimed ±{claimed} of it"
            ),
            Outcome::Outside => write!(
                f,
                "the part is outside your interval, which is as wide as it should be: with these \
                 readings ±{possible} of the right value was possible, and you claimed \
                 ±{claimed} of it"
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

#[cfg(test)]
mod tests {
    use super::*;

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
