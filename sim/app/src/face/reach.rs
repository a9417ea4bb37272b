use accesskit::Role;
use egui::{Sense, Ui, Vec2};
use jigwise_bench::scene::ReachFrame;
use jigwise_bench::words::device_sentence;

use super::backdrop::Backdrops;
use super::chart::{Arrows, focus_edge, pressed_at, step_by_keys};
use super::paint::Brush;
use crate::{Desk, View};

/// Reach: drag along it to move the same device in |Z|, drag the wanted line up and down.
pub(super) fn reach_ui(
    ui: &mut Ui,
    desk: &mut Desk,
    view: &mut View,
    backdrops: &mut Backdrops,
    size: [f32; 2],
) {
    let (rect, response) = ui.allocate_exact_size(Vec2::from(size), Sense::click_and_drag());
    let mut frame = ReachFrame {
        size: size.map(f64::from),
        reference: desk.scenario().reference,
        wanted: view.wanted,
    };
    let pressed = pressed_at(&response);
    // What was gripped first stays in the hand until it is let go.
    let began = pressed.is_some() && ui.input(|input| input.pointer.any_pressed());
    if let Some(at) = pressed.filter(|_| began) {
        let grips = frame.is_at_wanted(f64::from(at.y - rect.min.y));
        ui.data_mut(|data| data.insert_temp(response.id, grips));
    }
    if let Some(at) = pressed {
        let grips_wanted = ui.data(|data| data.get_temp(response.id)).unwrap_or(false);
        if grips_wanted {
            view.wanted = frame.share_at(f64::from(at.y - rect.min.y));
            frame.wanted = view.wanted;
        } else {
            let x = f64::from(at.x - rect.min.x);
            desk.move_to(frame.device_at(x, desk.device()));
        }
    }
    let hovered = response.hover_pos();
    if hovered.is_some_and(|at| frame.is_at_wanted(f64::from(at.y - rect.min.y))) {
        ui.ctx().set_cursor_icon(egui::CursorIcon::ResizeVertical);
    }
    step_by_keys(ui, desk, &response, Arrows::Both);
    let painter = ui.painter_at(rect);
    let Some(backdrop) = backdrops.reach(&painter, desk, frame, rect.min, view.theme) else {
        return;
    };
    if ui.is_rect_visible(rect) {
        painter.extend(backdrop.shapes.iter().cloned());
        let line = frame.device_line(desk.device());
        Brush::new(&painter, rect.min, view.theme).draw(line.as_slice());
        focus_edge(ui, view.theme, &response);
    }
    let [title, description] = &*backdrop.words;
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::GraphicsObject);
        node.set_label(title.clone());
        node.set_description(description.clone());
        node.set_value(device_sentence(desk.device()));
    });
}
