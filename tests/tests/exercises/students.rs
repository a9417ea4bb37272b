//! A thousand careful students pass, and each careless kind is caught. A student has the folder of
//! a group and nothing else; the answers go through the form and the grading.
//!
//! 926 of 1000: a binomial count with p = 0.95 lies below that with a chance of 4e-4.

use std::collections::BTreeMap;

use jigwise_exercises::grading::{FormFile, Gradebook, grade};
use jigwise_exercises::tray::{Group, Seed, TraySet, lab};
use jigwise_tests::student::{FIXTURES, Folder, claim, ohms};

const STUDENTS: u32 = 1_000;
const PASSED: usize = 926;
/// Any sealed seed would do; it is fixed so that a red run is red again.
pub(crate) const SEED: &str = "b3d07c4e915a2f68d4e0917bc65a38f2";

/// What a student writes, by question.
pub(crate) type Answers = BTreeMap<String, String>;

pub(crate) fn set(name: &str) -> TraySet {
    let seed: Seed = SEED.parse().unwrap();
    TraySet::new(lab(name).unwrap(), seed, STUDENTS)
}

fn form(set: &TraySet, group: &Group, answers: &Answers) -> FormFile {
    let mut text = format!(
        "version = 1\nlab = \"{}\"\ntray = \"{}\"\ngroup = {}\n[answers]\n",
        set.lab().key(),
        set.code(),
        group.number
    );
    for (question, answer) in answers {
        text.push_str(&format!("{question} = \"{answer}\"\n"));
    }
    FormFile::new(format!("{}.toml", group.number), text.into_bytes())
}

/// The gradebooks of several kinds of student, who have the same trays.
pub(crate) fn graded<const N: usize>(
    set: &TraySet,
    answer: impl Fn(&Folder, &Group) -> [Answers; N],
) -> [Gradebook; N] {
    let mut forms: [Vec<FormFile>; N] = std::array::from_fn(|_| Vec::new());
    for number in 1..=STUDENTS {
        let group = set.group(number).unwrap();
        let folder = Folder::of(set, &group);
        for (forms, answers) in forms.iter_mut().zip(answer(&folder, &group)) {
            forms.push(form(set, &group, &answers));
        }
    }
    forms.map(|forms| grade(set, &forms, None, |_| {}).unwrap())
}

/// How many got full marks in each question.
fn passed(book: &Gradebook) -> Vec<usize> {
    let full = |at: usize| {
        let rows = book.rows.iter();
        rows.filter(|row| row.marked[at].points == f64::from(row.marked[at].out_of))
            .count()
    };
    (0..book.questions.len()).map(full).collect()
}

pub(crate) fn all_pass(what: &str, book: &Gradebook) {
    let passed = passed(book);
    for (at, count) in passed.iter().enumerate() {
        let failed = book.rows.iter().map(|row| &row.marked[at]);
        let failed = failed.filter(|marked| marked.points < f64::from(marked.out_of));
        let few: Vec<String> = failed
            .take(3)
            .map(|marked| format!("{}: {}", marked.answer, marked.said))
            .collect();
        assert!(
            *count >= PASSED,
            "{what}, seed {SEED}: {passed:?} of {STUDENTS} passed; {few:#?}"
        );
    }
}

/// At most one in a hundred of a careless kind gets full marks in the questions given.
pub(crate) fn caught(what: &str, book: &Gradebook, questions: &[usize]) {
    let passed = passed(book);
    for at in questions {
        assert!(
            100 * passed[*at] <= STUDENTS as usize,
            "{what}, seed {SEED}: {passed:?} of {STUDENTS} passed"
        );
    }
}

/// The text of an answer with its ± so many times as wide.
pub(crate) fn wider(answer: &str, factor: f64) -> String {
    match answer.split_once('±') {
        None => answer.to_owned(),
        Some((value, share)) => {
            let share: f64 = share.trim().trim_end_matches('%').trim().parse().unwrap();
            format!("{value}± {} %", share * factor)
        }
    }
}

pub(crate) fn is_value(answer: &str) -> bool {
    answer.contains('±')
}

pub(crate) fn all(answers: &Answers, change: impl Fn(&str) -> String) -> Answers {
    let changed = answers.iter().map(|(name, text)| {
        let text = if is_value(text) {
            change(text)
        } else {
            text.clone()
        };
        (name.clone(), text)
    });
    changed.collect()
}

pub(crate) fn named(answers: &[String]) -> Answers {
    let named = (1..).zip(answers);
    named
        .map(|(at, answer)| (format!("q{at}"), answer.clone()))
        .collect()
}

/// The fixture whose ohms differ least from line to line, as the sheet says.
fn quietest(folder: &Folder) -> &'static str {
    let scatter = |fixture: &&str| scatter(folder, "r", fixture, 1.0);
    let least = FIXTURES
        .into_iter()
        .min_by(|a, b| scatter(a).total_cmp(&scatter(b)));
    least.unwrap()
}

fn three_ways(folder: &Folder) -> Answers {
    let mut answers = Vec::new();
    let mut shares = Vec::new();
    for fixture in FIXTURES {
        let (z, _) = folder.ohms("r", fixture);
        let share = folder.card(fixture, z.re, false);
        answers.push(claim(z.re, share, "ohm"));
        shares.push((fixture, share.unwrap_or(f64::INFINITY)));
    }
    shares.sort_by(|a, b| a.1.total_cmp(&b.1));
    let order: Vec<&str> = shares.iter().map(|(fixture, _)| *fixture).collect();
    answers.push(order.join(", "));
    let (big, _) = folder.ohms("big", "shunt-through");
    answers.push(claim(
        big.re,
        folder.card("shunt-through", big.norm(), false),
        "ohm",
    ));
    answers.push(quietest(folder).to_owned());
    named(&answers)
}

#[test]
fn careful_students_pass_three_ways_and_careless_ones_do_not() {
    let set = set("three-ways");
    let [careful, sure, shy, other, tenth, bare, bold] = graded(&set, |folder, _| {
        let careful = three_ways(folder);
        let sure = all(&careful, |text| wider(text, 1.0 / 6.0));
        let shy = all(&careful, |text| wider(text, 6.0));
        let by = |formula: [&str; 3]| {
            let mut answers = careful.clone();
            for (at, fixture) in FIXTURES.into_iter().enumerate() {
                let readings = folder.readings("r", fixture);
                let z = ohms(formula[at], readings[2].1);
                let share = folder.card(fixture, 100.0, false);
                answers.insert(format!("q{}", at + 1), claim(z.re, share, "ohm"));
            }
            answers
        };
        let other = by(["shunt-through", "series-through", "shunt-through"]);
        let tenth = all(&careful, |text| {
            let (value, rest) = text.split_once(' ').unwrap();
            format!("{:.4e} {rest}", value.parse::<f64>().unwrap() / 10.0)
        });
        let bare = all(&careful, |text| text.split('±').next().unwrap().to_owned());
        let mut bold = careful.clone();
        let (big, _) = folder.ohms("big", "shunt-through");
        bold.insert("q5".to_owned(), claim(big.re, Some(0.05), "ohm"));
        [careful, sure, shy, other, tenth, bare, bold]
    });
    all_pass("careful", &careful);
    caught("six times too sure", &sure, &[0, 1, 2]);
    caught("six times too shy", &shy, &[0, 1, 2]);
    caught("another fixture's formula", &other, &[0, 1, 2]);
    caught("a power of ten", &tenth, &[0, 1, 2]);
    caught("no ±", &bare, &[0, 1, 2]);
    caught("a number where nothing can be told", &bold, &[4]);
    // The slip is named too, and not only caught.
    let slips = other.slips();
    let named: usize = slips
        .iter()
        .filter(|(slip, _)| slip.contains("formula gives"))
        .map(|(_, count)| count)
        .sum();
    assert!(named >= 2 * STUDENTS as usize, "{slips:?}");
}

/// Standard deviation of R over the readings of a file, as a part of the known value.
fn scatter(folder: &Folder, part: &str, fixture: &str, known: f64) -> f64 {
    let readings = folder.readings(part, fixture);
    let r: Vec<f64> = readings.iter().map(|(_, s)| ohms(fixture, *s).re).collect();
    let mean = r.iter().sum::<f64>() / r.len() as f64;
    let sum: f64 = r.iter().map(|r| (r - mean).powi(2)).sum();
    (sum / (r.len() as f64 - 1.0)).sqrt() / known
}

/// A parabola through ln(ratio) over ln(R), by least squares, its zero, and the ± of the zero as a part
/// of it: the steps of the lab's sheet.
fn crossing(folder: &Folder, prefix: &str, other: &str, known: &[f64]) -> (f64, f64) {
    let middle = known[known.len() / 2].ln();
    let points: Vec<(f64, f64)> = known
        .iter()
        .map(|ohm| {
            let part = format!("{prefix}-{ohm}");
            let ratio =
                scatter(folder, &part, "reflect", *ohm) / scatter(folder, &part, other, *ohm);
            (ohm.ln() - middle, ratio.ln())
        })
        .collect();
    let design = nalgebra::DMatrix::from_fn(points.len(), 3, |row, column| {
        points[row].0.powi(column as i32)
    });
    let right = nalgebra::DVector::from_fn(points.len(), |row, _| points[row].1);
    let normal = design.transpose() * &design;
    let curve = normal.lu().solve(&(design.transpose() * right)).unwrap();
    let value = |x: f64| curve[0] + curve[1] * x + curve[2] * x * x;
    let slope = |x: f64| curve[1] + 2.0 * curve[2] * x;
    let mut zero = 0.0;
    for _ in 0..50 {
        zero = (zero - value(zero) / slope(zero)).clamp(-1.5, 1.5);
    }
    let u = 0.7 * (1.0f64 / 40.0).sqrt() / slope(zero).abs();
    ((zero + middle).exp(), 2.0 * u)
}

#[test]
fn careful_students_find_their_crossovers() {
    let set = set("crossover");
    let [careful, sure, shy, book] = graded(&set, |folder, _| {
        let low = crossing(
            folder,
            "low",
            "shunt-through",
            &[6.8, 10.0, 15.0, 22.0, 33.0],
        );
        let high = crossing(
            folder,
            "high",
            "series-through",
            &[68.0, 100.0, 150.0, 220.0, 330.0],
        );
        let answers = named(&[
            claim(low.0, Some(low.1), "ohm"),
            claim(high.0, Some(high.1), "ohm"),
            "shunt".to_owned(),
            "series".to_owned(),
        ]);
        let sure = all(&answers, |text| wider(text, 1.0 / 6.0));
        let shy = all(&answers, |text| wider(text, 6.0));
        let exchanged = named(&[
            claim(high.0, Some(high.1), "ohm"),
            claim(low.0, Some(low.1), "ohm"),
            "series".to_owned(),
            "shunt".to_owned(),
        ]);
        [answers, sure, shy, exchanged]
    });
    all_pass("careful", &careful);
    caught("six times too sure", &sure, &[0, 1]);
    caught("six times too shy", &shy, &[0, 1]);
    caught("exchanged", &book, &[0, 1, 2, 3]);
}
