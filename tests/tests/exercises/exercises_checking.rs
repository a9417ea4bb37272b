//! The tasks hold what they promise: nothing passes for a blank, the right answer passes,
//! one just outside the tolerance does not, and every slip is told by its name.

use std::collections::HashSet;
use std::f64::consts::TAU;

use jigwise_bench::words::fixture_key;
use jigwise_bench::{Complex64, Device, Fixture, Part};
use jigwise_exercises::{Answer, Asks, Slip, Task, Verdict, catalogue};
use jigwise_tests::second_budget;

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
        if task.asks() == Asks::Averages {
            for beside in [right - 1.0, right + 1.0] {
                assert!(!verdict(task, &typed(task, beside)).is_right());
            }
            continue;
        }
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
    for (task, right) in value_tasks() {
        let device = &task.scenario().device;
        let device = device.fixed_ohm().map_or(device.clone(), Device::Fixed);
        let connected = match (task.asks(), device) {
            (Asks::Impedance, Device::Fixed(z)) => z,
            (Asks::Resistance, Device::Fixed(z)) => z.re.into(),
            (Asks::Capacitance, Device::Part(Part::Capacitor(part))) => part.capacitance_f.into(),
            // |Γ| = (s − 1)/(s + 1) with s = 82/50, level 20·log10|Γ|: handbook formula.
            (Asks::Level, Device::Fixed(z)) => {
                let swr = z.re / 50.0;
                (20.0 * ((swr - 1.0) / (swr + 1.0)).log10()).into()
            }
            // Handbook: L of a coil at low frequency, 1/(2π√(LC)) and, of a crystal,
            // Q = 1/(2π·fs·C1·R1).
            (Asks::Inductance, Device::Part(Part::Inductor(coil))) => coil.inductance_h.into(),
            (Asks::SelfResonance, Device::Part(Part::Capacitor(part))) => {
                (1.0 / (TAU * (part.esl_h * part.capacitance_f).sqrt())).into()
            }
            (Asks::SelfResonance, Device::Part(Part::Inductor(coil))) => {
                (1.0 / (TAU * (coil.inductance_h * coil.parallel_capacitance_f).sqrt())).into()
            }
            // Handbook: a winding with its resistance, and the capacitance across both; the
            // resistance of its skin grows with the root of the frequency.
            (Asks::Impedance, Device::Part(Part::Inductor(coil))) => {
                let hz = task.scenario().freq_hz.unwrap();
                let skin = coil
                    .skin
                    .map_or(0.0, |skin| skin.resistance_ohm * (hz / skin.at_hz).sqrt());
                let winding = Complex64::new(
                    coil.series_resistance_ohm + skin,
                    TAU * hz * coil.inductance_h,
                );
                let across = Complex64::new(0.0, TAU * hz * coil.parallel_capacitance_f);
                (winding.inv() + across).inv()
            }
            (Asks::Quality, Device::Part(Part::Crystal(crystal))) => {
                let omega = TAU * crystal.series_resonance_hz;
                let rc = crystal.motional_resistance_ohm * crystal.motional_capacitance_f;
                (1.0 / (omega * rc)).into()
            }
            (Asks::Length, Device::Open) => task.scenario().fixtures.strays.before.length_m.into(),
            // Held against a second budget below.
            (Asks::Averages | Asks::Change, _) => continue,
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

/// A resistor in Ω, `share` larger, as z = Z/Z0.
fn grown(task: &Task, share: f64) -> [Complex64; 2] {
    let Some(z) = task.scenario().device.fixed_ohm() else {
        panic!("{} is no fixed part", task.key());
    };
    [z / 50.0, z / 50.0 * (1.0 + share)]
}

/// What is right of an instrument, against the error budget written out a second time:
/// 2√2 σ by bisection, the display by its steps, the averages by (2√2/d)².
#[test]
fn what_an_instrument_sees_agrees_with_the_second_budget() {
    let handheld = second_budget::handheld();
    let seen = |task: &Task, fixture: usize, share| {
        second_budget::separation(fixture, grown(task, share), &handheld, false)
    };
    let moves = |task: &Task, fixture: usize, share| {
        second_budget::display_moves(fixture, grown(task, share), &handheld)
    };
    let least = |shows: &dyn Fn(f64) -> bool| {
        let (mut low, mut high) = (1e-6_f64, 1e3_f64);
        for _ in 0..200 {
            let middle = (low * high).sqrt();
            if shows(middle) {
                high = middle
            } else {
                low = middle
            }
        }
        high
    };
    let mut checked = 0;
    for task in catalogue().tasks() {
        let fixture = task.fixture() as usize;
        let nudge = task.scenario().nudge.amount();
        match task.asks() {
            Asks::Averages => {
                let ratio = second_budget::SEEN / seen(task, fixture, nudge);
                let right = task.right_answer();
                assert_eq!(right, Some(Answer::Value(ratio.powi(2).ceil().into())));
                // So that no pocket calculator stops at the whole number beside it.
                assert!((0.1..0.9).contains(&ratio.powi(2).fract()), "{ratio}");
                assert!(moves(task, fixture, nudge));
            }
            Asks::Change => {
                let noise = least(&|t| seen(task, fixture, t) >= second_budget::SEEN);
                let display = least(&|t| moves(task, fixture, t));
                assert!(noise > display);
                let Some(Answer::Value(right)) = task.right_answer() else {
                    panic!("{}", task.key());
                };
                assert!((right.re / (100.0 * noise) - 1.0).abs() < 1e-6, "{right}");
            }
            Asks::Limit => {
                let noise = least(&|t| seen(task, fixture, t) >= second_budget::SEEN);
                let display = least(&|t| moves(task, fixture, t));
                let (right, wrong) = if noise > display {
                    ("noise", "display")
                } else {
                    ("display", "noise")
                };
                assert!(verdict(task, right).is_right());
                let told = verdict(task, wrong).to_string();
                assert!(told.contains("the larger of the two counts"), "{told}");
                // Proportion, which the hint allows, has to lead to the same limit.
                assert!((noise / display).ln().abs() > 0.2);
            }
            Asks::FixtureThatSees => {
                for fixture in Fixture::ALL {
                    let index = fixture as usize;
                    let sees = seen(task, index, nudge) >= second_budget::SEEN
                        && moves(task, index, nudge);
                    let told = verdict(task, fixture_key(fixture));
                    assert_eq!(told.is_right(), sees, "{fixture:?}: {told}");
                }
                // The trap is set: the best for the value is another fixture.
                let told = verdict(task, "reflect").to_string();
                assert!(told.contains("best one here for the value"), "{told}");
            }
            _ => continue,
        }
        checked += 1;
    }
    assert_eq!(checked, 4);
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
