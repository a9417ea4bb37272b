//! What lies still behind a moving device: lines baked into one mesh, kept until something that
//! they depend on has changed.

use std::sync::Arc;

use egui::Pos2;
use jigwise_bench::scene::{ChartFrame, MapAim, ReachFrame, RuleFrame};

use super::paint::{Baked, Brush};
use crate::{Desk, Theme};

/// The backdrops as last drawn.
#[derive(Default)]
pub(super) struct Backdrops {
    chart: Option<(ChartKey, Baked)>,
    rule: Option<(RuleKey, Baked)>,
    reach: Option<(ReachKey, ReachBackdrop)>,
}

/// The reach plot without what moves on it, ready to be drawn.
#[derive(Clone)]
pub(super) struct ReachBackdrop {
    pub picture: Baked,
    /// Title and description, for screen readers.
    pub words: Arc<[String; 2]>,
}

/// Where and how something is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    origin: Pos2,
    theme: Theme,
    pixels_per_point: f32,
}

impl Place {
    fn of(brush: &Brush<'_>) -> Self {
        Self {
            origin: brush.origin(),
            theme: brush.theme(),
            pixels_per_point: brush.pixels_per_point(),
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct ChartKey {
    frame: ChartFrame,
    place: Place,
    /// The map, and the bench that it is of.
    map: Option<(MapAim, u64)>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct RuleKey {
    frame: RuleFrame,
    place: Place,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct ReachKey {
    frame: ReachFrame,
    place: Place,
    phase_rad: f64,
    setup_revision: u64,
}

impl Backdrops {
    /// The chart's map and lines at `origin`.
    pub(super) fn chart(
        &mut self,
        brush: &Brush<'_>,
        desk: &Desk,
        frame: ChartFrame,
        aim: Option<MapAim>,
    ) -> Baked {
        let key = ChartKey {
            frame,
            place: Place::of(brush),
            map: aim.map(|aim| (aim, desk.setup_revision())),
        };
        kept(&mut self.chart, key, || {
            let map = aim.and_then(|aim| frame.map(desk.bench(), aim));
            let (under, over) = map.map_or_else(Default::default, |map| (map.under, map.over));
            let mut marks = vec![frame.ground()];
            marks.extend(under);
            marks.extend(frame.grid());
            if aim.is_none() {
                marks.extend(frame.inner_labels());
            }
            marks.extend(over);
            brush.baked(marks)
        })
    }

    /// What stands still of the rule at `origin`.
    pub(super) fn rule(&mut self, brush: &Brush<'_>, frame: RuleFrame) -> Baked {
        let place = Place::of(brush);
        kept(&mut self.rule, RuleKey { frame, place }, || {
            brush.baked(frame.still())
        })
    }

    /// The reach plot at `origin`, without the device. `None` without an instrument.
    pub(super) fn reach(
        &mut self,
        brush: &Brush<'_>,
        desk: &Desk,
        frame: ReachFrame,
    ) -> Option<ReachBackdrop> {
        let key = ReachKey {
            frame,
            place: Place::of(brush),
            phase_rad: ReachFrame::phase_of(desk.bench()),
            setup_revision: desk.setup_revision(),
        };
        if let Some((_, backdrop)) = self.reach.as_ref().filter(|(kept, _)| *kept == key) {
            return Some(backdrop.clone());
        }
        let scene = frame.backdrop(desk.bench())?;
        let backdrop = ReachBackdrop {
            picture: brush.baked(scene.marks),
            words: Arc::new([scene.title, scene.description]),
        };
        self.reach = Some((key, backdrop.clone()));
        Some(backdrop)
    }
}

/// What was made for the same key before, or what `make` makes now.
fn kept<K: PartialEq>(
    slot: &mut Option<(K, Baked)>,
    key: K,
    make: impl FnOnce() -> Baked,
) -> Baked {
    match slot {
        Some((known, baked)) if *known == key => baked.clone(),
        _ => {
            let baked = make();
            *slot = Some((key, baked.clone()));
            baked
        }
    }
}
