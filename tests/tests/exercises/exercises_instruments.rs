//! What an instrument sees, against the error budget written out a second time.

use jigwise_bench::words::fixture_key;
use jigwise_bench::{Complex64, Fixture};
use jigwise_exercises::{Answer, Asks, Task, catalogue};
use jigwise_tests::second_budget;

use crate::exercises_checking::verdict;

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
