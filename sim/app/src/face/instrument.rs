//! Every entry of the instrument's budget, live.

use egui::{RichText, Ui};
use jigwise_bench::{BudgetEntry, NamedInstrument, described_otherwise};

use super::entries::{TypedText, typed_ui};
use super::paint::color;
use crate::Desk;

/// The entries, where they are open.
pub(super) fn instrument_ui(ui: &mut Ui, desk: &mut Desk) {
    if !desk.entries_open {
        return;
    }
    let instrument = desk.instrument();
    let faint = color(desk.theme.palette().faint);
    ui.add_space(6.0);
    ui.label(RichText::new(format!(
        "Entries of {}; presets are invented",
        instrument.name
    )));
    let is_bound = instrument.figures.systematic_is_bound;
    ui.horizontal_wrapped(|ui| {
        if super::top::choice(ui, "calibration figures are bounds", is_bound) {
            let mut figures = instrument.figures;
            figures.systematic_is_bound = !is_bound;
            take(desk, figures);
        }
        if ui.button("Describe by standards or data sheet").clicked() {
            take(desk, described_otherwise(&instrument.figures));
        }
    });
    ui.horizontal_wrapped(|ui| {
        for entry in BudgetEntry::of(&instrument.figures) {
            ui.label(RichText::new(entry.name).color(faint));
            let typed = TypedText {
                name: entry.name,
                hint: entry.hint,
                width: 84.0,
                shown: entry.shown(&instrument.figures),
            };
            if let Some(text) = typed_ui(ui, desk, &typed) {
                let mut figures = instrument.figures;
                match entry.change(&mut figures, &text) {
                    Ok(()) => take(desk, figures),
                    Err(complaint) => desk.entries.say(Err(complaint)),
                }
            }
        }
    });
}

fn take(desk: &mut Desk, figures: jigwise_bench::Instrument) {
    let name = desk.instrument().name;
    let name = if name.ends_with(", changed") {
        name
    } else {
        format!("{name}, changed")
    };
    let taken = desk.set_instrument(NamedInstrument { name, figures });
    desk.entries.say(taken.map_err(|error| error.to_string()));
}
