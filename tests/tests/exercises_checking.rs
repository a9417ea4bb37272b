//! The tasks hold what they promise: nothing passes for a blank, the right answer passes,
//! one just outside the tolerance does not, and every slip is told by its name.

use std::collections::HashSet;

use jigwise_bench::{Complex64, Fixture};
use jigwise_exercises::{Answer, Asks, Slip, Task, Verdict, catalogue};

fn typed(task: &Task, value: Complex64) -> String {
    match task.asks() {
        Asks::Impedance => {
            let sign = if value.im < 0.0 { '-' } else { '+' };
            format!("{:e} {sign} j{:e}", value.re, value.im.abs())
        }
        _ => format!("{:e}", value.re),
    }
}

fn verdict(task: &Task, text: &str) -> Verdict {
    task.check(text)
        .unwrap_or_else(|error| panic!("{} {text}: {error}", task.key()))
}

fn value_tasks() -> impl Iterator<Item = (&'static Task, Complex64)> {
    catalogue()
        .tasks()
        .iter()
        .filter_map(|task| match task.right_answer() {
            Some(Answer::Value(right)) => Some((task, right)),
            _ => None,
        })
}

#[test]
fn a_blank_is_never_right() {
    for task in catalogue().tasks() {
        for blank in ["", " ", "?", "0"] {
            let right = task.check(blank).is_ok_and(|verdict| verdict.is_right());
            assert!(!right, "{} takes {blank:?}", task.key());
        }
    }
}

#[test]
fn the_right_answer_passes_and_one_just_outside_does_not() {
    for (task, right) in value_tasks() {
        assert_eq!(
            verdict(task, &typed(task, right)),
            Verdict::Right,
            "{}",
            task.key()
        );
        let distance = task.tolerance().around(right.norm());
        let directions = match task.asks() {
            Asks::Impedance => vec![
                Complex64::ONE,
                -Complex64::ONE,
                Complex64::I,
                -Complex64::I,
                Complex64::from_polar(1.0, 2.0),
            ],
            _ => vec![Complex64::ONE, -Complex64::ONE],
        };
        for direction in directions {
            let inside = typed(task, right + direction * distance * 0.99);
            assert!(verdict(task, &inside).is_right(), "{} {inside}", task.key());
            let outside = typed(task, right + direction * distance * 1.01);
            assert!(
                !verdict(task, &outside).is_right(),
                "{} {outside}",
                task.key()
            );
        }
    }
}

/// What is right follows from the reading, rounded as a display rounds it. It has to lead back
/// to the part that the scenario says was connected, which no formula of the checker knows.
#[test]
fn the_right_answer_is_the_part_that_was_connected() {
    use jigwise_bench::Device;
    for (task, right) in value_tasks() {
        let connected = match (task.asks(), task.scenario().device) {
            (Asks::Impedance, Device::Fixed(z)) => z,
            (Asks::Resistance, Device::Fixed(z)) => z.re.into(),
            (Asks::Capacitance, Device::Capacitor(farad)) => farad.into(),
            (Asks::Inductance, Device::Inductor(henry)) => henry.into(),
            // |Γ| = (s − 1)/(s + 1) with s = 82/50, level 20·log10|Γ|: handbook formula.
            (Asks::Level, Device::Fixed(z)) => {
                let swr = z.re / 50.0;
                (20.0 * ((swr - 1.0) / (swr + 1.0)).log10()).into()
            }
            other => panic!("{}: {other:?}", task.key()),
        };
        assert!(
            task.tolerance().allows(connected, right),
            "{}: {connected} was connected, {right} counts as right",
            task.key()
        );
    }
}

#[test]
fn every_slip_is_recognised_wherever_it_can_be_made() {
    let mut named = HashSet::new();
    for (task, _) in value_tasks() {
        for slip in Slip::ALL {
            let Some(slipped) = task.slipped_value(slip) else {
                continue;
            };
            let verdict = verdict(task, &typed(task, slipped));
            let found = verdict.slip().unwrap_or_else(|| {
                panic!("{}: {slip:?} gives {slipped}, told {verdict}", task.key())
            });
            // Two slips may lead to one number; then the commoner one is named. The coarsest
            // task asks for two digits, of which one unit is up to a tenth.
            let of_found = task.slipped_value(found).unwrap();
            assert!(
                (of_found - slipped).norm() <= 0.1 * slipped.norm(),
                "{}: {slip:?} is told as {found:?}",
                task.key()
            );
            if found == slip {
                named.insert(slip);
            }
        }
    }
    for slip in Slip::ALL {
        assert!(named.contains(&slip), "no task tells {slip:?} by its name");
    }
}

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

#[test]
fn only_the_fixture_that_moves_most_is_right() {
    let task = catalogue().task("series-fixture").unwrap();
    let right: Vec<&str> = ["reflect", "shunt-through", "series-through"]
        .into_iter()
        .filter(|name| verdict(task, name).is_right())
        .collect();
    assert_eq!(right, ["series-through"]);
}

#[test]
fn nothing_that_is_said_gives_the_answer_away() {
    for (task, right) in value_tasks() {
        let mut said = vec![task.prompt().to_owned(), task.form()];
        said.extend(task.hints().iter().cloned());
        for slip in Slip::ALL {
            if let Some(slipped) = task.slipped_value(slip) {
                said.push(verdict(task, &typed(task, slipped)).to_string());
            }
        }
        for part in [right.re, right.im] {
            if part == 0.0 {
                continue;
            }
            let digits = format!("{:.2e}", part.abs());
            let digits = digits.split('e').next().unwrap();
            for text in &said {
                assert!(!text.contains(digits), "{}: {text}", task.key());
            }
        }
    }
}
