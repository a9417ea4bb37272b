//! Grading: every kind of bad form costs that form only, and its line says why.

use jigwise_exercises::grading::{FormFile, Gradebook, Row, Status, grade};
use jigwise_exercises::tray::{Seed, TraySet, lab};

pub(crate) const SEED: &str = "8e21b7a40c9d5f3316f0a2c4d7e9b158";

pub(crate) fn set(groups: u32) -> TraySet {
    let seed: Seed = SEED.parse().unwrap();
    TraySet::new(lab("three-ways").unwrap(), seed, groups)
}

pub(crate) fn form(set: &TraySet, group: u32, more: &str, answers: &str) -> String {
    format!(
        "version = 1\nlab = \"three-ways\"\ntray = \"{}\"\ngroup = {group}\n{more}[answers]\n{answers}",
        set.code()
    )
}

/// The right answers of a group, as the key has them.
pub(crate) fn right(set: &TraySet, group: u32) -> String {
    let group = set.group(group).unwrap();
    let each = group.questions().iter().map(|question| {
        let words = question.task.answer_words();
        let words = match question.task.asks().has_options() {
            true => words
                .split(", ")
                .filter_map(|word| word.split(" (").next())
                .collect::<String>(),
            false => words,
        };
        format!("{} = \"{words}\"\n", question.name)
    });
    each.collect()
}

pub(crate) fn graded(set: &TraySet, forms: &[(&str, Vec<u8>)]) -> Gradebook {
    let forms: Vec<FormFile> = forms
        .iter()
        .map(|(name, bytes)| FormFile::new(*name, bytes.clone()))
        .collect();
    grade(set, &forms, Some("2026-11-30T12:45"), |_| {}).unwrap()
}

pub(crate) fn row<'a>(book: &'a Gradebook, form: &str) -> &'a Row {
    book.rows.iter().find(|row| row.form == form).unwrap()
}

#[test]
fn the_right_answers_get_all_points() {
    let set = set(3);
    let good = form(&set, 2, "", &right(&set, 2));
    let book = graded(&set, &[("a.toml", good.into_bytes())]);
    let row = row(&book, "a.toml");
    assert_eq!(row.points(), f64::from(book.out_of()), "{row:#?}");
    assert_eq!(book.count(&Status::Missing), 2);
}

/// Each fault with what its row says; the good form between them keeps its marks.
#[test]
fn a_bad_form_costs_that_form_only() {
    let set = set(9);
    let good = form(&set, 1, "names = \"Ada, Grace\"\n", &right(&set, 1));
    let other_seed = TraySet::new(set.lab(), Seed::new([7; 16]), 9);
    let text = |group: u32| form(&set, group, "", &right(&set, group));
    let utf16: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(text(2).encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let mut latin = text(3).into_bytes();
    latin.extend(b"# M\xfcller\n");
    let cases: Vec<(&str, Vec<u8>, Status, &str)> = vec![
        ("good.toml", good.into_bytes(), Status::Graded, ""),
        ("utf16.toml", utf16, Status::Graded, ""),
        (
            "latin.toml",
            latin,
            Status::Broken,
            "latin.toml, line 12: a letter here is not in UTF-8",
        ),
        (
            "other.toml",
            form(&other_seed, 4, "", "").into_bytes(),
            Status::Broken,
            "line 3",
        ),
        (
            "lab.toml",
            text(4).replace("three-ways", "junk-box").into_bytes(),
            Status::Broken,
            "line 2: this form is of the lab \"junk-box\"",
        ),
        (
            "version.toml",
            text(4).replace("version = 1", "version = 9").into_bytes(),
            Status::Broken,
            "line 1",
        ),
        (
            "cut.toml",
            text(4).as_bytes()[..text(4).len() - 20].to_vec(),
            Status::Broken,
            "line ",
        ),
        (
            "large.toml",
            vec![b'#'; 10_000_000],
            Status::Broken,
            "10000 kB",
        ),
        ("empty.toml", Vec::new(), Status::Broken, "version"),
        ("binary.toml", (0..=255).collect(), Status::Broken, "line 2"),
        (
            "group.toml",
            text(4).replace("group = 4", "group = 44").into_bytes(),
            Status::Broken,
            "44",
        ),
        (
            "no-answers.toml",
            form(&set, 5, "", "").into_bytes(),
            Status::Graded,
            "every answer is blank",
        ),
        (
            "more.toml",
            form(&set, 6, "", "q99 = \"1\"\nq1 = \"100 ± 4\"\n").into_bytes(),
            Status::Graded,
            "q99",
        ),
        (
            "late.toml",
            form(
                &set,
                7,
                "handed_in = \"2026-11-30T13:01\"\n",
                &right(&set, 7),
            )
            .into_bytes(),
            Status::Late,
            "due at 2026-11-30T12:45",
        ),
    ];
    let forms: Vec<(&str, Vec<u8>)> = cases
        .iter()
        .map(|(name, bytes, ..)| (*name, bytes.clone()))
        .collect();
    let book = graded(&set, &forms);
    for (name, _, status, says) in &cases {
        let row = row(&book, name);
        assert_eq!(row.status, *status, "{name}: {row:?}");
        let said = row.remarks.join("; ");
        assert!(said.contains(says), "{name}: {said}");
        assert!(
            !said.chars().any(char::is_control) && said.len() < 600,
            "{name}: {said}"
        );
    }
    for full in ["good.toml", "utf16.toml", "late.toml"] {
        assert_eq!(
            row(&book, full).points(),
            f64::from(book.out_of()),
            "{full}"
        );
    }
    // Groups 3, 4, 8 and 9 have no form that could be read.
    let missing: Vec<u32> = book
        .rows
        .iter()
        .filter(|row| row.status == Status::Missing)
        .filter_map(|row| row.group)
        .collect();
    assert_eq!(missing, [3, 4, 8, 9]);
}

#[test]
fn of_two_forms_the_later_counts() {
    let set = set(2);
    let at = |time: &str| format!("handed_in = \"{time}\"\n");
    let early = form(&set, 1, &at("2026-11-30T10:00"), "");
    let late = form(&set, 1, &at("2026-11-30T11:00"), &right(&set, 1));
    let untimed = form(&set, 2, "", &right(&set, 2));
    let book = graded(
        &set,
        &[
            ("z.toml", early.into_bytes()),
            ("a.toml", late.into_bytes()),
            ("d.toml", untimed.clone().into_bytes()),
            ("c.toml", untimed.into_bytes()),
        ],
    );
    assert_eq!(row(&book, "a.toml").status, Status::Graded);
    assert_eq!(row(&book, "z.toml").status, Status::SetAside);
    assert_eq!(row(&book, "c.toml").status, Status::Graded);
    assert_eq!(row(&book, "d.toml").status, Status::SetAside);
    let said = row(&book, "d.toml").remarks.join(" ");
    assert!(said.contains("c.toml counts, the first by name"), "{said}");
}

#[test]
fn answers_are_read_as_people_type_them_and_one_bad_answer_costs_that_one() {
    let set = set(1);
    let r = set.group(1).unwrap().questions()[0]
        .task
        .knowable()
        .unwrap();
    let (value, width) = (r.right, r.possible);
    let answer = |text: &str| {
        let text = form(&set, 1, "", &format!("q1 = \"{text}\"\nq6 = \"reflect\"\n"));
        let book = graded(&set, &[("a.toml", text.into_bytes())]);
        let marked = row(&book, "a.toml").marked.clone();
        assert_eq!(marked[5].points, 1.0, "{:?}", marked[5]);
        marked[0].clone()
    };
    let kilo = value / 1e3;
    let share = 100.0 * width / value;
    for text in [
        format!("{value:.2} ± {width:.2}"),
        format!("{value:.2} Ω +- {share:.2} %"),
        format!("{kilo:.5}k ± {share:.1}%"),
        format!("{kilo:.5} kΩ ± {width:.2} Ω").replace('.', ","),
        format!("({value:.1} ± {width:.1}) ohm"),
    ] {
        let marked = answer(&text);
        assert_eq!(marked.points, 4.0, "{text}: {}", marked.said);
    }
    for (text, points, says) in [
        ("about a hundred".to_owned(), 0.0, "a.toml, line 6"),
        (format!("{value:.2} ± 3 pF"), 0.0, "a.toml, line 6"),
        (format!("{value:.2}"), 2.0, "needs its ±"),
        (format!("{value:.2} ± {:.4}", width / 6.0), 2.0, "too sure"),
        (
            format!("{value:.2} ± {:.2}", width * 6.0),
            2.0,
            "too cautious",
        ),
        (
            format!("{:.2} ± {width:.2}", value + 1.5 * width),
            2.0,
            "outside your interval",
        ),
        (
            format!("{:.4} ± {:.4}", value / 1e3, width / 1e3),
            1.0,
            "a thousand times too small",
        ),
        (
            "can't be told".to_owned(),
            0.0,
            "these readings tell the value",
        ),
    ] {
        let marked = answer(&text);
        assert_eq!(marked.points, points, "{text}: {}", marked.said);
        assert!(marked.said.contains(says), "{text}: {}", marked.said);
    }
}
