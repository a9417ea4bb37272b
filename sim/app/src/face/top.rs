use accesskit::Toggled;
use egui::{Button, RichText, Ui};
use jigwise_bench::scene::ChartKind;

use super::named;
use crate::{Desk, Stage, Theme, View};

/// The title of the scenario and the choice of chart, theme and text size.
pub(super) fn top_ui(ui: &mut Ui, desk: &Desk, view: &mut View) {
    ui.horizontal_wrapped(|ui| {
        let title = desk.scenario().title.clone();
        let title = title.unwrap_or_else(|| "One part, three fixtures".to_owned());
        ui.label(RichText::new(title).heading());
        ui.add_space(18.0);
        for (stage, name) in [
            (Stage::Chart(ChartKind::Reflection), "Reflection chart"),
            (Stage::Chart(ChartKind::OhmPlane), "Ohm plane"),
            (Stage::Reach, "Reach"),
        ] {
            if choice(ui, name, view.stage == stage) {
                view.stage = stage;
            }
        }
        ui.add_space(18.0);
        for theme in Theme::ALL {
            if choice(ui, theme.name(), view.theme == theme) {
                view.theme = theme;
            }
        }
        ui.add_space(18.0);
        if choice(ui, "Controls", view.open.controls) {
            view.open.controls = !view.open.controls;
        }
        ui.add_space(18.0);
        if ui.button("Smaller text").clicked() {
            view.reduce_text();
        }
        named::value(
            ui,
            "Text size",
            format!("{}\u{202f}%", view.text_percent()),
            named::Look::Body,
        );
        if ui.button("Larger text").clicked() {
            view.enlarge_text();
        }
    });
}

/// One of several, underlined where it is chosen. True when it has just been chosen.
pub(super) fn choice(ui: &mut Ui, name: &str, chosen: bool) -> bool {
    choice_named(ui, name, name, chosen)
}

/// The same with a longer name for screen readers than the one that is shown.
pub(super) fn choice_named(ui: &mut Ui, shown: &str, name: &str, chosen: bool) -> bool {
    let text = if chosen {
        RichText::new(shown).underline()
    } else {
        RichText::new(shown)
    };
    let response = ui.add(Button::new(text).frame(false));
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_label(name);
        node.set_toggled(if chosen {
            Toggled::True
        } else {
            Toggled::False
        });
    });
    response.clicked()
}
