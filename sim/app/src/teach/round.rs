//! A round with an unlabelled part being played.

use jigwise_bench::{Complex64, Fixture, Formula, Immittance};
use jigwise_exercises::round::{AVERAGES, Code, Graded, Purchase, Round, Sort, Subject};

use super::{Before, Mode, chance};
use crate::{Drawer, Simulator};

/// A round, what is to be read next, and how it ended.
#[derive(Debug)]
pub struct Playing {
    pub(crate) round: Round,
    pub(crate) draft: Draft,
    pub(crate) formula: String,
    converted: Option<Complex64>,
    graded: Option<Graded>,
    before: Before,
}

/// What is to be read next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draft {
    /// What is put into the fixture.
    pub subject: Subject,
    /// The fixture.
    pub fixture: Fixture,
    /// Which of the round's frequencies, from 0.
    pub freq_at: usize,
    /// The averages.
    pub averages: u32,
}

impl Playing {
    /// The round.
    pub fn round(&self) -> &Round {
        &self.round
    }

    /// How it was graded, once it was answered.
    pub fn graded(&self) -> Option<&Graded> {
        self.graded.as_ref()
    }

    /// What the formula made of the last reading of the part, Ω.
    pub fn converted(&self) -> Option<Complex64> {
        self.converted
    }

    /// What would be read next.
    pub fn purchase(&self) -> Purchase {
        let Draft {
            subject,
            fixture,
            freq_at,
            averages,
        } = self.draft;
        let all = self.round.freq_hz();
        Purchase {
            subject,
            fixture,
            freq_hz: all[freq_at.min(all.len() - 1)],
            averages,
        }
    }

    pub(super) fn into_before(self) -> Before {
        self.before
    }
}

impl Simulator {
    /// Begins a round that nobody has named.
    pub fn begin_any_round(&mut self, sort: Sort) {
        self.begin_round(Code::new(sort, chance::bits()));
    }

    /// Begins the round of a code as typed; what is wrong with it is a complaint.
    pub fn begin_round_of(&mut self, text: &str) {
        match text.parse() {
            Ok(code) => self.begin_round(code),
            Err(error) => self.memory.complain(Err(format!("{error}"))),
        }
    }

    /// Begins the round of a code. The bench is then one to work on, and knows nothing of the part.
    pub fn begin_round(&mut self, code: Code) {
        const FIRST_GUESS_OHM: f64 = 100.0;
        self.leave_mode();
        let round = match Round::new(code) {
            Ok(round) => round,
            Err(error) => return self.memory.complain(Err(error.to_string())),
        };
        let before = Before::of(self);
        let guess = Immittance::from_impedance(Complex64::from(FIRST_GUESS_OHM));
        let bench = round.bench_for(guess.unwrap_or(Immittance::OPEN));
        let laid_out = self.desk.lay_out(bench, 0);
        self.memory
            .complain(laid_out.map_err(|error| error.to_string()));
        let freq_at = round.freq_hz().len() / 2;
        self.teach.mode = Mode::Round(Box::new(Playing {
            round,
            draft: Draft {
                subject: Subject::Part,
                fixture: Fixture::Reflect,
                freq_at,
                averages: AVERAGES[0],
            },
            formula: String::new(),
            converted: None,
            graded: None,
            before,
        }));
        self.view.drawer = Some(Drawer::Round);
    }

    fn playing(&mut self) -> Option<&mut Playing> {
        match &mut self.teach.mode {
            Mode::Round(playing) => Some(playing),
            _ => None,
        }
    }

    /// Does something with the round; what can't be done is a complaint.
    fn in_round<E: std::fmt::Display>(&mut self, act: impl FnOnce(&mut Playing) -> Result<(), E>) {
        if let Some(playing) = self.playing() {
            let done = act(playing).map_err(|error| error.to_string());
            self.memory.complain(done);
        }
    }

    /// Takes the reading that is drafted.
    pub fn buy(&mut self) {
        self.in_round(|playing| {
            playing.converted = None;
            let purchase = playing.purchase();
            playing.round.buy(purchase).map(|_| ())
        });
    }

    /// Calibrates the analyzer of the round again.
    pub fn calibrate_in_round(&mut self) {
        self.in_round(|playing| playing.round.calibrate());
    }

    /// Turns the last reading of the part into ohms by a formula as typed.
    pub fn convert(&mut self, text: &str) {
        let text = text.trim().to_owned();
        self.in_round(|playing| {
            playing.formula = text;
            playing.converted = None;
            let formula: Formula = match playing.formula.parse() {
                Ok(formula) => formula,
                Err(error) => return Err(format!("{error}")),
            };
            let last = playing.round.bought().iter().rev();
            let of_part = last
                .clone()
                .find(|bought| bought.purchase.subject == Subject::Part)
                .or_else(|| last.clone().next());
            let Some(bought) = of_part else {
                return Err("nothing was read yet; take a reading first".to_owned());
            };
            playing.converted = bought.converted(&formula);
            match playing.converted {
                Some(_) => Ok(()),
                None => Err("this formula gives no finite value here; check it".to_owned()),
            }
        });
    }

    /// Answers, and is told.
    pub fn answer_round(&mut self, text: &str) {
        self.in_round(|playing| {
            let graded = playing.round.answer(text)?;
            playing.graded = Some(graded);
            Ok::<(), jigwise_exercises::round::RoundError>(())
        });
        let Mode::Round(playing) = &self.teach.mode else {
            return;
        };
        if let Some(graded) = &playing.graded {
            self.teach.progress.note_round(playing.round.code(), graded);
            self.teach.noted();
        }
    }
}
