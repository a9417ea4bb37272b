//! What is seen: plain functions over an `egui::Ui` and those parts of the [`Simulator`] that
//! they show or change.

mod backdrop;
mod chart;
mod columns;
mod entries;
mod fixtures;
mod instrument;
mod layers;
mod look;
mod memory;
mod named;
mod nudge;
mod paint;
mod reach;
mod ring;
mod strips;
mod top;

pub use memory::{Announcement, FrameMemory};

use egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};

use crate::{Simulator, Stage};

/// Below this width the controls go under the columns.
const CONTROLS_ABOVE: f32 = 940.0;
/// Below this width everything stands in one column.
const SIDE_BY_SIDE: f32 = 560.0;
/// The chart's share of a wide window's width.
const CHART_SHARE: f32 = 0.43;
/// Its share of a narrow window's height, which leaves room for what it moves.
const NARROW_CHART_SHARE: f32 = 0.62;

/// The whole window.
pub fn simulator_ui(ui: &mut Ui, simulator: &mut Simulator) {
    let now_s = ui.input(|input| input.time);
    let Simulator { desk, view, memory } = simulator;
    if memory.announcement.follow(desk, now_s) {
        // New letters reach the screen one frame late.
        ui.ctx().request_repaint();
    }
    look::wear(ui.ctx(), view.theme, view.text_percent());
    let ground = Frame::new()
        .fill(paint::color(view.theme.palette().ground))
        .inner_margin(Margin::symmetric(14, 8));
    let width = ui.available_width();
    if width >= CONTROLS_ABOVE {
        Panel::top("controls")
            .frame(ground)
            .show_separator_line(false)
            .show(ui, |ui| controls_ui(ui, simulator));
        chart_at_left(ui, simulator, ground);
        CentralPanel::default().frame(ground).show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                columns_ui(ui, simulator);
            });
        });
    } else if width >= SIDE_BY_SIDE {
        chart_at_left(ui, simulator, ground);
        CentralPanel::default().frame(ground).show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                columns_ui(ui, simulator);
                controls_ui(ui, simulator);
            });
        });
    } else {
        let chart_height = (ui.available_height() * NARROW_CHART_SHARE).max(180.0);
        CentralPanel::default().frame(ground).show(ui, |ui| {
            ScrollArea::vertical().show(ui, |ui| {
                let width = ui.available_width();
                stage_ui(ui, simulator, [width, width.min(chart_height)]);
                columns_ui(ui, simulator);
                controls_ui(ui, simulator);
            });
        });
    }
}

fn controls_ui(ui: &mut Ui, Simulator { desk, view, memory }: &mut Simulator) {
    top::top_ui(ui, desk, view);
    if view.open.controls {
        entries::entries_ui(ui, desk, &mut memory.entries, view.theme);
        nudge::nudge_ui(ui, desk, view, &mut memory.entries);
        layers::layers_ui(ui, desk, view);
    }
}

fn columns_ui(ui: &mut Ui, Simulator { desk, view, memory }: &mut Simulator) {
    // What was just opened is above the rows, where it is seen without scrolling.
    if view.open.fixtures {
        fixtures::fixtures_ui(ui, desk, &mut memory.entries, view.theme);
    }
    if view.open.instrument {
        instrument::instrument_ui(ui, desk, &mut memory.entries, view.theme);
    }
    columns::columns_ui(ui, desk, view);
}

/// The chart or the reach plot, and the two strips under it.
fn stage_ui(ui: &mut Ui, Simulator { desk, view, memory }: &mut Simulator, size: [f32; 2]) {
    match view.stage {
        Stage::Chart(kind) => chart::chart_ui(ui, desk, view, memory, kind, size),
        Stage::Reach => reach::reach_ui(ui, desk, view, &mut memory.backdrops, size),
    }
    strips::strips_ui(ui, desk, view.theme, &memory.announcement);
}

fn chart_at_left(ui: &mut Ui, simulator: &mut Simulator, ground: Frame) {
    let width = ui.available_width() * CHART_SHARE;
    Panel::left("chart")
        .frame(ground)
        .resizable(false)
        .show_separator_line(false)
        .exact_size(width)
        .show(ui, |ui| {
            let height = (ui.available_height() - strips::height(ui)).max(100.0);
            stage_ui(ui, simulator, [ui.available_width(), height]);
        });
}
