use accesskit::{Action, Role};
use egui::{EventFilter, Id, Key, Painter, Pos2, Rect, Response, Sense, Stroke, Ui, Vec2};
use jigwise_bench::scene::{ChartFrame, ChartKind, MapAim};
use jigwise_bench::words::device_sentence;

use super::memory::FrameMemory;
use super::paint::{Brush, color};
use crate::{Desk, Theme, View};

/// Degrees that an arrow key turns the phase by.
const PHASE_STEP_DEG: f64 = 1.0;
/// What Shift makes of a step.
const FINE: f64 = 0.1;

/// The chart: the device's ring is dragged, clicked to, or stepped by the arrow keys.
pub(super) fn chart_ui(
    ui: &mut Ui,
    desk: &mut Desk,
    view: &View,
    memory: &mut FrameMemory,
    kind: ChartKind,
    size: [f32; 2],
) {
    let (rect, response) = ui.allocate_exact_size(Vec2::from(size), Sense::click_and_drag());
    let frame = ChartFrame {
        kind,
        size: size.map(f64::from),
        reference: desk.scenario().reference,
    };
    if let Some(at) = pressed_at(&response) {
        let at = at - rect.min;
        desk.move_to(frame.device_at([f64::from(at.x), f64::from(at.y)]));
    }
    step_by_keys(ui, desk, &response, Arrows::Both);
    if ui.is_rect_visible(rect) {
        draw(&ui.painter_at(rect), desk, view, memory, &frame, rect.min);
        focus_edge(ui, view.theme, &response);
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

fn draw(
    painter: &Painter,
    desk: &Desk,
    view: &View,
    memory: &mut FrameMemory,
    frame: &ChartFrame,
    origin: Pos2,
) {
    let backdrops = &mut memory.backdrops;
    let grid = backdrops.chart_grid(painter, *frame, origin, view.theme);
    painter.extend(grid.iter().cloned());
    let brush = Brush::new(painter, origin, view.theme);
    if let Some(aim) = view.layers.map {
        if let Some(texture) = memory.map.texture {
            let [left, top, right, bottom] = frame.map_rect().map(|edge| edge as f32);
            let area = Rect::from_min_max(
                origin + Vec2::new(left, top),
                origin + Vec2::new(right, bottom),
            );
            let whole = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
            painter.image(texture, area, whole, egui::Color32::WHITE);
        }
        if let MapAim::UncertaintyOf(fixture) = aim {
            brush.draw(&frame.band_labels(desk.bench(), fixture));
        }
    }
    if view.layers.regions {
        brush.draw(&frame.regions(&desk.readout()));
    }
    if let Some(kept) = desk.kept_device() {
        brush.draw(&frame.kept_ring(kept));
    }
    brush.draw(&frame.ring(desk.device()));
}

/// Where the pointer presses on the control, which then takes the keyboard too.
pub(super) fn pressed_at(response: &Response) -> Option<Pos2> {
    let pressed = response.is_pointer_button_down_on() || response.clicked();
    let at = response.interact_pointer_pos().filter(|_| pressed)?;
    response.request_focus();
    Some(at)
}

/// Which arrow keys a control takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Arrows {
    /// Left and right step |Z|, up and down the phase.
    Both,
    /// All of them step |Z|.
    Magnitude,
    /// All of them step the phase.
    Phase,
}

/// Steps the device by the arrow keys while the control has the focus.
pub(super) fn step_by_keys(ui: &Ui, desk: &mut Desk, response: &Response, arrows: Arrows) {
    if !response.has_focus() {
        return;
    }
    keep_arrows(ui, response.id);
    let (across, up, fine) = ui.input(|input| {
        let pressed = |key| input.num_presses(key) as f64;
        (
            pressed(Key::ArrowRight) - pressed(Key::ArrowLeft),
            pressed(Key::ArrowUp) - pressed(Key::ArrowDown),
            input.modifiers.shift,
        )
    });
    let size = if fine { FINE } else { 1.0 };
    let (magnitude, phase) = match arrows {
        Arrows::Both => (across, up),
        Arrows::Magnitude => (across + up, 0.0),
        Arrows::Phase => (0.0, across + up),
    };
    if magnitude != 0.0 {
        desk.step_magnitude(magnitude * size);
    }
    if phase != 0.0 {
        desk.step_phase(phase * size * PHASE_STEP_DEG);
    }
}

/// The arrow keys stay with this control instead of moving the focus on.
fn keep_arrows(ui: &Ui, id: Id) {
    ui.memory_mut(|memory| {
        memory.set_focus_lock_filter(
            id,
            EventFilter {
                horizontal_arrows: true,
                vertical_arrows: true,
                ..EventFilter::default()
            },
        );
    });
}

/// A frame around the control that has the keyboard.
pub(super) fn focus_edge(ui: &Ui, theme: Theme, response: &Response) {
    if response.has_focus() {
        let ink = color(theme.palette().text);
        ui.painter().rect_stroke(
            response.rect.shrink(1.0),
            2.0,
            Stroke::new(2.0 * theme.line_factor(), ink),
            egui::StrokeKind::Inside,
        );
    }
}
