//! Reach: drag along it to move the same device in |Z|, drag the wanted line up and down.

use accesskit::Role;
use egui::{Id, Sense, Ui};
use jigwise_bench::scene::ReachFrame;
use jigwise_bench::words::device_sentence;

use super::backdrop::Backdrops;
use super::layout::Layout;
use super::paint::Brush;
use super::steer::{Arrows, pressed_at, step_by_keys};
use crate::{Desk, View};

fn reach_id() -> Id {
    Id::new("reach")
}

fn frame_of(desk: &Desk, view: &View, layout: &Layout) -> ReachFrame {
    let rect = layout.stage;
    ReachFrame {
        size: [rect.width(), rect.height()].map(f64::from),
        reference: desk.scenario().reference,
        wanted: view.wanted,
        type_size: f64::from(layout.sizes.small),
    }
}

/// Hears pointer and keys, before anything of the frame is drawn.
pub(super) fn hear(ui: &Ui, desk: &mut Desk, view: &mut View, layout: &Layout) {
    let rect = layout.stage;
    let Some(response) = ui.ctx().read_response(reach_id()) else {
        return;
    };
    let frame = frame_of(desk, view, layout);
    let pressed = pressed_at(&response).map(|at| at - rect.min);
    // What was gripped first stays in the hand until it is let go.
    let began = pressed.is_some() && ui.input(|input| input.pointer.any_pressed());
    if let Some(at) = pressed.filter(|_| began) {
        let grips = frame.is_at_wanted(f64::from(at.y));
        ui.data_mut(|data| data.insert_temp(response.id, grips));
    }
    if let Some(at) = pressed {
        if ui.data(|data| data.get_temp(response.id)).unwrap_or(false) {
            view.wanted = frame.share_at(f64::from(at.y));
        } else {
            desk.move_to(frame.device_at(f64::from(at.x), desk.device()));
        }
    }
    let hovered = response.hover_pos();
    if hovered.is_some_and(|at| frame.is_at_wanted(f64::from(at.y - rect.min.y))) {
        ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeVertical);
    }
    step_by_keys(ui, desk, &response, Arrows::Both);
}

/// Draws the plot.
pub(super) fn reach_ui(
    ui: &Ui,
    desk: &Desk,
    view: &View,
    backdrops: &mut Backdrops,
    layout: &Layout,
) {
    let rect = layout.stage;
    let response = ui.interact(rect, reach_id(), Sense::click_and_drag());
    let frame = frame_of(desk, view, layout);
    let painter = ui.painter_at(rect);
    let brush = Brush::new(&painter, rect.min, view.theme);
    let Some(backdrop) = backdrops.reach(&brush, desk, frame) else {
        return;
    };
    brush.draw_baked(&backdrop.picture);
    brush.draw(frame.device_line(desk.device()).as_slice());
    let [title, description] = &*backdrop.words;
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::GraphicsObject);
        node.set_label(title.clone());
        node.set_description(description.clone());
        node.set_value(device_sentence(desk.device()));
    });
}
