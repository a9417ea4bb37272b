//! Every entry of the instrument's budget, live.

use egui::{RichText, Ui};
use jigwise_bench::{BudgetEntry, Instrument, NamedInstrument, described_otherwise};

use super::choice::{choice, command};
use super::entries::{Entries, TypedText, typed_ui};
use crate::Desk;

/// The entries of the budget.
pub(super) fn instrument_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    let instrument = desk.instrument();
    ui.label(RichText::new(format!(
        "Entries of {}; presets are invented",
        instrument.name
    )));
    let is_bound = instrument.figures.systematic_is_bound;
    ui.horizontal_wrapped(|ui| {
        if choice(ui, "calibration figures are bounds", is_bound) {
            let mut figures = instrument.figures;
            figures.systematic_is_bound = !is_bound;
            take(desk, entries, figures);
        }
        let otherwise = "Describe by standards or data sheet";
        if command(ui, otherwise, otherwise) {
            take(desk, entries, described_otherwise(&instrument.figures));
        }
    });
    ui.horizontal_wrapped(|ui| {
        for entry in BudgetEntry::of(&instrument.figures) {
            let typed = TypedText {
                name: entry.name,
                hint: entry.hint,
                width: 84.0,
                shown: entry.shown(&instrument.figures),
            };
            if let Some(text) = typed_ui(ui, entries, &typed) {
                let mut figures = instrument.figures;
                match entry.change(&mut figures, &text) {
                    Ok(()) => take(desk, entries, figures),
                    Err(complaint) => entries.say(Err(complaint)),
                }
            }
        }
    });
}

fn take(desk: &mut Desk, entries: &mut Entries, figures: Instrument) {
    let name = desk.instrument().name;
    let name = if name.ends_with(", changed") {
        name
    } else {
        format!("{name}, changed")
    };
    let taken = desk.set_instrument(NamedInstrument { name, figures });
    entries.say(taken.map_err(|error| error.to_string()));
}
