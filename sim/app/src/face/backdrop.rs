//! What lies still behind a moving device: lines baked into one mesh, kept until something that
//! they depend on has changed.

use std::sync::Arc;

use egui::{Painter, Pos2, Shape};
use jigwise_bench::NamedInstrument;
use jigwise_bench::scene::{ChartFrame, ReachFrame};

use super::paint::Brush;
use crate::{Desk, Theme};

/// The backdrops as last drawn.
#[derive(Default)]
pub(super) struct Backdrops {
    chart: Option<(ChartKey, Arc<[Shape]>)>,
    reach: Option<(ReachKey, ReachBackdrop)>,
}

/// The reach plot without what moves on it, ready to be drawn.
#[derive(Clone)]
pub(super) struct ReachBackdrop {
    pub shapes: Arc<[Shape]>,
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
    fn of(painter: &Painter, origin: Pos2, theme: Theme) -> Self {
        Self {
            origin,
            theme,
            pixels_per_point: painter.ctx().pixels_per_point(),
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct ChartKey {
    frame: ChartFrame,
    place: Place,
}

#[derive(Debug, Clone, PartialEq)]
struct ReachKey {
    frame: ReachFrame,
    place: Place,
    phase_rad: f64,
    instrument: NamedInstrument,
    connections: u32,
}

impl Backdrops {
    /// The chart's grid at `origin`.
    pub(super) fn chart_grid(
        &mut self,
        painter: &Painter,
        frame: ChartFrame,
        origin: Pos2,
        theme: Theme,
    ) -> Arc<[Shape]> {
        let key = ChartKey {
            frame,
            place: Place::of(painter, origin, theme),
        };
        match &self.chart {
            Some((kept, shapes)) if *kept == key => Arc::clone(shapes),
            _ => {
                let shapes = Brush::new(painter, origin, theme).baked(&frame.grid());
                self.chart = Some((key, Arc::clone(&shapes)));
                shapes
            }
        }
    }

    /// The reach plot at `origin`, without the device. `None` without an instrument.
    pub(super) fn reach(
        &mut self,
        painter: &Painter,
        desk: &Desk,
        frame: ReachFrame,
        origin: Pos2,
        theme: Theme,
    ) -> Option<ReachBackdrop> {
        let key = ReachKey {
            frame,
            place: Place::of(painter, origin, theme),
            phase_rad: ReachFrame::phase_of(desk.bench()),
            instrument: desk.instrument(),
            connections: desk.scenario().connections,
        };
        if let Some((_, backdrop)) = self.reach.as_ref().filter(|(kept, _)| *kept == key) {
            return Some(backdrop.clone());
        }
        let scene = frame.backdrop(desk.bench())?;
        let backdrop = ReachBackdrop {
            shapes: Brush::new(painter, origin, theme).baked(&scene.marks),
            words: Arc::new([scene.title, scene.description]),
        };
        self.reach = Some((key, backdrop.clone()));
        Some(backdrop)
    }
}
