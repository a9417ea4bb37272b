//! The part, the nudge and the copy to compare with.

use egui::{Rect, RichText, Ui};
use jigwise_bench::{
    Direction, DraftDevice, MAX_QUOTED, Nudge, ScenarioError, excerpt, make_nudge, parse_share,
    percent, without_zeros,
};

use super::choice::{choice, command, row_of_words};
use super::entries::{
    Entries, Entry, TypedText, chosen_ui, entry_ui, field_ui, fields_ui, typed_ui, typed_ui_spoken,
};
use crate::{Desk, View};

/// The page of the part in the bench's drawer.
pub(super) fn part_ui(ui: &mut Ui, desk: &mut Desk, view: &mut View, entries: &mut Entries) {
    fields_ui(ui, |ui| {
        device_ui(ui, desk, entries);
        for entry in Entry::IN_DRAWER {
            entry_ui(ui, desk, entries, entry);
        }
        wanted_ui(ui, view, entries);
        connections_ui(ui, desk, entries);
    });
    copies_ui(ui, desk);
}

/// The device by its kind and the values of that kind.
fn device_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    let draft = entries.draft(&desk.scenario().device);
    let mut changed = None;
    if let Some(kind) = chosen_ui(ui, "Kind", draft.kind(), DraftDevice::kinds()) {
        let mut draft = draft.clone();
        draft.set_kind(kind);
        changed = Some(draft);
    }
    for key in draft.keys() {
        let is_needed = draft.needs(key);
        let name = key.replace('_', " ");
        let typed = TypedText {
            name: &name,
            hint: if is_needed {
                "needed; a number with its unit"
            } else {
                "a number with its unit, or nothing"
            },
            width: 0.0,
            shown: draft.shown(key),
        };
        if let Some(text) = typed_ui_spoken(ui, entries, &typed, &format!("Value: {name}")) {
            let mut draft = draft.clone();
            draft.set(key, &text);
            changed = Some(draft);
        }
    }
    if let Some(draft) = changed {
        let result = draft.device().and_then(|device| {
            let mut scenario = desk.scenario().clone();
            scenario.device = device;
            desk.set_scenario(scenario)
        });
        // What is only not complete stays in the fields; what is wrong leaves them as they were.
        if result.as_ref().is_err_and(|error| error.is_incomplete()) {
            entries.keep_draft(desk.scenario().device.clone(), draft);
        }
        entries.say(told(result));
    }
}

/// The direction of the nudge, and whether the part is taken out for it.
pub(super) fn direction_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    let nudge = desk.scenario().nudge;
    let mut renudge = |direction, swapped| {
        let result = make_nudge(nudge.amount(), direction, swapped)
            .and_then(|nudge| told(desk.set_nudge(nudge)));
        entries.say(result);
    };
    row_of_words(ui, |ui| {
        ui.label(RichText::new("Nudge").weak());
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
    });
}

fn copies_ui(ui: &mut Ui, desk: &mut Desk) {
    row_of_words(ui, |ui| {
        if command(ui, "Keep a copy", "Keep a copy") {
            desk.keep_copy();
        }
        let kept = desk.kept().map(|kept| kept.device.to_string());
        let name = kept.map(|kept| format!("Swap with kept {kept}"));
        if name.is_some_and(|name| command(ui, &name, &name)) {
            desk.swap_kept();
        }
    });
}

pub(super) fn told(result: Result<(), ScenarioError>) -> Result<(), String> {
    result.map_err(|error| error.to_string())
}

/// The size of the nudge in a place of its own.
pub(super) fn amount_in(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries, rect: Rect) {
    let nudge = desk.scenario().nudge;
    let typed = TypedText {
        name: "Nudge, percent of |Z|",
        hint: "a percentage of |Z| such as +10 %",
        width: 0.0,
        shown: shown_percent(nudge),
    };
    if let Some(text) = field_ui(ui, entries, &typed, typed.name, rect) {
        let result = share_of(&text).and_then(|amount| {
            let nudge = make_nudge(amount, nudge.direction(), nudge.is_swapped())?;
            told(desk.set_nudge(nudge))
        });
        entries.say(result);
    }
}

/// The nudge as its field shows it: "+10 %".
fn shown_percent(nudge: Nudge) -> String {
    let text = percent(nudge.amount());
    let (sign, size) = text.split_at(text.char_indices().nth(1).map_or(0, |(at, _)| at));
    format!("{sign}{}", without_zeros(size))
}

fn share_of(text: &str) -> Result<f64, String> {
    parse_share(text).map_err(|error| error.to_string())
}

/// The percentage that reach asks for.
fn wanted_ui(ui: &mut Ui, view: &mut View, entries: &mut Entries) {
    const MIN: f64 = 0.001;
    const MAX: f64 = 10.0;
    let hint = format!(
        "a percentage from {} to {} such as 10 %",
        100.0 * MIN,
        100.0 * MAX
    );
    let typed = TypedText {
        name: "Good is, percent",
        hint: &hint,
        width: 0.0,
        shown: percent(view.wanted).trim_start_matches('+').to_owned(),
    };
    if let Some(text) = typed_ui(ui, entries, &typed) {
        let result = share_of(&text).and_then(|share| {
            if !(MIN..=MAX).contains(&share) {
                return Err(format!(
                    "Good is: \"{}\" is out of range; write {hint}",
                    excerpt(&text, MAX_QUOTED)
                ));
            }
            view.wanted = share;
            Ok(())
        });
        entries.say(result);
    }
}

/// How often the part was connected after the calibration.
fn connections_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    const MOST: u64 = 1_000;
    let typed = TypedText {
        name: "Connected, times",
        hint: "how often since the calibration, from 0 to 1000; 0 for soldered and left",
        width: 0.0,
        shown: desk.scenario().connections.to_string(),
    };
    if let Some(text) = typed_ui(ui, entries, &typed) {
        let result = jigwise_bench::parse_count(&text, 0, MOST)
            .map_err(|error| format!("Connected: {error}"))
            .and_then(|count| {
                let mut scenario = desk.scenario().clone();
                scenario.connections = u32::try_from(count).unwrap_or(u32::MAX);
                told(desk.set_scenario(scenario))
            });
        entries.say(result);
    }
}
