//! The drawer of the modes that teach.

use egui::{RichText, ScrollArea, Ui};
use jigwise_bench::Fixture;
use jigwise_bench::words::fixture_title;
use jigwise_exercises::Cover;
use jigwise_exercises::round::Sort;
use jigwise_exercises::talk::talks;

use super::choice::{command, row_of_words};
use super::entries::{TypedText, typed_ui};
use crate::Simulator;

/// The drawer.
pub(super) fn learn_ui(ui: &mut Ui, simulator: &mut Simulator) {
    ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
        ui.label(RichText::new("Predict first").strong());
        ui.label(RichText::new("Cover something, say what it will be, uncover it.").small());
        type Of = fn(Fixture) -> Cover;
        let rows: [(&str, Of); 3] = [
            ("its level in", Cover::Reading),
            ("its bar in", Cover::Bar),
            ("seen by", Cover::Verdict),
        ];
        row_of_words(ui, |ui| {
            predict_ui(ui, simulator, "the best fixture", Cover::BestFixture);
        });
        for (name, cover) in rows {
            row_of_words(ui, |ui| {
                ui.spacing_mut().item_spacing.x = 14.0;
                ui.label(RichText::new(name).weak().small());
                for fixture in Fixture::ALL {
                    let shown = fixture_title(fixture).to_lowercase();
                    predict_ui(ui, simulator, &shown, cover(fixture));
                }
            });
        }
        ui.add_space(6.0);
        ui.label(RichText::new("Unlabelled part").strong());
        ui.label(
            RichText::new("Buy readings of a hidden part, and say its value with its ±.").small(),
        );
        row_of_words(ui, |ui| {
            ui.spacing_mut().item_spacing.x = 14.0;
            for sort in Sort::ALL {
                let name = format!("Unlabelled part: {}", sort.title());
                if command(ui, sort.title(), &name) {
                    simulator.begin_any_round(sort);
                }
            }
        });
        let typed = TypedText {
            name: "Code of a round",
            hint: "ten signs, as in 22222-22222; the same code is the same part",
            width: 150.0,
            shown: String::new(),
        };
        let code = typed_ui(ui, &mut simulator.memory.entries, &typed);
        if let Some(text) = code.filter(|text| !text.trim().is_empty()) {
            simulator.begin_round_of(&text);
        }
        ui.add_space(6.0);
        ui.label(RichText::new("Talk").strong());
        ui.label(
            RichText::new("Page down uncovers and goes on, Escape goes back, b blanks.").small(),
        );
        for built_in in talks() {
            let talk = &built_in.talk;
            let name = format!("{} ({} min)", talk.title, talk.minutes());
            if command(ui, &name, &format!("Talk: {name}")) {
                simulator.begin_talk(talk.clone());
            }
        }
        ui.add_space(6.0);
        progress_ui(ui, simulator);
    });
}

/// A word that covers something.
fn predict_ui(ui: &mut Ui, simulator: &mut Simulator, shown: &str, cover: Cover) {
    if command(ui, shown, &format!("Predict {cover}")) {
        simulator.predict(cover);
    }
}

fn progress_ui(ui: &mut Ui, simulator: &mut Simulator) {
    ui.label(RichText::new("What you did").strong());
    for sentence in simulator.teach.progress.sentences() {
        ui.label(RichText::new(sentence).small());
    }
    for fault in &simulator.teach.faults {
        ui.label(RichText::new(fault).small());
    }
    if simulator.teach.progress.is_empty() {
        return;
    }
    row_of_words(ui, |ui| {
        ui.spacing_mut().item_spacing.x = 14.0;
        if command(ui, "Copy it", "Copy what you did to the clipboard") {
            ui.ctx().copy_text(simulator.teach.progress.to_toml());
        }
        if command(ui, "Erase it", "Erase what you did") {
            simulator.teach.erase();
        }
    });
    ui.label(RichText::new("It is kept on this machine only.").small());
}
