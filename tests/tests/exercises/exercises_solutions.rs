//! The worked answers: their steps lead to the answer, and the formulas are derived and tried.

use jigwise_bench::{Fixture, Formula, ReferenceImpedance};
use jigwise_exercises::{Task, catalogue};

/// The numbers of a sentence, a true minus read as a sign where a digit follows it.
fn numbers(sentence: &str) -> Vec<f64> {
    let plain = sentence.replace('−', "-");
    plain
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter_map(|word| word.trim_end_matches('.').parse().ok())
        .collect()
}

fn task(key: &str) -> &'static Task {
    catalogue().task(key).unwrap()
}

/// Where the steps end in the number that is asked for, it is the answer, within the three digits
/// in which percentages are shown.
#[test]
fn the_last_step_comes_to_the_answer() {
    for key in [
        "chart-distance",
        "chart-angle",
        "chart-swr",
        "choose-crossover",
        "change-separation",
        "change-display",
        "change-least",
        "accuracy-sensitivity",
        "accuracy-interval",
        "accuracy-circle",
        "accuracy-sum",
        "calibration-share",
        "calibration-plane",
        "planes-length",
        "parts-resonance",
        "values-resonance",
        "strays-corner",
    ] {
        let steps = task(key).solution();
        let [.., last, answer] = &steps[..] else {
            panic!("{key}: {steps:?}");
        };
        let found = *numbers(last).last().unwrap();
        let wanted = numbers(answer)[0];
        assert!(
            (found - wanted).abs() <= 0.004 * wanted.abs(),
            "{key}: {found} and {wanted} in {steps:?}"
        );
    }
}

/// No answer is a rule and nothing else.
#[test]
fn every_answer_has_steps() {
    for task in catalogue().tasks() {
        let steps = task.solution();
        assert!(steps.len() >= 3, "{}: {steps:?}", task.key());
    }
}

/// Every line of a derivation is put to the test with a part of 150 Ω on 50 Ω.
#[test]
fn both_sides_of_every_line_of_a_derivation_are_equal() {
    for (key, fixture, s) in [
        // (Z − Z0)/(Z + Z0), 2Z/(2Z + Z0) and 2Z0/(Z + 2Z0) of 150 Ω on 50 Ω.
        ("reflect-formula", Fixture::Reflect, 0.5),
        ("shunt-formula", Fixture::ShuntThrough, 6.0 / 7.0),
        ("series-formula", Fixture::SeriesThrough, 0.4),
    ] {
        assert_eq!(task(key).fixture(), fixture);
        for step in task(key).solution() {
            let line = step.rsplit(": ").next().unwrap_or(&step);
            let Some((left, right)) = line.trim_end_matches('.').split_once(" = ") else {
                continue;
            };
            let value = |side: &str| {
                let text = side
                    .replace("Begin with ", "")
                    .replace("The answer is ", "");
                let text = text
                    .replace("S11", "S")
                    .replace("S21", "S")
                    .replace('−', "-");
                let text = text.replace('·', "*");
                let text = text.replace("Z0", "50").replace('Z', "150");
                let text = text.replace('S', &format!("{s}"));
                let formula: Formula = text.parse().unwrap_or_else(|error| {
                    panic!("{key}: {text}: {error}");
                });
                formula
                    .evaluate(s.into(), ReferenceImpedance::FIFTY_OHM)
                    .unwrap()
            };
            let (left, right) = (value(left), value(right));
            assert!(
                (left - right).norm() < 1e-12,
                "{key}: {step}: {left} and {right}"
            );
        }
    }
}
