//! Formulas, values with their ±, and the files of tasks, against the textbook.

use std::f64::consts::TAU;

use jigwise_bench::Fixture;
use jigwise_exercises::{Asks, Slip, Verdict, catalogue};

use crate::exercises_checking::verdict;

/// D. M. Pozar, Microwave Engineering, 4th ed., on the S-parameters of a series and of a shunt
/// impedance and on the terminated line, solved for Z.
const TEXTBOOK: [(&str, Fixture, &str); 2] = [
    ("reflect-formula", Fixture::Reflect, "Z0*(1+S)/(1-S)"),
    ("shunt-formula", Fixture::ShuntThrough, "Z0*S/(2*(1-S))"),
];

#[test]
fn the_textbook_formula_passes_and_its_slips_are_named() {
    for (key, fixture, formula) in TEXTBOOK {
        let task = catalogue().task(key).unwrap();
        assert_eq!(task.fixture(), fixture);
        assert_eq!(verdict(task, formula), Verdict::Right);
        for (wrong, slip) in [
            (formula.replace("Z0*", ""), Slip::Normalised),
            (formula.replace('S', "conj(S)"), Slip::ReactanceSign),
            (
                "2*Z0*(1-S)/S".to_owned(),
                Slip::OtherFixture(Fixture::SeriesThrough),
            ),
        ] {
            assert_eq!(verdict(task, &wrong).slip(), Some(slip), "{key} {wrong}");
        }
        // A thousandth off is off.
        assert!(!verdict(task, &format!("1.001*{formula}")).is_right());
    }
}

/// A value with its ± is right by what the question says, and each way to be wrong has its sentence.
#[test]
fn claims_pass_fail_and_say_why() {
    for (key, unit, told) in [
        ("accuracy-claim", "ohm", true),
        ("sweep-capacitor", "F", true),
        ("sweep-coil", "H", true),
        ("accuracy-none", "ohm", false),
    ] {
        let task = catalogue().task(key).unwrap();
        let knowable = task.knowable().unwrap();
        assert_eq!(knowable.can_be_told(), told, "{key}");
        let claim = |value: f64, width: f64| {
            verdict(task, &format!("{value:e} {unit} ± {:e} {unit}", width))
        };
        let (right, possible) = (knowable.right, knowable.possible);
        let none = verdict(task, "can't be told");
        assert_eq!(none.is_right(), !told, "{key}: {none}");
        if !told {
            assert!(!claim(right, 0.1 * right).is_right(), "{key}");
            continue;
        }
        assert!(claim(right, possible).is_right(), "{key}");
        assert!(claim(right + 0.99 * possible, possible).is_right(), "{key}");
        for (value, width, says) in [
            (right + 1.01 * possible, possible, "outside your interval"),
            (right, 0.69 * possible, "too sure"),
            (right, 3.01 * possible, "too cautious"),
        ] {
            let told = claim(value, width).to_string();
            assert!(told.contains(says), "{key}: {told}");
        }
        for edge in [0.701, 2.999] {
            assert!(claim(right, edge * possible).is_right(), "{key} {edge}");
        }
        assert!(
            verdict(task, &format!("{right:e}"))
                .to_string()
                .contains("needs its ±")
        );
        for slip in Slip::ALL {
            // A value of nothing has no ±.
            if let Some(slipped) = task.slipped_value(slip).filter(|slipped| slipped.re != 0.0) {
                let told = claim(slipped.re, possible * (slipped.re / right).abs());
                assert!(told.slip().is_some(), "{key} {slip:?}: {told}");
            }
        }
    }
}

/// What a data task hands out leads to its answer by the textbook's formula, and tells nothing else.
#[test]
fn the_files_of_tasks_lead_to_their_answers() {
    let mut files = 0;
    for task in catalogue().tasks() {
        let Some(data) = task.data().unwrap() else {
            continue;
        };
        files += 1;
        let sweep = jigwise_tests::touchstone::read(&data.name, &data.text);
        let hz = task.scenario().freq_hz.unwrap();
        let at = sweep
            .frequency_hz()
            .iter()
            .position(|known| (known / hz - 1.0).abs() < 1e-4);
        let s = sweep.s(at.unwrap(), 2, 1);
        let z = match task.fixture() {
            Fixture::ShuntThrough => 25.0 * s / (1.0 - s),
            _ => 100.0 * (1.0 - s) / s,
        };
        let Some(knowable) = task.knowable() else {
            continue;
        };
        let value = match task.asks() {
            Asks::CapacitanceClaim => -1.0 / (TAU * hz * z.im),
            _ => z.im / (TAU * hz),
        };
        let off = (value - knowable.right).abs();
        assert!(off <= knowable.possible, "{}: {value}", task.key());
        assert_eq!(sweep.comments().len(), 1, "{:?}", sweep.comments());
        assert!(sweep.len() <= 25);
    }
    assert_eq!(files, 3);
}
