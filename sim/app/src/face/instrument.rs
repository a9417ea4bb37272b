//! Every entry of the instrument's budget, live.

use egui::{RichText, Ui};
use jigwise_bench::{InstrumentEntry, NamedInstrument, described_otherwise, entries as budget};

use super::choice::{choice, command, row_of_words};
use super::entries::{Entries, TypedText, fields_ui, typed_ui};
use crate::Desk;

/// The entries of the budget.
pub(super) fn instrument_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    let freq_hz = desk.scenario().readout_hz();
    let instrument = desk.instrument();
    let figures = instrument.figures_at(freq_hz).unwrap_or(instrument.figures);
    ui.label(RichText::new(format!(
        "Entries of {}; presets are invented",
        instrument.words_at(freq_hz)
    )));
    let is_bound = figures.systematic_is_bound;
    row_of_words(ui, |ui| {
        if choice(ui, "calibration figures are bounds", is_bound) {
            let mut changed = instrument.clone();
            for figures in changed.all_figures_mut() {
                figures.systematic_is_bound = !is_bound;
            }
            take(desk, entries, changed);
        }
        let otherwise = "Describe by standards or data sheet";
        if command(ui, otherwise, otherwise) {
            let mut changed = instrument.clone();
            for figures in changed.all_figures_mut() {
                *figures = described_otherwise(figures);
            }
            take(desk, entries, changed);
        }
    });
    fields_ui(ui, |ui| {
        for entry in InstrumentEntry::of(&figures) {
            let typed = TypedText {
                name: entry.name,
                hint: &budget::hint(entry),
                width: 84.0,
                shown: budget::shown(entry, &figures),
            };
            if let Some(text) = typed_ui(ui, entries, &typed) {
                let mut changed = instrument.clone();
                match budget::change(entry, changed.figures_at_mut(freq_hz), &text) {
                    Ok(()) => take(desk, entries, changed),
                    Err(complaint) => entries.say(Err(complaint)),
                }
            }
        }
    });
}

fn take(desk: &mut Desk, entries: &mut Entries, mut changed: NamedInstrument) {
    if !changed.name.ends_with(", changed") {
        changed.name.push_str(", changed");
    }
    let taken = desk.set_instrument(changed);
    entries.say(taken.map_err(|error| error.to_string()));
}
