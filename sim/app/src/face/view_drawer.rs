//! The drawer that says how the window looks.

use egui::{RichText, ScrollArea, Ui};
use jigwise_bench::Fixture;
use jigwise_bench::scene::{ChartFrame, MapAim};
use jigwise_bench::words::fixture_title;

use super::choice::{choice, choice_named, command, row_of_words};
use super::look::fitting_percent;
use super::memory::FrameMemory;
use super::part::direction_ui;
use crate::{Desk, Theme, View};

/// The drawer.
pub(super) fn view_ui(ui: &mut Ui, desk: &mut Desk, view: &mut View, memory: &mut FrameMemory) {
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        row(ui, "Theme", |ui| {
            for theme in Theme::ALL {
                if choice(ui, theme.name(), view.theme == theme) {
                    view.theme = theme;
                }
            }
        });
        row(ui, "Text", |ui| {
            if command(ui, "Smaller", "Smaller text") {
                view.reduce_text();
            }
            ui.label(format!("{}\u{202f}%", view.text_percent()));
            if command(ui, "Larger", "Larger text") {
                view.enlarge_text();
            }
        });
        if let Some(percent) = fitting_percent(ui.ctx(), view.theme, view.text_percent()) {
            let words = format!("This window has room for {percent}\u{202f}%; make it larger.");
            ui.label(RichText::new(words).small());
        }
        super::choice::stages_ui(ui, view);
        map_ui(ui, desk, view);
        row(ui, "Also", |ui| {
            if choice(ui, "95\u{202f}% regions", view.layers.regions) {
                view.layers.regions = !view.layers.regions;
            }
            if choice(ui, "wave", view.wave) {
                view.wave = !view.wave;
            }
            if choice(ui, "nothing glides", view.reduced_motion) {
                view.reduced_motion = !view.reduced_motion;
            }
        });
        direction_ui(ui, desk, &mut memory.entries);
        if !view.guide.is_on() && command(ui, "Show me again", "Show me the first moves again") {
            view.guide.show_again();
        }
        ui.label(RichText::new(format!("Jigwise {}", jigwise_bench::version())).small());
    });
}

fn row(ui: &mut Ui, name: &str, content: impl FnOnce(&mut Ui)) {
    row_of_words(ui, |ui| {
        ui.spacing_mut().item_spacing.x = 14.0;
        ui.label(RichText::new(name).weak());
        content(ui);
    });
}

/// What the map behind the chart shows.
fn map_ui(ui: &mut Ui, desk: &Desk, view: &mut View) {
    let mut maps = vec![
        (None, "none".to_owned(), "No map".to_owned()),
        (
            Some(MapAim::BestForValue),
            "best for value".to_owned(),
            "Map of the best fixture for value".to_owned(),
        ),
        (
            Some(MapAim::BestForChange),
            "best for change".to_owned(),
            "Map of the best fixture for change".to_owned(),
        ),
    ];
    maps.extend(Fixture::ALL.map(|fixture| {
        let title = fixture_title(fixture);
        (
            Some(MapAim::UncertaintyOf(fixture)),
            format!("{title} %"),
            format!("Map of the uncertainty of {title} in percent"),
        )
    }));
    row(ui, "Map", |ui| {
        for (map, shown, name) in maps {
            if choice_named(ui, &shown, &name, view.layers.map == map) {
                view.layers.map = map;
            }
        }
    });
    if let Some(aim) = view.layers.map {
        let label =
            ChartFrame::map_label(aim, &desk.instrument().name, desk.scenario().readout_hz());
        ui.label(RichText::new(label).small());
    }
}
