//! The drawer with everything on the bench, a page at a time.

use egui::{RichText, ScrollArea, Ui};
use jigwise_bench::bench_story;
use jigwise_bench::words::CAUTION;

use super::choice::{choice, row_of_words};
use super::entries::{TypedText, typed_ui};
use super::memory::FrameMemory;
use super::part::{part_ui, told};
use super::{fixtures, instrument};
use crate::{BenchPage, Desk, Drawer, View};

/// The drawer.
pub(super) fn bench_ui(
    ui: &mut Ui,
    desk: &mut Desk,
    view: &mut View,
    memory: &mut FrameMemory,
    page: BenchPage,
) {
    row_of_words(ui, |ui| {
        ui.spacing_mut().item_spacing.x = 14.0;
        for each in BenchPage::ALL {
            if choice(ui, each.name(), page == each) {
                view.drawer = Some(Drawer::Bench(each));
            }
        }
    });
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        let entries = &mut memory.entries;
        match page {
            BenchPage::Part => {
                part_ui(ui, desk, view, entries);
                ui.add_space(4.0);
                ui.label(RichText::new(CAUTION).small());
            }
            BenchPage::Instrument => instrument::instrument_ui(ui, desk, entries),
            BenchPage::Strays => {
                fixtures::strays_ui(ui, desk, entries);
                story_ui(ui, desk);
            }
            BenchPage::Calibration => {
                fixtures::calibration_ui(ui, desk, entries, view.theme);
                seed_ui(ui, desk, memory);
                ui.label(RichText::new(desk.calibration_words()).small());
                story_ui(ui, desk);
            }
        }
    });
}

fn story_ui(ui: &mut Ui, desk: &Desk) {
    let story = bench_story(desk.scenario()).join(" ");
    if !story.is_empty() {
        ui.label(RichText::new(story).small());
    }
}

/// The seed of everything drawn at random.
fn seed_ui(ui: &mut Ui, desk: &mut Desk, memory: &mut FrameMemory) {
    let typed = TypedText {
        name: "Seed",
        hint: "a whole number; the same number draws the same calibrations",
        width: 0.0,
        shown: desk.scenario().seed.to_string(),
    };
    if let Some(text) = typed_ui(ui, &mut memory.entries, &typed) {
        let result = jigwise_bench::parse_count(&text, 0, u64::from(u32::MAX))
            .map_err(|error| format!("Seed: {error}"))
            .and_then(|seed| {
                let mut scenario = desk.scenario().clone();
                scenario.seed = seed;
                told(desk.set_scenario(scenario))
            });
        memory.entries.say(result);
    }
}
