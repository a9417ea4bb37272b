//! Checks an answer: right, or wrong in a known way.

use std::fmt;

use jigwise_bench::change::{self, level_move};
use jigwise_bench::percent;
use jigwise_bench::words::{fixture_key, verdict};
use jigwise_bench::{Complex64, Fixture, FixtureAppraisal, ResolvableChange, fixed};

use crate::answer::{Answer, AnswerError};
use crate::choices::Criterion;
use crate::claim::{Claim, Judged};
use crate::formula::{FormulaVerdict, check_formula};
use crate::slip::Slip;
use crate::solve::{fixture_that_moves_most, fixture_that_sees, value};
use crate::task::{Asks, Task};
use crate::tolerance::Tolerance;

/// The result of checking an answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// The answer is within the tolerance.
    Right,
    /// The answer is the right one, given with too few digits.
    Coarse {
        /// How many significant digits the task asks for.
        digits: u32,
    },
    /// The answer is what a known mistake gives.
    Slipped(Slip),
    /// The answer is wrong, and no known mistake gives it.
    Wrong,
    /// The chosen fixture's level moves less than another's.
    LessMoved {
        /// The chosen fixture.
        chosen: Fixture,
        /// By how much its level moves, dB.
        move_db: f64,
    },
    /// The chosen fixture does not see the change.
    NotSeen {
        /// The chosen fixture.
        chosen: Fixture,
        /// What the chosen fixture can resolve.
        seen: FixtureAppraisal,
        /// True if it is the best fixture for the value, which the task does not ask for.
        best_for_value: bool,
    },
    /// The other limit was chosen. The change holds what each limit alone gives.
    OtherLimit(ResolvableChange),
    /// The formula fails for some part.
    Formula(FormulaVerdict),
    /// Another option was chosen.
    OtherOption(Criterion),
    /// The options are in another order.
    OtherOrder {
        /// What they are ordered by.
        criterion: Criterion,
        /// True where the order is the right one from its other end.
        reversed: bool,
        /// True where two neighbours have changed places and all else is right.
        one_swap: bool,
    },
    /// A value with its ±, held against what could be known.
    Claimed(Judged),
}

impl Verdict {
    /// True if the answer is right.
    pub fn is_right(&self) -> bool {
        match self {
            Self::Right => true,
            Self::Claimed(judged) => judged.is_right(),
            _ => false,
        }
    }

    /// The part of the points that the answer is worth: what is right in it counts, a known slip
    /// counts a quarter.
    pub fn credit(&self) -> f64 {
        match self {
            Self::Right => 1.0,
            Self::Claimed(judged) if judged.is_right() => 1.0,
            Self::Claimed(judged) if judged.is_value_right() => 0.5,
            Self::Claimed(judged) if judged.is_near() => 0.5,
            Self::Coarse { .. } => 0.75,
            Self::OtherOrder { one_swap: true, .. } => 0.5,
            Self::Slipped(_) => 0.25,
            Self::Formula(verdict) if verdict.slip.is_some() => 0.25,
            _ => 0.0,
        }
    }

    /// The slip behind a wrong answer, where it is known.
    pub fn slip(&self) -> Option<Slip> {
        match self {
            Self::Slipped(slip) => Some(*slip),
            Self::Formula(verdict) => verdict.slip,
            _ => None,
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Right => f.write_str("Right."),
            Self::Coarse { digits } => write!(
                f,
                "Right as far as it goes; give {digits} significant digits."
            ),
            Self::Slipped(slip) => write!(f, "Not yet: {slip}."),
            Self::Wrong => f.write_str("Not yet. A hint may help, or one step written out again."),
            Self::LessMoved { chosen, move_db } => write!(
                f,
                "Not yet: a tenth more moves the level of {} by {}\u{202f}dB, and another \
                 fixture's by more.",
                fixture_key(*chosen),
                fixed(*move_db, 3)
            ),
            Self::NotSeen {
                chosen,
                seen,
                best_for_value,
            } => {
                write!(
                    f,
                    "Not yet. What {} makes of the change: {}.",
                    fixture_key(*chosen),
                    verdict(seen)
                )?;
                if *best_for_value {
                    f.write_str(
                        " It is the best one here for the value, and that is another question.",
                    )?;
                }
                Ok(())
            }
            Self::OtherLimit(change) => {
                let shows = |share: Option<f64>| share.map_or("none".to_owned(), percent);
                write!(
                    f,
                    "Not yet: above the noise a change shows from {}, on the display from {}, \
                     and the larger of the two counts.",
                    shows(change.noise),
                    shows(change.display)
                )
            }
            Self::Formula(verdict) => verdict.fmt(f),
            Self::OtherOption(criterion) => {
                write!(f, "Not yet. Look at {}.", criterion.look_at())
            }
            Self::OtherOrder { reversed: true, .. } => f.write_str(
                "Not yet: this is the right order from its other end. Read again what comes first.",
            ),
            Self::OtherOrder {
                criterion,
                one_swap,
                ..
            } => {
                f.write_str("Not yet. ")?;
                if *one_swap {
                    f.write_str("Two neighbours have changed places. ")?;
                }
                write!(f, "Look at {}.", criterion.look_at())
            }
            Self::Claimed(judged) if judged.is_right() => write!(f, "{judged}."),
            Self::Claimed(judged) => write!(f, "Not yet: {judged}."),
        }
    }
}

impl Task {
    /// The right answer, computed from the scenario; `None` for a formula, because many are
    /// right.
    pub fn right_answer(&self) -> Option<Answer> {
        match self.asks() {
            Asks::Formula => None,
            Asks::Fixture => fixture_that_moves_most(self.readout()?).map(Answer::Fixture),
            Asks::FixtureThatSees => fixture_that_sees(self.readout()?).map(Answer::Fixture),
            Asks::Limit => Some(Answer::Limit(self.asked()?.limited_by())),
            Asks::Choice => Some(Answer::Option(*self.choices.as_ref()?.right.first()?)),
            Asks::Ranking => Some(Answer::Order(self.choices.as_ref()?.right.clone())),
            asks if asks.is_claim() => Some(Answer::Claim(self.knowable()?.best_claim())),
            _ => value(self, None).map(Answer::Value),
        }
    }

    /// The number that a slip gives. `None` if the slip can't be made in this task, or if its
    /// number is within the tolerance of the right one.
    pub fn slipped_value(&self, slip: Slip) -> Option<Complex64> {
        let right = value(self, None)?;
        let near = match self.knowable() {
            Some(knowable) if !knowable.can_be_told() => return None,
            Some(knowable) => Tolerance::Uncertainty(2.0 * knowable.possible),
            None => self.tolerance(),
        };
        value(self, Some(slip)).filter(|slipped| !near.allows(*slipped, right))
    }

    /// Checks an answer as typed.
    ///
    /// # Errors
    /// [`AnswerError`] where the text is no answer of the task's form.
    pub fn check(&self, text: &str) -> Result<Verdict, AnswerError> {
        Ok(match Answer::read(text, self)? {
            Answer::Value(answer) => self.check_value(answer),
            Answer::Fixture(chosen) if self.asks() == Asks::FixtureThatSees => {
                self.check_seeing(chosen)
            }
            Answer::Fixture(chosen) => self.check_choice(chosen),
            Answer::Limit(chosen) => match self.asked() {
                Some(change) if change.limited_by() == chosen => Verdict::Right,
                Some(change) => Verdict::OtherLimit(change),
                None => Verdict::Wrong,
            },
            Answer::Formula(formula) => {
                match check_formula(&formula, self.fixture(), self.scenario().reference) {
                    None => Verdict::Right,
                    Some(verdict) => Verdict::Formula(verdict),
                }
            }
            Answer::Option(chosen) => self.check_option(chosen),
            Answer::Order(order) => self.check_order(&order),
            Answer::Claim(claim) => self.check_claim(claim),
        })
    }

    fn check_value(&self, answer: Complex64) -> Verdict {
        let Some(right) = value(self, None) else {
            return Verdict::Wrong;
        };
        let tolerance = self.tolerance();
        if tolerance.allows(answer, right) {
            return Verdict::Right;
        }
        // A stated uncertainty belongs to the right value; a slip's goes with its size.
        let around = |slipped: Complex64| match tolerance {
            Tolerance::Digits(_) => tolerance,
            Tolerance::Uncertainty(distance) => {
                Tolerance::Uncertainty(distance * slipped.norm() / right.norm())
            }
        };
        let slip = Slip::ALL.into_iter().find(|slip| {
            self.slipped_value(*slip)
                .is_some_and(|slipped| around(slipped).allows(answer, slipped))
        });
        match (slip, tolerance) {
            (Some(slip), _) => Verdict::Slipped(slip),
            (None, Tolerance::Digits(digits)) if tolerance.is_coarse(answer, right) => {
                Verdict::Coarse { digits }
            }
            _ => Verdict::Wrong,
        }
    }

    fn check_option(&self, chosen: usize) -> Verdict {
        match &self.choices {
            Some(choices) if choices.right.first() == Some(&chosen) => Verdict::Right,
            Some(choices) => Verdict::OtherOption(choices.criterion),
            None => Verdict::Wrong,
        }
    }

    fn check_order(&self, order: &[usize]) -> Verdict {
        let Some(choices) = &self.choices else {
            return Verdict::Wrong;
        };
        let right = &choices.right;
        if right == order {
            return Verdict::Right;
        }
        let one_swap = (1..order.len()).any(|at| {
            let mut swapped = order.to_vec();
            swapped.swap(at - 1, at);
            swapped == *right
        });
        Verdict::OtherOrder {
            criterion: choices.criterion,
            reversed: right.iter().rev().eq(order),
            one_swap,
        }
    }

    /// A value that a slip gives is told of the slip; any other of what could be known.
    fn check_claim(&self, claim: Claim) -> Verdict {
        let Some(knowable) = self.knowable() else {
            return Verdict::Wrong;
        };
        let judged = knowable.judge(claim);
        if judged.is_right() || judged.is_value_right() || judged.is_near() {
            return Verdict::Claimed(judged);
        }
        // What a slip makes of a reading is known as well as the reading, or to a few percent.
        const ROUGHLY: f64 = 0.03;
        let relative = (knowable.possible / knowable.right.abs()).max(ROUGHLY);
        let slip = judged.value().and_then(|value| {
            Slip::ALL.into_iter().find(|slip| {
                self.slipped_value(*slip).is_some_and(|slipped| {
                    (value - slipped.re).abs() <= relative * slipped.re.abs()
                })
            })
        });
        slip.map_or(Verdict::Claimed(judged), Verdict::Slipped)
    }

    /// The smallest change that shows, in the direction of the nudge.
    fn asked(&self) -> Option<ResolvableChange> {
        let appraisal = self.readout()?.appraisal_of(self.fixture())?;
        change::asked(appraisal, self.bench()?.nudge())
    }

    fn check_seeing(&self, chosen: Fixture) -> Verdict {
        let Some(readout) = self.readout() else {
            return Verdict::Wrong;
        };
        if fixture_that_sees(readout) == Some(chosen) {
            return Verdict::Right;
        }
        match readout.appraisal {
            Some(appraisal) => Verdict::NotSeen {
                chosen,
                seen: *appraisal.of(chosen),
                best_for_value: appraisal.best_for_value == Some(chosen),
            },
            None => Verdict::Wrong,
        }
    }

    fn check_choice(&self, chosen: Fixture) -> Verdict {
        let Some(readout) = self.readout() else {
            return Verdict::Wrong;
        };
        if fixture_that_moves_most(readout) == Some(chosen) {
            return Verdict::Right;
        }
        match level_move(readout, chosen) {
            Some(move_db) => Verdict::LessMoved { chosen, move_db },
            None => Verdict::Wrong,
        }
    }
}
