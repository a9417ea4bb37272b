//! Values that a screen reader can name.

use std::sync::Arc;

use accesskit::{Live, Role};
use egui::{Color32, FontId, Galley, Id, Label, Pos2, Rect, Response, RichText, Sense, Ui};

/// Writes what was laid out; a screen reader says `name` before it. Most screen readers say only
/// the text of a label, so name and value go into one text.
pub(super) fn galley(ui: &Ui, name: &str, text: &str, at: Pos2, galley: Arc<Galley>) {
    let rect = Rect::from_min_size(at, galley.size());
    ui.painter().galley(at, galley, Color32::PLACEHOLDER);
    say(ui, name, text, rect);
}

/// What a screen reader says of a place where something is written or drawn.
pub(super) fn say(ui: &Ui, name: &str, text: &str, rect: Rect) {
    let response = ui.interact(rect, Id::new(("named", name)), Sense::hover());
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::Label);
        node.set_value(format!("{name}: {text}"));
        // A control gets its place by itself, a text does not.
        node.set_bounds(accesskit::Rect {
            x0: f64::from(rect.left()),
            y0: f64::from(rect.top()),
            x1: f64::from(rect.right()),
            y1: f64::from(rect.bottom()),
        });
    });
}

/// Writes one line, cut short where there is no room. The letters come smaller, down to `least`,
/// before anything is cut. Returns where it ends.
pub(super) fn line(ui: &Ui, text: &str, at: Pos2, width: f32, font: FontId, ink: Color32) -> Rect {
    let mut job = egui::text::LayoutJob::simple_singleline(text.to_owned(), font, ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width(width);
    let galley = ui.painter().layout_job(job);
    let rect = Rect::from_min_size(at, galley.size());
    ui.painter().galley(at, galley, ink);
    rect
}

/// Shows a value as `text` in a flow of labels; a screen reader says `name` before it.
pub(super) fn value(ui: &mut Ui, name: &str, text: impl Into<String>) -> Response {
    let text = text.into();
    let response = ui.add(Label::new(RichText::new(&text).small()).wrap());
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::Label);
        node.set_value(format!("{name}: {text}"));
    });
    response
}

/// A sentence that a screen reader speaks by itself when it changes. It is not drawn.
pub(super) fn live_region(ui: &Ui, window: Rect, text: &str) {
    let corner = Rect::from_min_size(window.min, egui::vec2(1.0, 1.0));
    let response = ui.interact(corner, Id::new("live region"), Sense::hover());
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::Label);
        node.set_live(Live::Polite);
        node.set_value(text);
    });
}
