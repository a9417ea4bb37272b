//! The rule: the hairline is dragged, clicked to, stepped by the arrow keys, or told a value by a
//! screen reader.

use egui::{Id, Sense, Ui};
use jigwise_bench::scene::{RuleFrame, Ticks};
use jigwise_bench::{Bench, Fixture, engineering};
use jigwise_exercises::explain::Thing;

use super::layout::Layout;
use super::memory::{FrameMemory, Seen};
use super::paint::Brush;
use super::steer::{Arrows, asked, pressed_at, slider, step_by_keys};
use crate::{Desk, View};

fn rule_id() -> Id {
    Id::new("rule")
}

fn frame_of(desk: &Desk, view: &View, layout: &Layout) -> RuleFrame {
    RuleFrame {
        width: f64::from(layout.rule.width()),
        reference: desk.scenario().reference,
        wanted: view.wanted,
        look: layout.rule_look,
    }
}

/// Hears pointer, keys and screen reader, before anything of the frame is drawn.
pub(super) fn hear(ui: &Ui, desk: &mut Desk, view: &View, layout: &Layout) {
    let Some(response) = ui.ctx().read_response(rule_id()) else {
        return;
    };
    let frame = frame_of(desk, view, layout);
    if let Some(at) = pressed_at(&response) {
        let x = f64::from(at.x - layout.rule.left());
        desk.move_to(frame.device_at(x, desk.device()));
    }
    step_by_keys(ui, desk, &response, Arrows::Magnitude);
    let (steps, typed) = asked(ui, response.id);
    if steps != 0.0 {
        desk.step_magnitude(steps);
    }
    if let Some(ohm) = typed.filter(|ohm| *ohm > 0.0) {
        desk.move_to(frame.with_modulus(ohm, desk.device()));
    }
}

/// Hears a tap that predicts where a bar ends, and moves nothing.
pub(super) fn hear_tap(
    ui: &Ui,
    desk: &Desk,
    view: &View,
    layout: &Layout,
    tapped_ohm: &mut Option<f64>,
) {
    let Some(response) = ui.ctx().read_response(rule_id()) else {
        return;
    };
    if let Some(at) = pressed_at(&response) {
        let x = f64::from(at.x - layout.rule.left());
        let there = frame_of(desk, view, layout).device_at(x, desk.device());
        *tapped_ohm = there.impedance().map(|z| z.norm());
    }
    let (_, typed) = asked(ui, response.id);
    if let Some(ohm) = typed.filter(|ohm| *ohm > 0.0) {
        *tapped_ohm = Some(ohm);
    }
}

/// What the book explains of a place on the rule.
pub(super) fn thing_at(
    at: egui::Pos2,
    desk: &Desk,
    view: &View,
    seen: &Seen,
    layout: &Layout,
) -> Thing {
    let frame = frame_of(desk, view, layout);
    let [x, y] = [at.x - layout.rule.left(), at.y - layout.rule.top()].map(f64::from);
    let lane = (y / layout.rule_look.lane).floor();
    let Some(fixture) = Fixture::ALL
        .into_iter()
        .find(|f| *f as usize as f64 == lane)
    else {
        return Thing::Bar;
    };
    if x < layout.rule_look.left {
        return super::explain::of_fixture(fixture);
    }
    if x > f64::from(layout.rule.width()) - layout.rule_look.right {
        return Thing::Ticks;
    }
    let there = frame.device_at(x, desk.device()).impedance();
    let in_bar = there.is_some_and(|z| {
        let interval = seen.intervals[fixture as usize].as_ref();
        interval.is_some_and(|interval| interval.contains(z.norm()))
    });
    if in_bar { Thing::Bar } else { Thing::Track }
}

/// Draws the rule.
pub(super) fn rule_ui(
    ui: &Ui,
    desk: &Desk,
    view: &View,
    memory: &mut FrameMemory,
    seen: &Seen,
    layout: &Layout,
) {
    let rect = layout.rule;
    let response = ui.interact(rect, rule_id(), Sense::click_and_drag());
    if response.hovered() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeHorizontal);
    }
    let frame = frame_of(desk, view, layout);
    let painter = ui.painter_at(rect.expand(6.0));
    let brush = Brush::new(&painter, rect.min, view.theme);
    let still = memory.backdrops.rule(&brush, frame);
    brush.draw_baked(&still);
    // What came out of a calibration lies where the bar is.
    let covers = Fixture::ALL.map(|fixture| view.covers.bar(fixture));
    let is_covered = covers.contains(&true);
    let ticks = match is_covered {
        true => Ticks::NONE,
        false => desk.trials().ticks(),
    };
    let intervals = std::array::from_fn(|k| seen.intervals[k].filter(|_| !covers[k]));
    // The reach of a fixture tells whether it knows the part.
    let bare = Bench::around(desk.device(), None, desk.scenario().reference);
    let bench = match view.covers.best_fixture() {
        true => &bare,
        false => desk.bench(),
    };
    brush.draw(&frame.moving(bench, &intervals, &ticks));
    let magnitude = desk.device().impedance().map(|z| z.norm());
    slider(
        ui,
        response.id,
        "Magnitude of Z",
        magnitude,
        magnitude.map_or("open".to_owned(), |ohm| engineering(ohm, "Ω", 4)),
        match is_covered {
            true => "Bars are covered.".to_owned(),
            false => frame.description(desk.bench(), &seen.intervals, &ticks),
        },
    );
}
