//! What is seen: plain functions over an `egui::Ui` and the [`Desk`].

mod chart;
mod columns;
mod entries;
mod fixtures;
mod instrument;
mod layers;
mod look;
mod named;
mod nudge;
mod paint;
mod reach;
mod strips;
mod top;

pub use entries::Entries;
pub(crate) use paint::Drawn;

use egui::{CentralPanel, Frame, Margin, Panel, ScrollArea, Ui};

use crate::{Desk, Stage};

/// Below this width the controls go under the columns.
const CONTROLS_ABOVE: f32 = 940.0;
/// Below this width everything stands in one column.
const SIDE_BY_SIDE: f32 = 560.0;
/// The chart's share of a wide window's width.
const CHART_SHARE: f32 = 0.43;
/// Its share of a narrow window's height, which leaves room for what it moves.
const NARROW_CHART_SHARE: f32 = 0.62;

/// The whole window.
pub fn desk_ui(ui: &mut Ui, desk: &mut Desk) {
    let now_s = ui.input(|input| input.time);
    if desk.keep_announcement(now_s) {
        // New letters reach the screen one frame late.
        ui.ctx().request_repaint();
    }
    look::wear(ui.ctx(), desk.theme, desk.text_percent());
    let ground = Frame::new()
        .fill(paint::color(desk.theme.palette().ground))
        .inner_margin(Margin::symmetric(14, 8));
    let width = ui.available_width();
    if width >= CONTROLS_ABOVE {
        Panel::top("controls")
            .frame(ground)
            .show_separator_line(false)
            .show(ui, |ui| controls_ui(ui, desk));
        chart_at_left(ui, desk, ground);
        CentralPanel::default().frame(ground).show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                columns::columns_ui(ui, desk);
            });
        });
    } else if width >= SIDE_BY_SIDE {
        chart_at_left(ui, desk, ground);
        CentralPanel::default().frame(ground).show(ui, |ui| {
            ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
                columns::columns_ui(ui, desk);
                controls_ui(ui, desk);
            });
        });
    } else {
        let chart_height = (ui.available_height() * NARROW_CHART_SHARE).max(180.0);
        CentralPanel::default().frame(ground).show(ui, |ui| {
            ScrollArea::vertical().show(ui, |ui| {
                let width = ui.available_width();
                stage_ui(ui, desk, [width, width.min(chart_height)]);
                strips::strips_ui(ui, desk);
                columns::columns_ui(ui, desk);
                controls_ui(ui, desk);
            });
        });
    }
}

fn controls_ui(ui: &mut Ui, desk: &mut Desk) {
    top::top_ui(ui, desk);
    if desk.controls {
        entries::entries_ui(ui, desk);
        nudge::nudge_ui(ui, desk);
        layers::layers_ui(ui, desk);
    }
}

fn stage_ui(ui: &mut Ui, desk: &mut Desk, size: [f32; 2]) {
    match desk.stage {
        Stage::Chart(kind) => chart::chart_ui(ui, desk, kind, size),
        Stage::Reach => reach::reach_ui(ui, desk, size),
    }
}

fn chart_at_left(ui: &mut Ui, desk: &mut Desk, ground: Frame) {
    let width = ui.available_width() * CHART_SHARE;
    Panel::left("chart")
        .frame(ground)
        .resizable(false)
        .show_separator_line(false)
        .exact_size(width)
        .show(ui, |ui| {
            let height = (ui.available_height() - strips::height(ui)).max(100.0);
            stage_ui(ui, desk, [ui.available_width(), height]);
            strips::strips_ui(ui, desk);
        });
}
