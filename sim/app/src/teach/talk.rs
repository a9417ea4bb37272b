//! A talk being given.

use jigwise_bench::ScenarioError;
use jigwise_bench::scene::ChartKind;
use jigwise_exercises::talk::{Shown, StopStage, Talk};

use super::{Before, Covers, Mode};
use crate::{Simulator, Stage};

/// A talk being given: where it is, and what is covered still.
#[derive(Debug)]
pub struct Speaking {
    talk: Talk,
    at: usize,
    is_uncovered: bool,
    is_blank: bool,
    before: Before,
}

impl Speaking {
    /// The talk.
    pub fn talk(&self) -> &Talk {
        &self.talk
    }

    /// The stop, from 0.
    pub fn at(&self) -> usize {
        self.at
    }

    /// What the stop shows, or what is wrong with it.
    pub fn shown(&self) -> Result<&Shown, &ScenarioError> {
        self.talk.stops[self.at].shown.as_ref()
    }

    /// The sentence of the stop; for a faulty one what is wrong with it.
    pub fn sentence(&self) -> String {
        match self.shown() {
            Ok(shown) => shown.sentence.clone(),
            Err(error) => error.to_string(),
        }
    }

    /// True while the window shows nothing.
    pub fn is_blank(&self) -> bool {
        self.is_blank
    }

    /// Something of this stop is covered still.
    pub fn has_covers(&self) -> bool {
        self.covers().any()
    }

    pub(super) fn covers(&self) -> Covers {
        match self.shown() {
            Ok(shown) if !self.is_uncovered => Covers::of(&shown.covered),
            _ => Covers::NONE,
        }
    }

    pub(super) fn into_before(self) -> Before {
        self.before
    }
}

impl Simulator {
    /// Begins a talk at its first stop.
    pub fn begin_talk(&mut self, talk: Talk) {
        self.leave_mode();
        if talk.stops.is_empty() {
            return;
        }
        self.teach.mode = Mode::Talk(Box::new(Speaking {
            talk,
            at: 0,
            is_uncovered: false,
            is_blank: false,
            before: Before::of(self),
        }));
        self.back_to_stop();
    }

    fn speaking(&mut self) -> Option<&mut Speaking> {
        match &mut self.teach.mode {
            Mode::Talk(speaking) => Some(speaking),
            _ => None,
        }
    }

    /// Puts bench and look of the stop back, wherever the speaker dragged them. What was uncovered
    /// stays so.
    pub fn back_to_stop(&mut self) {
        let Some(speaking) = self.speaking() else {
            return;
        };
        speaking.is_blank = false;
        let Ok(shown) = speaking.shown().cloned() else {
            return;
        };
        let view = shown.view;
        let laid_out = self
            .desk
            .lay_out(shown.scenario, u64::from(view.calibrations));
        self.memory
            .complain(laid_out.map_err(|error| error.to_string()));
        self.view.stage = match view.stage {
            StopStage::Reflection => Stage::Chart(ChartKind::Reflection),
            StopStage::OhmPlane => Stage::Chart(ChartKind::OhmPlane),
            StopStage::Reach => Stage::Reach,
        };
        self.view.layers.map = view.map;
        self.view.layers.regions = view.regions;
        self.view.sums = false;
        self.view.drawer = None;
    }

    /// Uncovers what is covered, or goes on to the next stop.
    pub fn next_in_talk(&mut self) {
        let Some(speaking) = self.speaking() else {
            return;
        };
        if std::mem::take(&mut speaking.is_blank) {
            return;
        }
        if speaking.has_covers() {
            speaking.is_uncovered = true;
        } else if speaking.at + 1 < speaking.talk.stops.len() {
            speaking.at += 1;
            speaking.is_uncovered = false;
            self.back_to_stop();
        }
    }

    /// Goes back to the stop before, uncovered as it was left.
    pub fn previous_in_talk(&mut self) {
        let Some(speaking) = self.speaking() else {
            return;
        };
        if std::mem::take(&mut speaking.is_blank) {
            return;
        }
        if speaking.at > 0 {
            speaking.at -= 1;
            speaking.is_uncovered = true;
            self.back_to_stop();
        }
    }

    /// Shows nothing, or the stop again.
    pub fn blank(&mut self) {
        if let Some(speaking) = self.speaking() {
            speaking.is_blank = !speaking.is_blank;
        }
    }
}
