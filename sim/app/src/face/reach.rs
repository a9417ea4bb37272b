use accesskit::Role;
use egui::{Sense, Ui, Vec2};
use jigwise_bench::scene::ReachFrame;

use super::chart::{Arrows, focus_edge, pressed_at, step_by_keys};
use super::paint::Brush;
use crate::Desk;

/// Reach: drag along it to move the same device in |Z|.
pub(super) fn reach_ui(ui: &mut Ui, desk: &mut Desk, size: [f32; 2]) {
    let (rect, response) = ui.allocate_exact_size(Vec2::from(size), Sense::click_and_drag());
    let frame = ReachFrame {
        size: size.map(f64::from),
        reference: desk.readout().reference,
        wanted: desk.wanted,
    };
    if let Some(at) = pressed_at(&response) {
        let x = f64::from(at.x - rect.min.x);
        desk.move_to(frame.device_at(x, desk.readout().device));
    }
    step_by_keys(ui, desk, &response, Arrows::Both);
    let Some(scene) = frame.scene(desk.bench()) else {
        return;
    };
    if ui.is_rect_visible(rect) {
        let painter = ui.painter_at(rect);
        Brush::new(&painter, rect.min, desk.theme).draw(&scene.marks);
        focus_edge(ui, desk, &response);
    }
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::GraphicsObject);
        node.set_label(scene.title);
        node.set_description(scene.description);
        node.set_value(desk.spoken());
    });
}
