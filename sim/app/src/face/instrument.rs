//! Every entry of the instrument's budget, live.

use egui::{RichText, Ui};
use jigwise_bench::{
    Instrument, InstrumentEntry, NamedInstrument, described_otherwise, entries as budget,
};

use super::entries::{Entries, TypedText, typed_ui};
use super::paint::color;
use crate::{Desk, Theme};

/// The entries of the budget.
pub(super) fn instrument_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries, theme: Theme) {
    let instrument = desk.instrument();
    let faint = color(theme.palette().faint);
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
            take(desk, entries, figures);
        }
        if ui.button("Describe by standards or data sheet").clicked() {
            take(desk, entries, described_otherwise(&instrument.figures));
        }
    });
    ui.horizontal_wrapped(|ui| {
        for entry in InstrumentEntry::of(&instrument.figures) {
            ui.label(RichText::new(entry.name).color(faint));
            let typed = TypedText {
                name: entry.name,
                hint: &budget::hint(entry),
                width: 84.0,
                shown: budget::shown(entry, &instrument.figures),
            };
            if let Some(text) = typed_ui(ui, entries, &typed) {
                let mut figures = instrument.figures;
                match budget::change(entry, &mut figures, &text) {
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
