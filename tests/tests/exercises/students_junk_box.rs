//! Students and six unlabelled parts.

use std::cell::RefCell;

use jigwise_exercises::tray::Group;
use jigwise_tests::student::{claim, unlabelled};

use crate::students::{SEED, all, all_pass, graded, is_value, named, set, wider};

#[test]
fn careful_students_pass_the_junk_box_and_careless_ones_do_not() {
    let set = set("junk-box");
    let letters = ["a", "b", "c", "d", "e", "f"];
    // What reflect for all gives by luck, and the variance of that count.
    let luck = RefCell::new((0.0, 0.0));
    let [careful, sure, shy, one, milli] = graded(&set, |folder, group| {
        let mut answers = Vec::new();
        let mut by_one = Vec::new();
        for (at, letter) in letters.into_iter().enumerate() {
            let part = format!("part-{letter}");
            let (fixture, value) = unlabelled(folder, &part);
            // One fixture for all is the first idea of many.
            let (z, _) = folder.ohms(&part, "reflect");
            by_one.extend(["reflect".to_owned(), claim(z.re, Some(0.05), "ohm")]);
            if of_another_fixture(group, at) && is_resistance(group, at) {
                // A value with a 95 % interval of ±w lies within ±5 % of its reading with the
                // chance P(|N(0, w/1.96)| < 5 %). Where the card has a dash w is above a half.
                let w = folder.card("reflect", z.re.abs(), false).unwrap_or(0.5);
                let chance = within_normal(1.96 * 0.05 / w);
                let mut luck = luck.borrow_mut();
                luck.0 += chance;
                luck.1 += chance * (1.0 - chance);
            }
            answers.extend([fixture, value]);
        }
        let careful = named(&answers);
        let sure = all(&careful, |text| wider(text, 1.0 / 6.0));
        let shy = all(&careful, |text| wider(text, 6.0));
        let milli = all(&careful, |text| {
            let (value, share) = text.split_once('±').unwrap();
            let (number, unit) = value.trim().split_once(' ').unwrap();
            let thousand = number.parse::<f64>().unwrap() * 1e3;
            format!("{thousand:.4e} {unit} ±{share}")
        });
        [careful, sure, shy, named(&by_one), milli]
    });
    all_pass("careful", &careful);
    let values: Vec<usize> = (0..6).map(|at| 2 * at + 1).collect();
    // One value in six can't be told, and saying so is right whatever else is done.
    for (what, book) in [
        ("too sure", &sure),
        ("too shy", &shy),
        ("a thousand off", &milli),
    ] {
        let wrong = book.rows.iter().all(|row| {
            values.iter().all(|at| {
                let marked = &row.marked[*at];
                !is_value(&marked.answer) || marked.points < f64::from(marked.out_of)
            })
        });
        assert!(wrong, "{what}");
    }
    // Reflect is the best fixture for one part in six. For the others the fixture is wrong always, and
    // the value is right where it is a resistance that luck puts within ±5 %.
    let (mut lucky, mut unlucky) = (0, 0);
    for row in &one.rows {
        let group = set.group(row.group.unwrap()).unwrap();
        for at in (0..6).filter(|at| of_another_fixture(&group, *at)) {
            let full = |question: usize| {
                let marked = &row.marked[question];
                usize::from(marked.points == f64::from(marked.out_of))
            };
            unlucky += full(2 * at);
            match is_resistance(&group, at) {
                true => lucky += full(2 * at + 1),
                false => unlucky += full(2 * at + 1),
            }
        }
    }
    assert_eq!(unlucky, 0);
    let (expected, variance) = luck.into_inner();
    // The sizes on the card are rounded to two digits, a few percent of the chance; four standard
    // deviations of the count come to it.
    let most = 1.05 * expected + 4.0 * f64::sqrt(variance);
    assert!(
        f64::from(lucky as u32) <= most,
        "reflect for all, seed {SEED}: {lucky} values right by luck, {expected:.0} expected, {most:.0} \
         at most"
    );
}

/// True where reflect is not the best fixture of the part, as the key has it.
fn of_another_fixture(group: &Group, part: usize) -> bool {
    !group.questions()[2 * part]
        .task
        .answer_words()
        .contains("reflect")
}

/// True where the value of the part can be told and is in ohms, as the key has it.
fn is_resistance(group: &Group, part: usize) -> bool {
    group.questions()[2 * part + 1]
        .task
        .answer_words()
        .ends_with('Ω')
}

/// P(|x| < `bound`) of a standard normal x, by the series of its integral (Abramowitz and Stegun,
/// Handbook of Mathematical Functions, 26.2.10).
fn within_normal(bound: f64) -> f64 {
    let mut term = bound;
    let mut sum = bound;
    for n in 1..200 {
        let n = f64::from(n);
        term *= -bound * bound / (2.0 * n);
        sum += term / (2.0 * n + 1.0);
    }
    (2.0 / std::f64::consts::PI).sqrt() * sum
}
