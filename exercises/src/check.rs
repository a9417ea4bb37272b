//! Checks an answer: right, or wrong in a known way.

use std::fmt;

use jigwise_bench::change::{self, level_move};
use jigwise_bench::percent;
use jigwise_bench::words::{fixture_key, verdict};
use jigwise_bench::{Bench, Complex64, Fixture, FixtureAppraisal, ResolvableChange, fixed};

use crate::answer::{Answer, AnswerError};
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
}

impl Verdict {
    /// True if the answer is right.
    pub fn is_right(&self) -> bool {
        matches!(self, Self::Right)
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
        }
    }
}

impl Task {
    /// The right answer, computed from the scenario; `None` for a formula, because many are
    /// right.
    pub fn right_answer(&self) -> Option<Answer> {
        match self.asks() {
            Asks::Formula => None,
            Asks::Fixture => {
                let readout = Bench::new(self.scenario()).ok()?.readout();
                fixture_that_moves_most(&readout).map(Answer::Fixture)
            }
            Asks::FixtureThatSees => {
                let readout = Bench::new(self.scenario()).ok()?.readout();
                fixture_that_sees(&readout).map(Answer::Fixture)
            }
            Asks::Limit => Some(Answer::Limit(self.asked()?.limited_by())),
            _ => value(self, None).map(Answer::Value),
        }
    }

    /// The number that a slip gives. `None` if the slip can't be made in this task, or if its
    /// number is within the tolerance of the right one.
    pub fn slipped_value(&self, slip: Slip) -> Option<Complex64> {
        let right = value(self, None)?;
        value(self, Some(slip)).filter(|slipped| !self.tolerance().allows(*slipped, right))
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

    /// The smallest change that shows, in the direction of the nudge.
    fn asked(&self) -> Option<ResolvableChange> {
        let bench = Bench::new(self.scenario()).ok()?;
        let readout = bench.readout();
        change::asked(readout.appraisal_of(self.fixture())?, bench.nudge())
    }

    fn check_seeing(&self, chosen: Fixture) -> Verdict {
        let Ok(bench) = Bench::new(self.scenario()) else {
            return Verdict::Wrong;
        };
        let readout = bench.readout();
        if fixture_that_sees(&readout) == Some(chosen) {
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
        let Ok(bench) = Bench::new(self.scenario()) else {
            return Verdict::Wrong;
        };
        let readout = bench.readout();
        if fixture_that_moves_most(&readout) == Some(chosen) {
            return Verdict::Right;
        }
        match level_move(&readout, chosen) {
            Some(move_db) => Verdict::LessMoved { chosen, move_db },
            None => Verdict::Wrong,
        }
    }
}
