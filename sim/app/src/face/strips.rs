//! The rim strip and the phase strip: two sliders, for hand, keyboard and screen reader.

use accesskit::{Action, ActionData, Orientation, Role};
use egui::{Response, Sense, Ui, Vec2};
use jigwise_bench::scene::{PhaseFrame, StripFrame};
use jigwise_bench::{engineering, fixed};

use super::chart::{Arrows, focus_edge, pressed_at, step_by_keys};
use super::memory::Announcement;
use super::named::live_region;
use super::paint::Brush;
use crate::{Desk, Theme};

const STRIP_HEIGHT: f32 = 50.0;

/// The height that both strips and the spoken sentence need.
pub(super) fn height(ui: &Ui) -> f32 {
    2.0 * STRIP_HEIGHT + ui.text_style_height(&egui::TextStyle::Small) * 2.0 + 16.0
}

/// Both strips and, under them, the sentence that a screen reader speaks.
pub(super) fn strips_ui(ui: &mut Ui, desk: &mut Desk, theme: Theme, said: &Announcement) {
    magnitude_ui(ui, desk, theme);
    phase_ui(ui, desk, theme);
    live_region(ui, said.text());
}

fn strip(ui: &mut Ui) -> ([f64; 2], Response) {
    let size = Vec2::new(ui.available_width(), STRIP_HEIGHT);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
    (
        [f64::from(rect.width()), f64::from(rect.height())],
        response,
    )
}

fn pointer_x(response: &Response) -> Option<f64> {
    pressed_at(response).map(|at| f64::from(at.x - response.rect.min.x))
}

fn magnitude_ui(ui: &mut Ui, desk: &mut Desk, theme: Theme) {
    let (size, response) = strip(ui);
    let frame = StripFrame {
        size,
        reference: desk.scenario().reference,
    };
    if let Some(x) = pointer_x(&response) {
        desk.move_to(frame.device_at(x, desk.device()));
    }
    step_by_keys(ui, desk, &response, Arrows::Magnitude);
    let (steps, typed) = asked(ui, &response);
    if steps != 0.0 {
        desk.step_magnitude(steps);
    }
    if let Some(ohm) = typed.filter(|ohm| *ohm > 0.0) {
        desk.move_to(frame.with_magnitude(ohm, desk.device()));
    }
    let device = desk.device();
    let painter = ui.painter_at(response.rect);
    let brush = Brush::new(&painter, response.rect.min, theme);
    brush.draw(&frame.grid());
    brush.draw(&frame.ring(device));
    focus_edge(ui, theme, &response);
    let magnitude = device.impedance().map(|z| z.norm());
    slider(
        ui,
        &response,
        "Magnitude of Z",
        magnitude,
        magnitude.map_or("open".to_owned(), |ohm| engineering(ohm, "Ω", 4)),
    );
}

fn phase_ui(ui: &mut Ui, desk: &mut Desk, theme: Theme) {
    let (size, response) = strip(ui);
    let frame = PhaseFrame { size };
    if let Some(x) = pointer_x(&response) {
        desk.move_to(frame.device_at(x, desk.device()));
    }
    step_by_keys(ui, desk, &response, Arrows::Phase);
    let (steps, typed) = asked(ui, &response);
    if steps != 0.0 {
        desk.step_phase(steps);
    }
    let device = desk.device();
    let phase_deg = frame.phase_rad(device).map(f64::to_degrees);
    if let (Some(wanted), Some(now)) = (typed, phase_deg) {
        desk.step_phase(wanted - now);
    }
    let painter = ui.painter_at(response.rect);
    let brush = Brush::new(&painter, response.rect.min, theme);
    brush.draw(&frame.grid());
    brush.draw(&frame.ring(device));
    focus_edge(ui, theme, &response);
    slider(
        ui,
        &response,
        "Phase of Z",
        phase_deg,
        phase_deg.map_or("none".to_owned(), |deg| format!("{}°", fixed(deg, 1))),
    );
}

/// What a screen reader asks of a slider: steps, and a value.
fn asked(ui: &Ui, response: &Response) -> (f64, Option<f64>) {
    ui.input(|input| {
        let count = |action| input.num_accesskit_action_requests(response.id, action) as f64;
        let typed = input
            .accesskit_action_requests(response.id, Action::SetValue)
            .filter_map(|request| match request.data {
                Some(ActionData::NumericValue(value)) if value.is_finite() => Some(value),
                _ => None,
            })
            .last();
        (count(Action::Increment) - count(Action::Decrement), typed)
    })
}

fn slider(ui: &Ui, response: &Response, name: &str, value: Option<f64>, text: String) {
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::Slider);
        node.set_orientation(Orientation::Horizontal);
        node.set_label(name);
        node.set_value(text);
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
