//! Something is covered and is to be predicted.

use jigwise_bench::{Device, Fixture};
use jigwise_exercises::Cover;
use jigwise_exercises::predict::{Guess, Uncovered, part, uncover};

use super::{Covers, Mode, chance};
use crate::Simulator;

/// What is covered, and what was said of it.
#[derive(Debug, Clone)]
pub struct Predicting {
    cover: Cover,
    /// Where the rule was tapped, Ω.
    pub(crate) tapped_ohm: Option<f64>,
    uncovered: Option<Uncovered>,
    seed: u64,
    number: u64,
}

impl Predicting {
    /// What is to be predicted.
    pub fn cover(&self) -> Cover {
        self.cover
    }

    /// What came out, once somebody has committed.
    pub fn uncovered(&self) -> Option<&Uncovered> {
        self.uncovered.as_ref()
    }

    pub(super) fn covers(&self) -> Covers {
        match self.uncovered {
            // Who sees the change is a strong hint at who knows the part.
            None if self.cover == Cover::BestFixture => {
                let verdicts = Fixture::ALL.map(Cover::Verdict);
                Covers::of(&[&[self.cover], &verdicts[..]].concat())
            }
            None => Covers::of(&[self.cover]),
            Some(_) => Covers::NONE,
        }
    }

    /// True while a tap on the rule is a prediction and does not move the part.
    pub(crate) fn takes_taps(&self) -> bool {
        self.uncovered.is_none() && matches!(self.cover, Cover::Bar(_))
    }
}

impl Simulator {
    /// Covers something of the bench as it stands.
    pub fn predict(&mut self, cover: Cover) {
        let seed = match &self.teach.mode {
            Mode::Predict(predicting) => predicting.seed,
            _ => {
                self.leave_mode();
                chance::bits()
            }
        };
        self.teach.begun += 1;
        self.teach.mode = Mode::Predict(Predicting {
            cover,
            tapped_ohm: None,
            uncovered: None,
            seed,
            number: self.teach.begun,
        });
        self.view.drawer = None;
    }

    /// Takes another part and covers the next thing.
    pub fn predict_next(&mut self) {
        let Mode::Predict(predicting) = &self.teach.mode else {
            return;
        };
        let all: Vec<Cover> = Cover::all().collect();
        let here = all.iter().position(|cover| *cover == predicting.cover);
        // Seven steps in ten go through all of them, and never twice through one fixture.
        let next = all[(here.unwrap_or(0) + 7) % all.len()];
        let device: Device = part(predicting.seed, predicting.number);
        let mut scenario = self.desk.scenario().clone();
        scenario.device = device;
        let taken = self.desk.lay_out(scenario, 0);
        self.memory
            .complain(taken.map_err(|error| error.to_string()));
        self.predict(next);
    }

    /// Commits to a prediction and uncovers; what is wrong with it is a complaint.
    pub fn commit(&mut self, guess: Guess) {
        let Mode::Predict(predicting) = &mut self.teach.mode else {
            return;
        };
        match uncover(self.desk.scenario(), predicting.cover, guess) {
            Ok(uncovered) => {
                self.teach.progress.note_prediction(&uncovered);
                if let Mode::Predict(predicting) = &mut self.teach.mode {
                    predicting.uncovered = Some(uncovered);
                }
                self.teach.noted();
                self.memory.complain(Ok(()));
            }
            Err(error) => self.memory.complain(Err(error.to_string())),
        }
    }
}
