//! The chart: the device's ring is dragged, clicked to, or stepped by the arrow keys.

use accesskit::{Action, Role};
use egui::{FontId, Id, Painter, Rect, Sense, Ui};
use jigwise_bench::scene::{ChartFrame, ChartKind, MapAim};
use jigwise_bench::words::device_sentence;

use super::look::TypeSizes;
use super::memory::FrameMemory;
use super::named;
use super::paint::{Brush, color};
use super::steer::{Arrows, phase_ui, pressed_at, step_by_keys};
use crate::{Desk, Theme, View};

fn chart_id() -> Id {
    Id::new("chart")
}

fn frame_of(desk: &Desk, theme: Theme, kind: ChartKind, rect: Rect) -> ChartFrame {
    ChartFrame {
        kind,
        size: [rect.width(), rect.height()].map(f64::from),
        reference: desk.scenario().reference,
        is_bare: theme.palette().has_no_tints(),
    }
}

/// Hears pointer and keys, before anything of the frame is drawn.
pub(super) fn hear(ui: &Ui, desk: &mut Desk, theme: Theme, kind: ChartKind, rect: Rect) {
    let Some(response) = ui.ctx().read_response(chart_id()) else {
        return;
    };
    if let Some(at) = pressed_at(&response) {
        let at = at - rect.min;
        let frame = frame_of(desk, theme, kind, rect);
        desk.move_to(frame.device_at([f64::from(at.x), f64::from(at.y)]));
    }
    step_by_keys(ui, desk, &response, Arrows::Both);
}

/// Draws the chart.
pub(super) fn chart_ui(
    ui: &Ui,
    desk: &Desk,
    view: &View,
    memory: &mut FrameMemory,
    kind: ChartKind,
    rect: Rect,
) {
    let response = ui.interact(rect, chart_id(), Sense::click_and_drag());
    draw(&ui.painter_at(rect), desk, view, memory, kind, rect);
    // On the ohm plane the phase is an axis, and is dragged there.
    if view.theme != Theme::Hall && kind == ChartKind::Reflection {
        let ink = color(view.theme.palette().faint);
        let right = rect.right_bottom() - egui::vec2(4.0, 10.0);
        phase_ui(ui, desk, right, 14.0, ink);
    }
    if let Some(aim) = view.shown_map() {
        caption_ui(ui, desk, view, aim, (kind, rect));
    }
    let name = match kind {
        ChartKind::Reflection => "Reflection chart",
        ChartKind::OhmPlane => "Ohm plane",
    };
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::GraphicsObject);
        node.set_label(name);
        node.set_description(
            "Left and right arrows step the magnitude of Z, up and down its phase; with Shift a \
             tenth of that.",
        );
        node.set_value(device_sentence(desk.device()));
        node.add_action(Action::Focus);
    });
}

/// What the map is of, in a corner.
fn caption_ui(ui: &Ui, desk: &Desk, view: &View, aim: MapAim, (kind, rect): (ChartKind, Rect)) {
    let size = TypeSizes::of(view.theme, ui.ctx().viewport_rect().size()).small;
    if rect.width() < 22.0 * size {
        return;
    }
    let font = FontId::proportional(size);
    let ink = color(view.theme.palette().faint);
    let text = ChartFrame::map_caption(aim);
    let at = match kind {
        ChartKind::Reflection => rect.left_bottom() + egui::vec2(2.0, -10.0 - 0.6 * size),
        // Below and at the left stand the scales.
        ChartKind::OhmPlane => {
            let whole = ui
                .painter()
                .layout_no_wrap(text.to_owned(), font.clone(), ink);
            rect.right_top() - egui::vec2(whole.size().x + 2.0, 0.0)
        }
    };
    let place = named::line(ui, text, at, 0.6 * rect.width(), font, ink);
    let label = ChartFrame::map_label(aim, &desk.instrument().name, desk.scenario().readout_hz());
    named::say(ui, "Map", &label, place);
}

fn draw(
    painter: &Painter,
    desk: &Desk,
    view: &View,
    memory: &mut FrameMemory,
    kind: ChartKind,
    rect: Rect,
) {
    let frame = frame_of(desk, view.theme, kind, rect);
    let brush = Brush::new(painter, rect.min, view.theme);
    let backdrop = memory
        .backdrops
        .chart(&brush, desk, frame, view.shown_map());
    brush.draw_baked(&backdrop);
    if view.shows_regions() {
        brush.draw(&frame.regions(&desk.readout()));
    }
    if let Some(kept) = desk.kept_device() {
        brush.draw(&frame.kept_ring(kept));
    }
    brush.draw(&frame.ring(desk.device()));
}
