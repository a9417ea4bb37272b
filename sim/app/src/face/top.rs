use accesskit::Toggled;
use egui::{Button, RichText, Ui};
use jigwise_bench::scene::ChartKind;

use super::named;
use crate::{Desk, Theme};

/// What is on the desk, and how it is looked at.
pub(super) fn top_ui(ui: &mut Ui, desk: &mut Desk) {
    ui.horizontal_wrapped(|ui| {
        let title = desk.scenario().title.clone();
        let title = title.unwrap_or_else(|| "One part, three fixtures".to_owned());
        ui.label(RichText::new(title).heading());
        ui.add_space(18.0);
        for (kind, name) in [
            (ChartKind::Reflection, "Reflection chart"),
            (ChartKind::OhmPlane, "Ohm plane"),
        ] {
            if choice(ui, name, desk.chart == kind) {
                desk.chart = kind;
            }
        }
        ui.add_space(18.0);
        for theme in Theme::ALL {
            if choice(ui, theme.name(), desk.theme == theme) {
                desk.theme = theme;
            }
        }
        ui.add_space(18.0);
        if ui.button("Smaller text").clicked() {
            desk.smaller_text();
        }
        named::value(
            ui,
            "Text size",
            format!("{}\u{202f}%", desk.text_percent()),
            named::Look::Body,
        );
        if ui.button("Larger text").clicked() {
            desk.larger_text();
        }
    });
}

/// One of several, underlined where it is chosen. True when it has just been chosen.
fn choice(ui: &mut Ui, name: &str, chosen: bool) -> bool {
    let text = if chosen {
        RichText::new(name).underline()
    } else {
        RichText::new(name)
    };
    let response = ui.add(Button::new(text).frame(false));
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_toggled(if chosen {
            Toggled::True
        } else {
            Toggled::False
        });
    });
    response.clicked()
}
