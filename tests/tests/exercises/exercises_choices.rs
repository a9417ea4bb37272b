//! Tasks that ask for a fixture, an option or an order are right by a second way.

use jigwise_bench::Complex64;
use jigwise_exercises::{Asks, catalogue};
use jigwise_tests::second_budget;

use crate::exercises_checking::verdict;

#[test]
fn only_the_fixture_that_moves_most_is_right() {
    let task = catalogue().task("series-fixture").unwrap();
    let right: Vec<&str> = ["reflect", "shunt-through", "series-through"]
        .into_iter()
        .filter(|name| verdict(task, name).is_right())
        .collect();
    assert_eq!(right, ["series-through"]);
}

/// Each choice and order once more, by a second budget or by hand.
#[test]
fn choices_and_orders_are_right_by_a_second_way() {
    let f = second_budget::presets();
    let error = |preset: usize, fixture: usize, ohm: Complex64| {
        let z = ohm / 50.0;
        (second_budget::residuals(fixture, z, &f[preset].1)
            + second_budget::noise_and_display(fixture, z, &f[preset].1))
        .sqrt()
    };
    let best = |preset: usize, ohm: f64| {
        let mut order = [0, 1, 2];
        order.sort_by(|a, b| {
            let of = |fixture: usize| error(preset, fixture, ohm.into());
            of(*a).total_cmp(&of(*b))
        });
        order.map(|fixture| ['a', 'b', 'c'][fixture])
    };
    let [first, ..] = best(0, 220.0);
    // Γ by hand: 0.514, 0.412, 0.205, 0.692.
    let expected: Vec<(&str, String)> = vec![
        ("chart-half", "a".into()),
        ("chart-nearest", "c, b, a, d".into()),
        ("choose-value", first.into()),
        ("choose-change", "c".into()),
        ("choose-order", best(1, 2.7).map(String::from).join(", ")),
        ("choose-part", "c".into()),
        ("change-order", "c, a, b".into()),
        ("accuracy-causes", "a, b, c, d".into()),
        ("accuracy-averaging", "c".into()),
        ("calibration-fault", "d".into()),
        ("sweep-kind", "d".into()),
        ("formula-size", "b".into()),
        ("formula-half", "c".into()),
        ("formula-other-words", "a".into()),
        ("formula-reference", "c".into()),
    ];
    for (key, right) in &expected {
        let task = catalogue().task(key).unwrap();
        let told = verdict(task, right);
        assert!(
            told.is_right(),
            "{key} {right}: {told}, {}",
            task.answer_words()
        );
        let letters: Vec<char> = task.options().iter().map(|(letter, _)| *letter).collect();
        if task.asks() == Asks::Choice {
            for other in letters.iter().filter(|letter| !right.contains(**letter)) {
                assert!(
                    !verdict(task, &other.to_string()).is_right(),
                    "{key} {other}"
                );
            }
        } else {
            let back: Vec<&str> = right.rsplit(", ").collect();
            let told = verdict(task, &back.join(" > "));
            assert!(told.to_string().contains("from its other end"), "{told}");
            let mut swapped: Vec<&str> = right.split(", ").collect();
            swapped.swap(0, 1);
            let told = verdict(task, &swapped.concat());
            assert_eq!(
                told.credit(),
                if letters.len() == 2 { 0.0 } else { 0.5 },
                "{told}"
            );
        }
    }
    let with_options = catalogue()
        .tasks()
        .iter()
        .filter(|task| task.asks().has_options());
    assert_eq!(with_options.count(), expected.len());
}
