//! What controls that move the device are told by pointer, keys and screen reader.

use accesskit::{Action, ActionData, Orientation, Role};
use egui::{Color32, EventFilter, FontId, Id, Key, Pos2, Response, RichText, Sense, Ui, Vec2};
use jigwise_bench::{fixed, steer};

use crate::Desk;

/// Degrees that an arrow key turns the phase by.
const PHASE_STEP_DEG: f64 = 1.0;
/// What Shift makes of a step.
const FINE: f64 = 0.1;
/// Degrees for a point of a drag across the phase.
const DEG_PER_POINT: f64 = 0.5;

/// Where the pointer presses on a control, which then takes the keyboard too.
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
pub(super) fn keep_arrows(ui: &Ui, id: Id) {
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

/// What a screen reader asks of a slider: steps, and a value.
pub(super) fn asked(ui: &Ui, id: Id) -> (f64, Option<f64>) {
    ui.input(|input| {
        let count = |action| input.num_accesskit_action_requests(id, action) as f64;
        let typed = input
            .accesskit_action_requests(id, Action::SetValue)
            .filter_map(|request| match request.data {
                Some(ActionData::NumericValue(value)) if value.is_finite() => Some(value),
                _ => None,
            })
            .last();
        (count(Action::Increment) - count(Action::Decrement), typed)
    })
}

/// Makes a control a slider for screen readers.
pub(super) fn slider(ui: &Ui, id: Id, name: &str, value: Option<f64>, text: String, about: String) {
    ui.ctx().accesskit_node_builder(id, |node| {
        node.set_role(Role::Slider);
        node.set_orientation(Orientation::Horizontal);
        node.set_label(name);
        node.set_value(text);
        node.set_description(about);
        if let Some(value) = value {
            node.set_numeric_value(value);
        }
        for action in [
            Action::Focus,
            Action::Increment,
            Action::Decrement,
            Action::SetValue,
        ] {
            node.add_action(action);
        }
    });
}

fn phase_id() -> Id {
    Id::new("phase of Z")
}

/// Hears what the phase is told.
pub(super) fn hear_phase(ui: &Ui, desk: &mut Desk) {
    let Some(response) = ui.ctx().read_response(phase_id()) else {
        return;
    };
    if pressed_at(&response).is_some() && response.dragged() {
        desk.step_phase(f64::from(response.drag_delta().x) * DEG_PER_POINT);
    }
    step_by_keys(ui, desk, &response, Arrows::Phase);
    let (steps, typed) = asked(ui, response.id);
    if steps != 0.0 {
        desk.step_phase(steps);
    }
    let now = steer::phase_rad(desk.device()).map(f64::to_degrees);
    if let (Some(wanted), Some(now)) = (typed, now) {
        desk.step_phase(wanted - now);
    }
}

/// The phase as a word that can be dragged and stepped, its right end at `right`.
pub(super) fn phase_ui(ui: &Ui, desk: &Desk, right: Pos2, size: f32, ink: Color32) {
    let phase_deg = steer::phase_rad(desk.device()).map(f64::to_degrees);
    let text = phase_deg.map_or("none".to_owned(), |deg| format!("{}°", fixed(deg, 1)));
    let galley = ui.painter().layout_no_wrap(
        RichText::new(format!("phase {text}")).text().to_owned(),
        FontId::proportional(size),
        ink,
    );
    let rect = egui::Rect::from_min_size(
        right - Vec2::new(galley.size().x, galley.size().y / 2.0),
        galley.size(),
    );
    let grip = rect.expand2(Vec2::new(4.0, (32.0 - rect.height()).max(0.0) / 2.0));
    let response = ui.interact(grip, phase_id(), Sense::click_and_drag());
    if response.hovered() {
        ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeHorizontal);
    }
    ui.painter().galley(rect.min, galley, ink);
    slider(ui, phase_id(), "Phase of Z", phase_deg, text, String::new());
}
