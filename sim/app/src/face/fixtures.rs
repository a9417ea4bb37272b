//! The fixtures' strays and how the analyzer was calibrated.

use egui::{RichText, Ui};
use jigwise_bench::quotes::load_ohm;
use jigwise_bench::{
    CalibrationPlan, CalibrationStep, METHODS, Scenario, Standard, StrayEntry, Unit, above_zero,
    engineering,
};

use super::choice::{choice, choice_named, row_of_words};
use super::entries::{Entries, TypedText, fields_ui, typed_ui};
use super::paint::color;
use crate::{Desk, Theme};

/// How the analyzer was calibrated.
pub(super) fn calibration_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries, theme: Theme) {
    method_ui(ui, desk, entries);
    if let Some(plan) = desk.scenario().calibration.clone() {
        plan_ui(ui, desk, entries, theme, &plan);
    }
}

/// The strays.
pub(super) fn strays_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    let removed = desk.scenario().fixtures.removed;
    if choice(ui, "known and taken out", removed) {
        change(desk, entries, |scenario| {
            scenario.fixtures.removed = !removed;
            Ok(())
        });
    }
    fields_ui(ui, |ui| {
        for entry in StrayEntry::ALL {
            let typed = TypedText {
                name: entry.name,
                hint: entry.hint,
                width: 72.0,
                shown: entry.shown(&desk.scenario().fixtures.strays),
            };
            if let Some(text) = typed_ui(ui, entries, &typed) {
                change(desk, entries, |scenario| {
                    entry.change(&mut scenario.fixtures.strays, &text)
                });
            }
        }
    });
}

fn method_ui(ui: &mut Ui, desk: &mut Desk, entries: &mut Entries) {
    let method_now = desk.scenario().calibration.as_ref().map(|plan| plan.method);
    row_of_words(ui, |ui| {
        if choice_named(ui, "well", "calibrated well", method_now.is_none()) {
            change(desk, entries, |scenario| {
                scenario.calibration = None;
                Ok(())
            });
        }
        for (name, method) in METHODS {
            let chosen = method_now == Some(method);
            let spoken = format!("calibrated: {name}");
            if choice_named(ui, name, &spoken, chosen) {
                change(desk, entries, |scenario| {
                    let usual = CalibrationPlan::new(method, scenario.reference);
                    let plan = scenario.calibration.take().unwrap_or(usual);
                    scenario.calibration = Some(CalibrationPlan { method, ..plan });
                    Ok(())
                });
            }
        }
    });
}

fn plan_ui(
    ui: &mut Ui,
    desk: &mut Desk,
    entries: &mut Entries,
    theme: Theme,
    plan: &CalibrationPlan,
) {
    let faint = color(theme.palette().faint);
    row_of_words(ui, |ui| {
        ui.label(RichText::new("Left out").color(faint));
        for step in CalibrationStep::ALL {
            let (name, left_out) = (step.name(), plan.skipped.has(step));
            let spoken = format!("the {name} left out");
            if choice_named(ui, name, &spoken, left_out) {
                change_plan(desk, entries, |plan| {
                    *plan.skipped.has_mut(step) = !left_out;
                    Ok(())
                });
            }
        }
        let typed = TypedText {
            name: "The load is",
            hint: "its resistance, such as 51 Ω",
            width: 72.0,
            shown: load_ohm(plan).map_or_else(String::new, |ohm| engineering(ohm, "Ω", 4)),
        };
        if let Some(text) = typed_ui(ui, entries, &typed) {
            change_plan(desk, entries, |plan| set_load(plan, &text));
        }
        let ideal = plan.taken_for_ideal.load;
        if choice_named(ui, "taken for ideal", "the load is taken for ideal", ideal) {
            change_plan(desk, entries, |plan| {
                plan.taken_for_ideal.load = !ideal;
                Ok(())
            });
        }
    });
}

fn set_load(plan: &mut CalibrationPlan, text: &str) -> Result<(), String> {
    let ohm = above_zero(text, Unit::Ohm).map_err(|error| format!("The load is: {error}"))?;
    plan.standards.reflections.load = Standard::load(ohm);
    // A load that is known can do no harm: whoever types another one wants to see it taken for
    // what it is not.
    plan.taken_for_ideal.load = true;
    Ok(())
}

fn change_plan(
    desk: &mut Desk,
    entries: &mut Entries,
    edit: impl FnOnce(&mut CalibrationPlan) -> Result<(), String>,
) {
    change(desk, entries, |scenario| match &mut scenario.calibration {
        Some(plan) => edit(plan),
        None => Ok(()),
    });
}

/// Edits the scenario; what can't be computed leaves it as it was and says why.
fn change(
    desk: &mut Desk,
    entries: &mut Entries,
    edit: impl FnOnce(&mut Scenario) -> Result<(), String>,
) {
    let mut scenario = desk.scenario().clone();
    let result = edit(&mut scenario).and_then(|()| {
        desk.set_scenario(scenario)
            .map_err(|error| error.to_string())
    });
    entries.say(result);
}
