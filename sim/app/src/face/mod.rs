//! What is seen: plain functions over an `egui::Ui` and those parts of the [`Simulator`] that
//! they show or change.
//!
//! Every piece has a rectangle of its own, from [`layout`]. What moves the device is heard before
//! anything is drawn, so that no caption lags behind a drag.

mod answer;
mod backdrop;
mod band;
mod bar;
mod bench_drawer;
mod chart;
mod choice;
mod columns;
mod entries;
mod explain;
mod fixtures;
mod foot;
mod instrument;
mod layout;
mod learn_drawer;
mod look;
mod memory;
mod named;
mod paint;
mod part;
mod reach;
mod ring;
mod round_drawer;
mod rule;
mod steer;
mod sums;
mod view_drawer;

pub use entries::{Field, first_control, type_in};
pub use memory::{Announcement, FrameMemory};

use egui::{Rect, Stroke, Ui, UiBuilder};

use self::layout::{Layout, Shape};
use self::paint::color;
use crate::{Drawer, Mode, Simulator, Stage, Theme};

/// The whole window.
pub fn simulator_ui(ui: &mut Ui, simulator: &mut Simulator) {
    let now_s = ui.input(|input| input.time);
    let window = ui.ctx().viewport_rect();
    let (theme, percent) = (simulator.view.theme, simulator.view.text_percent());
    if !look::wear(ui.ctx(), theme, percent) {
        ui.painter()
            .rect_filled(window, 0.0, color(theme.palette().ground));
        return;
    }
    crate::teach::hear(ui, simulator);
    if simulator.teach.is_blank() {
        band::blank_ui(ui, window);
        return;
    }
    simulator.view.covers = simulator.teach.covers();
    let (band, rest) = band::parted(window, simulator);
    let layout = Layout::of(rest, simulator.view.theme);
    simulator.memory.entries.hear(ui);
    hear(ui, simulator, &layout);
    let Simulator {
        desk, view, memory, ..
    } = &mut *simulator;
    if memory.announcement.follow(desk, view.covers.any(), now_s) {
        // New letters reach the screen one frame late.
        ui.ctx().request_repaint();
    }
    let ground = color(view.theme.palette().ground);
    ui.painter().rect_filled(window, 0.0, ground);
    band::band_ui(ui, simulator, band);
    simulator.view.covers = simulator.teach.covers();

    let Simulator {
        desk, view, memory, ..
    } = &mut *simulator;
    bar::bar_ui(
        &mut inside(ui, layout.bar),
        desk,
        view,
        memory,
        &layout,
        bar::Part::First,
    );
    if layout.stage.is_positive() {
        stage_ui(ui, simulator, &layout);
    }
    let Simulator {
        desk, view, memory, ..
    } = &mut *simulator;
    bar::bar_ui(
        &mut inside(ui, layout.bar),
        desk,
        view,
        memory,
        &layout,
        bar::Part::Rest,
    );
    let seen = memory.seen(desk, view.wanted);
    view.guide
        .follow(desk, seen.answer.best.filter(|_| seen.answer.knows));
    answer::answer_ui(&mut inside(ui, layout.answer), view, &seen, &layout);
    columns::columns_ui(ui, desk, view, memory, &seen, &layout, now_s);
    rule::rule_ui(ui, desk, view, memory, &seen, &layout);
    if layout.foot.is_positive() {
        foot::foot_ui(&mut inside(ui, layout.foot), desk, view, &seen, &layout);
    }
    named::live_region(ui, window, memory.announcement.text());
    if let Some(thing) = explain::hear(ui, simulator, &seen, &layout) {
        simulator.teach.ask_book(thing);
    }
    drawer_ui(ui, simulator, &layout);
    seams(ui, simulator.view.theme, &layout);
    entries::complaint_ui(ui, &simulator.memory.entries, simulator.view.theme, window);
    focus_ring(ui, simulator.view.theme);
}

/// A place for the pieces of one rectangle, which are cut at its edge.
fn inside(ui: &mut Ui, rect: Rect) -> Ui {
    let mut child = ui.new_child(UiBuilder::new().max_rect(rect));
    child.set_clip_rect(rect.expand(4.0));
    child
}

/// What chart, rule and phase are told by pointer, keys and screen reader.
fn hear(
    ui: &Ui,
    Simulator {
        desk, view, teach, ..
    }: &mut Simulator,
    layout: &Layout,
) {
    // Two fingers make the text larger; what they lie on stays where it is.
    if let Some(touch) = ui.input(|input| input.multi_touch()) {
        view.scale_text(touch.zoom_delta);
        return;
    }
    if layout.stage.is_positive() {
        match view.shown_stage() {
            Stage::Chart(kind) => chart::hear(ui, desk, view.theme, kind, layout.stage),
            Stage::Reach => reach::hear(ui, desk, view, layout),
        }
    }
    match &mut teach.mode {
        Mode::Predict(predicting) if predicting.takes_taps() => {
            rule::hear_tap(ui, desk, view, layout, &mut predicting.tapped_ohm);
        }
        _ => rule::hear(ui, desk, view, layout),
    }
    steer::hear_phase(ui, desk);
}

fn stage_ui(
    ui: &mut Ui,
    Simulator {
        desk, view, memory, ..
    }: &mut Simulator,
    layout: &Layout,
) {
    match view.shown_stage() {
        Stage::Chart(kind) => chart::chart_ui(ui, desk, view, memory, kind, layout.stage),
        Stage::Reach => reach::reach_ui(ui, desk, view, &mut memory.backdrops, layout),
    }
}

fn drawer_ui(ui: &mut Ui, simulator: &mut Simulator, layout: &Layout) {
    let Simulator { view, .. } = &mut *simulator;
    if layout.tabs.is_positive() && view.drawer.is_none() {
        choice::stages_ui(&mut inside(ui, layout.tabs), view);
    }
    let Some(drawer) = view.drawer else {
        return;
    };
    let palette = view.theme.palette();
    let rect = layout.drawer;
    ui.painter().rect_filled(rect, 0.0, color(palette.ground));
    if layout.shape == Shape::Wide {
        let edge = Stroke::new(view.theme.line_factor(), color(palette.text));
        ui.painter().vline(rect.right() + 8.0, rect.y_range(), edge);
    }
    // Taken from the chart below, which is not to be moved through the drawer.
    ui.interact(rect, ui.id().with("drawer"), egui::Sense::click_and_drag());
    let sign = Rect::from_min_size(
        rect.right_top() - egui::vec2(48.0, 0.0),
        egui::Vec2::splat(32.0),
    );
    let about = explain::of_drawer(drawer);
    let spoken = format!("Read about {} in the book", about.name());
    if choice::command(&mut inside(ui, sign), "?", &spoken) {
        simulator.teach.ask_book(about);
    }
    let mut room = inside(ui, rect);
    let Simulator {
        desk, view, memory, ..
    } = &mut *simulator;
    match drawer {
        Drawer::Bench(page) => bench_drawer::bench_ui(&mut room, desk, view, memory, page),
        Drawer::View => view_drawer::view_ui(&mut room, desk, view, memory),
        Drawer::Why => answer::why_ui(&mut room, desk, view, memory),
        Drawer::Learn => learn_drawer::learn_ui(&mut room, simulator),
        Drawer::Round => round_drawer::round_ui(&mut room, simulator),
    }
    let is_left = room.input(|input| input.key_pressed(egui::Key::Escape));
    if is_left && !simulator.memory.entries.is_edited() {
        simulator.view.drawer = None;
    }
}

/// The lines between the pieces.
fn seams(ui: &Ui, theme: Theme, layout: &Layout) {
    let hair = color(theme.palette().hair);
    let stroke = Stroke::new(theme.line_factor().min(1.5), hair);
    let across = layout.bar.x_range();
    let mut ys = vec![layout.bar.bottom() - 1.0, layout.rule.top() - 7.0];
    if layout.foot.is_positive() {
        ys.push(layout.foot.top());
    }
    for y in ys {
        ui.painter().hline(across, y, stroke);
    }
}

/// A ring around whatever has the keyboard, whichever kind of control it is.
fn focus_ring(ui: &Ui, theme: Theme) {
    let ctx = ui.ctx();
    let focused = ctx.memory(|memory| memory.focused());
    let Some(response) = focused.and_then(|id| ctx.read_response(id)) else {
        return;
    };
    let layer = egui::LayerId::new(egui::Order::Foreground, egui::Id::new("focus"));
    let ink = color(theme.palette().text);
    let window = ctx.viewport_rect().shrink(2.0);
    ctx.layer_painter(layer).rect_stroke(
        response.rect.expand(2.0).intersect(window),
        4.0,
        Stroke::new(2.0 * theme.line_factor().min(1.5), ink),
        egui::StrokeKind::Middle,
    );
}
