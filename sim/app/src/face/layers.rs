use egui::{RichText, Ui};
use jigwise_bench::Fixture;
use jigwise_bench::scene::{ChartFrame, MapAim};
use jigwise_bench::words::fixture_title;

use super::paint::color;
use super::top::{choice, choice_named};
use crate::{Desk, View};

/// What is drawn on the chart besides the device, and what the map on it means.
pub(super) fn layers_ui(ui: &mut Ui, desk: &Desk, view: &mut View) {
    ui.horizontal_wrapped(|ui| {
        let faint = color(view.theme.palette().faint);
        ui.label(RichText::new("Map").color(faint));
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
        for (map, shown, name) in maps {
            if choice_named(ui, &shown, &name, view.layers.map == map) {
                view.layers.map = map;
            }
        }
        ui.add_space(12.0);
        if choice(ui, "95\u{202f}% regions", view.layers.regions) {
            view.layers.regions = !view.layers.regions;
        }
        if choice(ui, "wave", view.wave) {
            view.wave = !view.wave;
        }
        if let Some(aim) = view.layers.map {
            let label =
                ChartFrame::map_label(aim, &desk.instrument().name, desk.scenario().freq_hz);
            ui.label(RichText::new(label).small());
        }
    });
}
