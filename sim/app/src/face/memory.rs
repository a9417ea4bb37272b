//! What the face keeps from one frame to the next. No number depends on it.

use std::sync::Arc;

use jigwise_bench::scene::Glide;
use jigwise_bench::words::{Answer, USUAL_WANTED, answer, device_sentence, display_decimals};
use jigwise_bench::{Clouds, Fixture, ModulusInterval, Readout};

use super::backdrop::Backdrops;
use super::entries::Entries;
use crate::Desk;

/// What drawing keeps from one frame to the next: text being typed, finished meshes, what
/// follows from the desk, the clouds' glide and what a screen reader was told last.
#[derive(Default)]
pub struct FrameMemory {
    pub(super) entries: Entries,
    pub(super) backdrops: Backdrops,
    pub(super) seen: Option<Seen>,
    pub(super) glide: GlideMemory,
    pub(super) announcement: Announcement,
}

impl FrameMemory {
    /// What a screen reader is told.
    pub fn announcement(&self) -> &Announcement {
        &self.announcement
    }

    /// What was wrong with the last thing typed; `None` once something else is done.
    pub fn complaint(&self) -> Option<&str> {
        self.entries.complaint()
    }

    /// Shows what could not be done; `Ok` takes the last complaint away.
    pub fn complain(&mut self, result: Result<(), String>) {
        self.entries.say(result);
    }

    /// True while the next frames differ from this one although nobody touches anything.
    pub(crate) fn is_at_work(&self) -> bool {
        self.announcement.is_waiting() || self.glide.is_moving
    }

    /// What follows from the desk, computed once after each change.
    pub(super) fn seen(&mut self, desk: &Desk, wanted: f64) -> Seen {
        let is_fresh = |seen: &Seen| seen.revision == desk.revision() && seen.wanted == wanted;
        match &self.seen {
            Some(seen) if is_fresh(seen) => seen.clone(),
            _ => {
                let seen = Seen::of(desk, wanted);
                self.seen = Some(seen.clone());
                seen
            }
        }
    }
}

/// What follows from the desk.
#[derive(Clone)]
pub(super) struct Seen {
    revision: u64,
    wanted: f64,
    pub readout: Readout,
    pub intervals: [Option<ModulusInterval>; 3],
    pub clouds: Arc<[Option<Clouds>; 3]>,
    pub answer: Arc<Answer>,
    /// Decimals of decibels and degrees that the display shows.
    pub display_decimals: [usize; 2],
}

impl Seen {
    fn of(desk: &Desk, wanted: f64) -> Self {
        let nothing = || Answer {
            best: None,
            knows: false,
            line: String::new(),
            why: String::new(),
        };
        let instrument = desk.instrument();
        let answer = answer(desk.bench(), &instrument, wanted);
        let figures = instrument
            .figures_at(desk.scenario().readout_hz())
            .unwrap_or(instrument.figures);
        Self {
            display_decimals: display_decimals(&figures),
            revision: desk.revision(),
            wanted,
            readout: desk.readout(),
            intervals: desk.bench().modulus_intervals(),
            clouds: Arc::new(Fixture::ALL.map(|fixture| desk.clouds(fixture))),
            answer: Arc::new(answer.unwrap_or_else(nothing)),
        }
    }

    pub(super) fn interval(&self, fixture: Fixture) -> Option<&ModulusInterval> {
        self.intervals[fixture as usize].as_ref()
    }
}

/// The clouds on their way from one calibration's place to the next.
#[derive(Debug, Default)]
pub(super) struct GlideMemory {
    calibration: u64,
    began_at_s: Option<f64>,
    from: [Glide; 3],
    here: [Glide; 3],
    is_moving: bool,
}

impl GlideMemory {
    /// Seconds from one place to the next.
    const LASTS_S: f64 = 0.2;

    /// Where the pairs are now.
    pub(super) fn follow(
        &mut self,
        to: [Glide; 3],
        calibration: u64,
        now_s: f64,
        is_still: bool,
    ) -> [Glide; 3] {
        if std::mem::replace(&mut self.calibration, calibration) != calibration && !is_still {
            self.began_at_s = Some(now_s);
            self.from = self.here;
        }
        let part = self.began_at_s.map_or(1.0, |began_at_s| {
            ((now_s - began_at_s) / Self::LASTS_S).clamp(0.0, 1.0)
        });
        self.is_moving = part < 1.0;
        if !self.is_moving {
            self.began_at_s = None;
        }
        // Fast at first, then slower.
        let eased = 1.0 - (1.0 - part).powi(3);
        self.here = std::array::from_fn(|k| self.from[k].toward(to[k], eased));
        self.here
    }
}

/// What a screen reader is told once the device has come to rest.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Announcement {
    /// The desk's revision when last looked at.
    revision: u64,
    /// When the desk last changed, in the face's own seconds; `None` once that was told.
    changed_at_s: Option<f64>,
    text: String,
}

impl Announcement {
    /// Seconds of rest before a change is told.
    const REST_S: f64 = 0.5;

    /// The sentence told last.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// True while a change has not been told yet.
    pub fn is_waiting(&self) -> bool {
        self.changed_at_s.is_some()
    }

    /// Notes changes of the desk and, after a rest, says where the device is. True when the
    /// sentence has just been made. `now_s` is the face's clock.
    pub(super) fn follow(&mut self, desk: &Desk, is_covered: bool, now_s: f64) -> bool {
        if std::mem::replace(&mut self.revision, desk.revision()) != desk.revision() {
            self.changed_at_s = Some(now_s);
        }
        let rested = self
            .changed_at_s
            .is_some_and(|changed_at_s| now_s - changed_at_s >= Self::REST_S);
        if rested {
            self.changed_at_s = None;
            self.text = format!(
                "{} {}",
                device_sentence(desk.device()),
                answer(desk.bench(), &desk.instrument(), USUAL_WANTED)
                    .filter(|_| !is_covered)
                    .map_or(String::new(), |answer| answer.line)
            );
        }
        rested
    }
}
