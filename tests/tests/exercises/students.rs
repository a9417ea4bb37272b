//! A thousand careful students pass, and each careless kind is caught. A student has the folder of
//! a group and nothing else; the answers go through the form and the grading.
//!
//! 926 of 1000: a binomial count with p = 0.95 lies below that with a chance of 4e-4.

use std::collections::BTreeMap;

use jigwise_exercises::grading::{FormFile, Gradebook, grade};
use jigwise_exercises::tray::{Group, Seed, TraySet, lab};
use jigwise_tests::student::{FIXTURES, Folder, claim, ohms, unlabelled};

const STUDENTS: u32 = 1_000;
const PASSED: usize = 926;
/// Any sealed seed would do; it is fixed so that a red run is red again.
const SEED: &str = "5f3a91c07be2d4486a1f0c9d2e7b8354";

/// What a student writes, by question.
type Answers = BTreeMap<String, String>;

fn set(name: &str) -> TraySet {
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
fn graded<const N: usize>(
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

fn all_pass(what: &str, book: &Gradebook) {
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
fn caught(what: &str, book: &Gradebook, questions: &[usize]) {
    let passed = passed(book);
    for at in questions {
        assert!(
            100 * passed[*at] <= STUDENTS as usize,
            "{what}, seed {SEED}: {passed:?} of {STUDENTS} passed"
        );
    }
}

/// The text of an answer with its ± so many times as wide.
fn wider(answer: &str, factor: f64) -> String {
    match answer.split_once('±') {
        None => answer.to_owned(),
        Some((value, share)) => {
            let share: f64 = share.trim().trim_end_matches('%').trim().parse().unwrap();
            format!("{value}± {} %", share * factor)
        }
    }
}

fn is_value(answer: &str) -> bool {
    answer.contains('±')
}

fn all(answers: &Answers, change: impl Fn(&str) -> String) -> Answers {
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

fn named(answers: &[String]) -> Answers {
    let named = (1..).zip(answers);
    named
        .map(|(at, answer)| (format!("q{at}"), answer.clone()))
        .collect()
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
    answers.push("reflect".to_owned());
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

#[test]
fn careful_students_pass_the_junk_box_and_careless_ones_do_not() {
    let set = set("junk-box");
    let letters = ["a", "b", "c", "d", "e", "f"];
    let [careful, sure, shy, one, milli] = graded(&set, |folder, _| {
        let mut answers = Vec::new();
        let mut by_one = Vec::new();
        for letter in letters {
            let part = format!("part-{letter}");
            let (fixture, value) = unlabelled(folder, &part);
            // One fixture for all is the first idea of many.
            let (z, _) = folder.ohms(&part, "reflect");
            by_one.extend(["reflect".to_owned(), claim(z.re, Some(0.05), "ohm")]);
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
    // Reflect is right for one part in six, and near enough for some of the small ones.
    let right: usize = passed(&one).iter().sum();
    assert!(right <= 3 * STUDENTS as usize, "{right}");
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

/// Which fault makes 150 Ω look like this, as the lab's page says how to tell.
fn fault(folder: &Folder) -> &'static str {
    let [reflect, _, series] = FIXTURES.map(|fixture| folder.ohms("check", fixture).0);
    let near = |z: num_complex::Complex64, ohm: f64| (z / ohm - 1.0).norm() < 0.05;
    // A load of 75 Ω taken for 50 Ω makes everything read two thirds (the exact law of imperfect
    // standards, Z′ = Z·Z0/Zload).
    if near(reflect, 150.0) && near(series, 150.0) {
        "a"
    } else if near(reflect, 100.0) && near(series, 100.0) {
        "d"
    } else if (series / reflect - 1.0).norm() > 0.07 {
        "b"
    } else {
        "c"
    }
}

#[test]
fn careful_students_mend_the_calibration() {
    let set = set("broken-calibration");
    let [careful, sure, wrong_way, left_in] = graded(&set, |folder, _| {
        let (known, _) = folder.ohms("known", "reflect");
        let (unknown, _) = folder.ohms("unknown", "reflect");
        let ratio = 100.0 / known.re;
        let share = folder.card("reflect", 100.0, false);
        let (hz, s) = folder.readings("adapter", "reflect")[0];
        let metre = -s.arg() / (2.0 * std::f64::consts::TAU) * 0.66 * 299_792_458.0 / hz;
        let mended = unknown.re * ratio;
        let answers = |load: f64, r: f64| {
            named(&[
                fault(folder).to_owned(),
                claim(load, share, "ohm"),
                claim(r, folder.card("reflect", r, false), "ohm"),
                format!("{:.2} mm", 1e3 * metre),
            ])
        };
        let careful = answers(50.0 * ratio, mended);
        let sure = all(&careful, |text| wider(text, 1.0 / 6.0));
        [
            careful,
            sure,
            answers(50.0 / ratio, unknown.re / ratio),
            answers(50.0, unknown.re),
        ]
    });
    all_pass("careful", &careful);
    caught("six times too sure", &sure, &[1, 2]);
    // A load near 50 Ω makes the slip harmless: those are right by luck.
    for (what, book) in [("the wrong way", &wrong_way), ("left in", &left_in)] {
        let passed = passed(book);
        assert!(passed[1] + passed[2] < 600, "{what}: {passed:?}");
    }
}
