//! The first two minutes: one next move at a time, offered in a line and never in the way.

use jigwise_bench::Fixture;

use crate::Desk;

/// A move that is offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Move {
    Drag,
    Calibrate,
    Instrument,
    Guess,
}

const MOVES: [Move; 4] = [Move::Drag, Move::Calibrate, Move::Instrument, Move::Guess];
/// Calibrations after which the ticks begin to say something.
const CALIBRATIONS: u32 = 5;

/// The offers of a next move: which one is on, and what it starts from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Guide {
    left_alone: bool,
    step: usize,
    start: Option<Start>,
    guess: Option<Fixture>,
}

/// What the desk was like when the offer was made.
#[derive(Debug, Clone, PartialEq)]
struct Start {
    best: Option<Fixture>,
    instrument: String,
}

impl Guide {
    /// No offers from now on.
    pub fn leave_alone(&mut self) {
        self.left_alone = true;
    }

    /// True after [`Guide::leave_alone`].
    pub fn is_left_alone(&self) -> bool {
        self.left_alone
    }

    /// All offers again, from the first.
    pub fn show_again(&mut self) {
        *self = Self::default();
    }

    /// True while there is an offer.
    pub fn is_on(&self) -> bool {
        !self.left_alone && self.step < MOVES.len()
    }

    /// True while the clouds are covered, until somebody has guessed.
    pub fn covers_clouds(&self) -> bool {
        self.is_on() && MOVES[self.step] == Move::Guess && self.guess.is_none()
    }

    /// Takes the guess that this fixture sees the nudge best.
    pub fn guess(&mut self, fixture: Fixture) {
        self.guess = Some(fixture);
    }

    /// Goes on to the next offer once the move of this one is made. `best` is the fixture that
    /// knows the part.
    pub(crate) fn follow(&mut self, desk: &Desk, best: Option<Fixture>) {
        if !self.is_on() {
            return;
        }
        let start = self.start.get_or_insert_with(|| Start {
            best,
            instrument: desk.instrument().name,
        });
        let is_done = match MOVES[self.step] {
            Move::Drag => best.is_some() && best != start.best,
            Move::Calibrate => desk.trials().ticks().count >= CALIBRATIONS,
            Move::Instrument => desk.instrument().name != start.instrument,
            Move::Guess => false,
        };
        if is_done {
            self.step += 1;
            self.start = None;
        }
    }

    /// The offer in words, with the moves made so far ticked; `None` where there is none.
    pub fn words(&self, desk: &Desk, seen_by: Option<Fixture>) -> Option<String> {
        if !self.is_on() {
            return None;
        }
        let ticked = if self.step > 0 { "Done. " } else { "" };
        Some(match (MOVES[self.step], self.guess) {
            (Move::Drag, _) => "Next: drag the hairline until another fixture wakes.".to_owned(),
            (Move::Calibrate, _) => format!(
                "{ticked}Next: press Calibrate again, {} of {CALIBRATIONS}, and watch the ticks.",
                desk.trials().ticks().count
            ),
            (Move::Instrument, _) => format!("{ticked}Next: change the analyzer."),
            (Move::Guess, None) => {
                format!("{ticked}Next: guess which fixture sees the nudge; press its cloud.")
            }
            (Move::Guess, Some(guess)) if Some(guess) == seen_by => {
                "Right. That is all there is to it.".to_owned()
            }
            (Move::Guess, Some(_)) => "Not that one: see which clouds part.".to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jigwise_bench::{NamedInstrument, Scenario};

    #[test]
    fn each_move_leads_to_the_next() {
        let mut desk = Desk::new(Scenario::default()).unwrap();
        let mut guide = Guide::default();
        let said = |guide: &Guide, desk: &Desk| guide.words(desk, None).unwrap();
        guide.follow(&desk, Some(Fixture::SeriesThrough));
        assert!(said(&guide, &desk).contains("drag"));
        guide.follow(&desk, Some(Fixture::Reflect));
        assert!(said(&guide, &desk).contains("Calibrate again, 0 of 5"));
        for _ in 0..5 {
            desk.calibrate_again();
        }
        guide.follow(&desk, Some(Fixture::Reflect));
        assert!(said(&guide, &desk).contains("analyzer"));
        guide.follow(&desk, None);
        desk.set_instrument(NamedInstrument::preset("laboratory").unwrap())
            .unwrap();
        guide.follow(&desk, None);
        assert!(guide.covers_clouds());
        guide.guess(Fixture::Reflect);
        assert!(!guide.covers_clouds());
        guide.leave_alone();
        assert!(guide.words(&desk, None).is_none());
        guide.show_again();
        assert!(said(&guide, &desk).contains("drag"));
    }
}
