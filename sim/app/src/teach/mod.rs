//! The modes that teach: predict first, an unlabelled part, a talk. Each is found in the one window
//! and left again with the bench as it was.

mod chance;
mod covers;
mod keys;
mod link;
mod predict;
mod round;
mod talk;

pub use covers::Covers;
pub use link::ModeLink;
pub use predict::Predicting;
pub use round::{Draft, Playing};
pub use talk::Speaking;

pub(crate) use keys::hear;

use jigwise_bench::Scenario;
use jigwise_exercises::explain::Thing;
use jigwise_exercises::predict::how;
use jigwise_exercises::progress::{Found, Progress};
use jigwise_exercises::round::BUDGET;

use crate::{Simulator, View};

/// What the window is used for beside the bench.
#[derive(Debug, Default)]
pub enum Mode {
    /// For the bench alone.
    #[default]
    Free,
    /// Something is covered and is to be predicted.
    Predict(Predicting),
    /// A part is hidden.
    Round(Box<Playing>),
    /// A talk is given.
    Talk(Box<Speaking>),
}

/// The mode in force, and what was done so far.
#[derive(Debug, Default)]
pub struct Teach {
    /// The mode.
    pub mode: Mode,
    /// What was predicted, and which rounds were played.
    pub progress: Progress,
    /// What could not be read of the progress kept, a sentence each.
    pub faults: Vec<String>,
    /// Counts the changes of the progress.
    revision: u64,
    /// How many modes were begun, from which the next draws follow.
    begun: u64,
    /// What the book is asked about.
    asked_for: Option<Thing>,
}

/// The bench and the look that come back when a mode ends.
#[derive(Debug, Clone)]
pub(crate) struct Before {
    scenario: Scenario,
    calibrations: u64,
    view: View,
}

impl Before {
    fn of(simulator: &Simulator) -> Self {
        Self {
            scenario: simulator.desk.scenario().clone(),
            calibrations: simulator.desk.calibration_number(),
            view: simulator.view.clone(),
        }
    }

    /// Puts bench and look back; the theme and the size of the text stay as they are now.
    fn put_back(self, simulator: &mut Simulator) {
        let _ = simulator.desk.lay_out(self.scenario, self.calibrations);
        let (theme, percent) = (simulator.view.theme, simulator.view.text_percent());
        simulator.view = self.view;
        simulator.view.theme = theme;
        simulator.view.set_text_percent(percent);
        simulator.view.drawer = None;
    }
}

impl Teach {
    /// What is covered now.
    pub fn covers(&self) -> Covers {
        match &self.mode {
            Mode::Free | Mode::Round(_) => Covers::NONE,
            Mode::Predict(predicting) => predicting.covers(),
            Mode::Talk(speaking) => speaking.covers(),
        }
    }

    /// True while the window shows nothing, as a speaker wants it.
    pub fn is_blank(&self) -> bool {
        matches!(&self.mode, Mode::Talk(speaking) if speaking.is_blank())
    }

    /// The stop of the talk being given, from 0.
    pub fn stop(&self) -> Option<usize> {
        match &self.mode {
            Mode::Talk(speaking) => Some(speaking.at()),
            _ => None,
        }
    }

    /// True where a mode is in force.
    pub fn is_on(&self) -> bool {
        !matches!(self.mode, Mode::Free)
    }

    /// Takes in what was kept before; what could not be read is said.
    pub fn take_kept(&mut self, found: Found) {
        self.progress = found.progress;
        self.faults = found.faults;
    }

    /// What the mode says now, for a page that says it beside its canvas.
    pub fn spoken(&self) -> Vec<String> {
        match &self.mode {
            Mode::Free => Vec::new(),
            Mode::Predict(predicting) => match predicting.uncovered() {
                Some(uncovered) => uncovered.sentences.clone(),
                None => vec![format!(
                    "Predict {}: {}.",
                    predicting.cover(),
                    how(predicting.cover())
                )],
            },
            Mode::Round(playing) => {
                let round = playing.round();
                let mut spoken = vec![format!("Unlabelled part {}.", round.code())];
                spoken.extend(round.about());
                spoken.push(round.question());
                spoken.extend(round.bought().iter().map(|bought| format!("{bought}.")));
                spoken.push(format!("{} of {BUDGET} left.", round.left()));
                if let Some(graded) = playing.graded() {
                    spoken.extend(graded.sentences());
                }
                spoken
            }
            Mode::Talk(speaking) if speaking.is_blank() => vec!["The window is blank.".to_owned()],
            Mode::Talk(speaking) => {
                let place = format!(
                    "Stop {} of {}.",
                    speaking.at() + 1,
                    speaking.talk().stops.len()
                );
                vec![place, speaking.sentence()]
            }
        }
    }

    /// Forgets everything that was done.
    pub fn erase(&mut self) {
        self.progress = Progress::default();
        self.faults.clear();
        self.revision += 1;
    }

    /// Asks the book about something; the host opens its page.
    pub fn ask_book(&mut self, thing: Thing) {
        self.asked_for = Some(thing);
    }

    /// What the book is asked about and nobody has opened yet.
    pub fn asked_for(&self) -> Option<Thing> {
        self.asked_for
    }

    /// The same, and it is then taken as opened.
    pub fn take_asked(&mut self) -> Option<Thing> {
        self.asked_for.take()
    }

    /// Counts the changes of the progress.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    fn noted(&mut self) {
        self.revision += 1;
    }
}

impl Simulator {
    /// Ends the mode in force; the bench is then as it was before.
    pub fn leave_mode(&mut self) {
        let before = match std::mem::take(&mut self.teach.mode) {
            Mode::Free => return,
            Mode::Predict(_) => None,
            Mode::Round(playing) => Some(playing.into_before()),
            Mode::Talk(speaking) => Some(speaking.into_before()),
        };
        if let Some(before) = before {
            before.put_back(self);
        }
    }
}
