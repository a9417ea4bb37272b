//! The nudge, the instrument and the calibration: what decides who notices.

use egui::{Button, RichText, Ui};
use jigwise_bench::percent;
use jigwise_bench::{Direction, NamedInstrument, Nudge, Unit, make_nudge, parse_value};

use super::entries::{TypedText, typed_ui};
use super::paint::color;
use super::top::choice;
use crate::Desk;

/// One row of controls.
pub(super) fn nudge_ui(ui: &mut Ui, desk: &mut Desk) {
    ui.horizontal_wrapped(|ui| {
        let faint = color(desk.theme.palette().faint);
        let nudge = desk.scenario().nudge;
        ui.label(RichText::new("Nudge").color(faint));
        amount_ui(ui, desk, nudge);
        for direction in [
            Direction::Magnitude,
            Direction::Resistance,
            Direction::Reactance,
        ] {
            let name = match direction {
                Direction::Magnitude => "of |Z|",
                Direction::Resistance => "in R",
                Direction::Reactance => "in X",
            };
            if choice(ui, name, nudge.direction() == direction) {
                renudge(desk, nudge.amount(), direction, nudge.is_swapped());
            }
        }
        if choice(ui, "part swapped", nudge.is_swapped()) {
            renudge(desk, nudge.amount(), nudge.direction(), !nudge.is_swapped());
        }
        ui.label(RichText::new("Wanted").color(faint));
        wanted_ui(ui, desk);
        ui.add_space(12.0);
        ui.label(RichText::new("Instrument").color(faint));
        for name in NamedInstrument::preset_names() {
            if choice(ui, name, desk.instrument().name == name)
                && let Some(preset) = NamedInstrument::preset(name)
            {
                let taken = desk_result(desk.set_instrument(preset));
                desk.entries.say(taken);
            }
        }
        if choice(ui, "entries", desk.entries_open) {
            desk.entries_open = !desk.entries_open;
        }
        if choice(ui, "fixtures and calibration", desk.fixtures_open) {
            desk.fixtures_open = !desk.fixtures_open;
        }
        ui.add_space(12.0);
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
    });
}

fn desk_result(result: Result<(), jigwise_bench::ScenarioError>) -> Result<(), String> {
    result.map_err(|error| error.to_string())
}

fn amount_ui(ui: &mut Ui, desk: &mut Desk, nudge: Nudge) {
    let typed = TypedText {
        name: "Nudge, percent of |Z|",
        hint: "a percentage of |Z| such as +10 %",
        width: 72.0,
        shown: percent(nudge.amount()),
    };
    if let Some(text) = typed_ui(ui, desk, &typed) {
        let amount = jigwise_bench::parse_share(&text);
        let result = amount.and_then(|amount| {
            let nudge = make_nudge(amount, nudge.direction(), nudge.is_swapped())?;
            desk_result(desk.set_nudge(nudge))
        });
        desk.entries.say(result);
    }
}

/// The percentage that the reach plot asks for.
fn wanted_ui(ui: &mut Ui, desk: &mut Desk) {
    const RANGE: std::ops::RangeInclusive<f64> = 0.001..=10.0;
    let typed = TypedText {
        name: "Wanted uncertainty, percent",
        hint: "a percentage from 0.1 to 1000 such as 10 %",
        width: 56.0,
        shown: percent(desk.wanted).trim_start_matches('+').to_owned(),
    };
    if let Some(text) = typed_ui(ui, desk, &typed) {
        let share = parse_value(&text, Unit::Percent)
            .map(|percent| percent / 100.0)
            .map_err(|error| error.to_string());
        let result = share.and_then(|share| {
            if !RANGE.contains(&share) {
                return Err(format!(
                    "Wanted: \"{text}\" is out of range; write {}",
                    typed.hint
                ));
            }
            desk.wanted = share;
            Ok(())
        });
        desk.entries.say(result);
    }
}

fn renudge(desk: &mut Desk, amount: f64, direction: Direction, swapped: bool) {
    let result =
        make_nudge(amount, direction, swapped).and_then(|nudge| desk_result(desk.set_nudge(nudge)));
    desk.entries.say(result);
}
