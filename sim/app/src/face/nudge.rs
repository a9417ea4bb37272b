//! The nudge, the instrument and the calibration: what decides who notices.

use egui::{Button, RichText, Ui};
use jigwise_bench::{
    Direction, MAX_QUOTED, NamedInstrument, Nudge, ScenarioError, excerpt, make_nudge, parse_share,
    percent,
};

use super::entries::{Entries, TypedText, typed_ui};
use super::paint::color;
use super::top::choice;
use crate::{Desk, View};

/// One row of controls.
pub(super) fn nudge_ui(ui: &mut Ui, desk: &mut Desk, view: &mut View, entries: &mut Entries) {
    ui.horizontal_wrapped(|ui| {
        let faint = color(view.theme.palette().faint);
        ui.label(RichText::new("Nudge").color(faint));
        direction_ui(ui, desk, entries);
        ui.label(RichText::new("Wanted").color(faint));
        wanted_ui(ui, view, entries);
        ui.add_space(12.0);
        ui.label(RichText::new("Instrument").color(faint));
        preset_ui(ui, desk, entries);
        let open = &mut view.open;
        if choice(ui, "entries", open.instrument) {
            open.instrument = !open.instrument;
        }
        if choice(ui, "fixtures and calibration", open.fixtures) {
            open.fixtures = !open.fixtures;
        }
        ui.add_space(12.0);
        calibration_ui(ui, desk);
    });
}

fn direction_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    let nudge = desk.scenario().nudge;
    amount_ui(ui, desk, entries, nudge);
    let mut renudge = |direction, swapped| {
        let result = make_nudge(nudge.amount(), direction, swapped)
            .and_then(|nudge| told(desk.set_nudge(nudge)));
        entries.say(result);
    };
    for (name, direction) in [
        ("of |Z|", Direction::Magnitude),
        ("in R", Direction::Resistance),
        ("in X", Direction::Reactance),
    ] {
        if choice(ui, name, nudge.direction() == direction) {
            renudge(direction, nudge.is_swapped());
        }
    }
    if choice(ui, "part swapped", nudge.is_swapped()) {
        renudge(nudge.direction(), !nudge.is_swapped());
    }
}

fn preset_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    for name in NamedInstrument::preset_names() {
        if choice(ui, name, desk.instrument().name == name)
            && let Some(preset) = NamedInstrument::preset(name)
        {
            entries.say(told(desk.set_instrument(preset)));
        }
    }
}

/// The calibration, and the copy to compare with.
fn calibration_ui(ui: &mut Ui, desk: &mut Desk) {
    let again = Button::new(RichText::new("Calibrate again").strong());
    if ui.add(again).clicked() {
        desk.calibrate_again();
    }
    if ui.button("Calibrate perfectly").clicked() {
        desk.calibrate_perfectly();
    }
    if ui.button("Keep a copy").clicked() {
        desk.keep_copy();
    }
    let kept = desk.kept().map(|kept| kept.device.to_string());
    if kept.is_some_and(|kept| ui.button(format!("Swap with kept {kept}")).clicked()) {
        desk.swap_kept();
    }
}

fn told(result: Result<(), ScenarioError>) -> Result<(), String> {
    result.map_err(|error| error.to_string())
}

fn amount_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries, nudge: Nudge) {
    let typed = TypedText {
        name: "Nudge, percent of |Z|",
        hint: "a percentage of |Z| such as +10 %",
        width: 72.0,
        shown: percent(nudge.amount()),
    };
    if let Some(text) = typed_ui(ui, entries, &typed) {
        let result = share_of(&text).and_then(|amount| {
            let nudge = make_nudge(amount, nudge.direction(), nudge.is_swapped())?;
            told(desk.set_nudge(nudge))
        });
        entries.say(result);
    }
}

fn share_of(text: &str) -> Result<f64, String> {
    parse_share(text).map_err(|error| error.to_string())
}

/// The percentage that the reach plot asks for.
fn wanted_ui(ui: &mut Ui, view: &mut View, entries: &mut Entries) {
    const MIN: f64 = 0.001;
    const MAX: f64 = 10.0;
    let hint = format!(
        "a percentage from {} to {} such as 10 %",
        100.0 * MIN,
        100.0 * MAX
    );
    let typed = TypedText {
        name: "Wanted uncertainty, percent",
        hint: &hint,
        width: 56.0,
        shown: percent(view.wanted).trim_start_matches('+').to_owned(),
    };
    if let Some(text) = typed_ui(ui, entries, &typed) {
        let result = share_of(&text).and_then(|share| {
            if !(MIN..=MAX).contains(&share) {
                return Err(format!(
                    "Wanted: \"{}\" is out of range; write {hint}",
                    excerpt(&text, MAX_QUOTED)
                ));
            }
            view.wanted = share;
            Ok(())
        });
        entries.say(result);
    }
}
