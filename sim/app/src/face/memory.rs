//! What the face keeps from one frame to the next. No number depends on it.

use egui::TextureId;
use jigwise_bench::words::device_sentence;

use super::backdrop::Backdrops;
use super::entries::Entries;
use crate::Desk;

/// What drawing keeps from one frame to the next: text being typed, finished meshes, the map's
/// texture and what a screen reader was told last.
#[derive(Default)]
pub struct FrameMemory {
    pub(super) entries: Entries,
    pub(super) backdrops: Backdrops,
    pub(crate) map: MapTexture,
    pub(super) announcement: Announcement,
}

impl FrameMemory {
    /// What a screen reader is told.
    pub fn announcement(&self) -> &Announcement {
        &self.announcement
    }

    /// True while the next frames differ from this one although nobody touches anything.
    pub(crate) fn is_at_work(&self) -> bool {
        self.announcement.is_waiting() || self.map.unfinished
    }
}

/// The map behind the chart, as the host has it ready.
#[derive(Debug, Default)]
pub(crate) struct MapTexture {
    /// The texture, once there has been a map.
    pub texture: Option<TextureId>,
    /// True while the host still paints it.
    pub unfinished: bool,
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
    pub(super) fn follow(&mut self, desk: &Desk, now_s: f64) -> bool {
        if std::mem::replace(&mut self.revision, desk.revision()) != desk.revision() {
            self.changed_at_s = Some(now_s);
        }
        let rested = self
            .changed_at_s
            .is_some_and(|changed_at_s| now_s - changed_at_s >= Self::REST_S);
        if rested {
            self.changed_at_s = None;
            self.text = device_sentence(desk.device());
        }
        rested
    }
}
