//! Students and the broken calibration.

use std::cell::RefCell;
use std::collections::BTreeSet;

use jigwise_exercises::grading::Gradebook;
use jigwise_tests::student::{FIXTURES, Folder, claim};

use crate::students::{SEED, all, all_pass, caught, graded, named, set, wider};

/// At most one in a hundred of some groups gets full marks in a question. Of fewer than
/// `FEWEST_GROUPS` one in a hundred would say nothing.
fn caught_among(what: &str, book: &Gradebook, question: usize, groups: &BTreeSet<u32>) {
    const FEWEST_GROUPS: usize = 200;
    let rows = book.rows.iter();
    let among = rows.filter(|row| row.group.is_some_and(|group| groups.contains(&group)));
    let passed = among
        .filter(|row| row.marked[question].points == f64::from(row.marked[question].out_of))
        .count();
    assert!(
        groups.len() >= FEWEST_GROUPS && 100 * passed <= groups.len(),
        "{what}, question {question}, seed {SEED}: {passed} of {} passed",
        groups.len()
    );
}

/// Which fault makes 150 Ω look like this, by the steps on the sheet.
fn fault(folder: &Folder) -> &'static str {
    let [reflect, _, series] = FIXTURES.map(|fixture| folder.ohms("check", fixture).0);
    let (_, through) = folder.readings("check", "shunt-through")[0];
    if (through - folder.returned("check") - 1.0).norm() > 0.02 {
        return "b";
    }
    // A load of 75 Ω taken for 50 Ω makes everything read two thirds (the exact law of imperfect
    // standards, Z′ = Z·Z0/Zload).
    let shown = (reflect + series) / 2.0;
    if (shown - 100.0).norm() < 10.0 {
        "d"
    } else if (shown - 150.0).norm() < 10.0 {
        "a"
    } else {
        "c"
    }
}

#[test]
fn careful_students_mend_the_calibration() {
    let set = set("broken-calibration");
    // By question 1 and 2: the groups in which the load is so far from 50 Ω that leaving it in, or
    // taking the ratio the wrong way, shows. A reading with a standard deviation of c/1.96 and a bias
    // of 3c comes within ±c with a chance below 1e-4.
    let harmed = RefCell::new([BTreeSet::new(), BTreeSet::new()]);
    let [careful, sure, wrong_way, left_in] = graded(&set, |folder, group| {
        let (known, _) = folder.ohms("known", "reflect");
        let (unknown, _) = folder.ohms("unknown", "reflect");
        let ratio = 100.0 / known.re;
        let share = folder.card("reflect", 100.0, false);
        let (hz, s) = folder.readings("adapter", "reflect")[0];
        let metre = -s.arg() / (2.0 * std::f64::consts::TAU) * 0.66 * 299_792_458.0 / hz;
        let mended = unknown.re * ratio;
        let load = group.questions()[1].task.knowable().unwrap().right;
        for (harmed, share) in harmed
            .borrow_mut()
            .iter_mut()
            .zip([share, folder.card("reflect", mended, false)])
        {
            if (load / 50.0).ln().abs() > 3.0 * share.unwrap() {
                harmed.insert(group.number);
            }
        }
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
    let [load, unknown] = harmed.into_inner();
    for (what, book) in [("the wrong way", &wrong_way), ("left in", &left_in)] {
        caught_among(what, book, 1, &load);
        caught_among(what, book, 2, &unknown);
    }
}
