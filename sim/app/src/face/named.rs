//! Values that a screen reader can name.

use accesskit::{Live, Role};
use egui::{Label, Response, RichText, Ui};

/// Shows a value as `text`; a screen reader says `name` before it. Most screen readers say only
/// the text of a label, so name and value go into one text.
pub(super) fn value(ui: &mut Ui, name: &str, text: impl Into<String>, look: Look) -> Response {
    let text = text.into();
    let rich = match look {
        Look::Large => RichText::new(&text).size(18.0),
        Look::Body => RichText::new(&text),
        Look::Small => RichText::new(&text).small(),
    };
    let response = ui.add(Label::new(rich).wrap());
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::Label);
        node.set_value(format!("{name}: {text}"));
    });
    response
}

/// How large a value is shown.
#[derive(Debug, Clone, Copy)]
pub(super) enum Look {
    Large,
    Body,
    Small,
}

/// A sentence that a screen reader speaks by itself when it changes.
pub(super) fn live_region(ui: &mut Ui, text: &str) {
    let response = ui.add(Label::new(RichText::new(text).small().weak()).wrap());
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_role(Role::Label);
        node.set_live(Live::Polite);
        node.set_value(text);
    });
}
