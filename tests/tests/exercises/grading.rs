//! Grading: every kind of bad form costs that form only, and its line says why.

use std::fs;
use std::path::Path;

use jigwise_exercises::grading::{FormFile, Gradebook, Row, Status, grade};
use jigwise_exercises::tray::{Seed, TraySet, lab};
use jigwise_tests::lab::lab as lab_command;

const SEED: &str = "8e21b7a40c9d5f3316f0a2c4d7e9b158";

fn set(groups: u32) -> TraySet {
    let seed: Seed = SEED.parse().unwrap();
    TraySet::new(lab("three-ways").unwrap(), seed, groups)
}

fn form(set: &TraySet, group: u32, more: &str, answers: &str) -> String {
    format!(
        "version = 1\nlab = \"three-ways\"\ntray = \"{}\"\ngroup = {group}\n{more}[answers]\n{answers}",
        set.code()
    )
}

/// The right answers of a group, as the key has them.
fn right(set: &TraySet, group: u32) -> String {
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

fn graded(set: &TraySet, forms: &[(&str, Vec<u8>)]) -> Gradebook {
    let forms: Vec<FormFile> = forms
        .iter()
        .map(|(name, bytes)| FormFile::new(*name, bytes.clone()))
        .collect();
    grade(set, &forms, Some("2026-11-30T12:45"), |_| {}).unwrap()
}

fn row<'a>(book: &'a Gradebook, form: &str) -> &'a Row {
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

/// OWASP, "CSV Injection": cells that begin with = + - @, tab or carriage return are worked out by
/// spreadsheets.
#[test]
fn no_cell_is_worked_out_by_a_spreadsheet() {
    let set = set(4);
    let names = [
        "=1+1",
        "+cmd",
        "-2",
        "@SUM(A1)",
        "\\t=1",
        "  =HYPERLINK(1)",
        "＝1",
        "a \\\"b\\\", c",
    ];
    let forms: Vec<(String, Vec<u8>)> = names
        .iter()
        .enumerate()
        .map(|(at, name)| {
            let group = at as u32 % 4 + 1;
            let text = form(&set, group, &format!("names = \"{name}\"\n"), "");
            (format!("={at}.toml"), text.into_bytes())
        })
        .collect();
    let forms: Vec<(&str, Vec<u8>)> = forms.iter().map(|(n, b)| (&**n, b.clone())).collect();
    let csv = graded(&set, &forms).csv();
    let text = csv.strip_prefix('\u{feff}').unwrap();
    let mut lines = csv_lines(text);
    let head = lines.remove(0);
    assert_eq!(lines.len(), names.len());
    for line in &lines {
        assert_eq!(line.len(), head.len(), "{line:?}");
        for cell in line {
            let first = cell.trim_start_matches(' ').chars().next();
            assert!(
                !first.is_some_and(|c| "=+-@\t\r＝＋".contains(c)),
                "{cell:?}"
            );
        }
    }
    assert!(
        lines.iter().any(|line| line[1] == "a \"b\", c"),
        "{lines:?}"
    );
}

/// Lines and cells by RFC 4180.
fn csv_lines(text: &str) -> Vec<Vec<String>> {
    let mut lines = vec![vec![String::new()]];
    let mut quoted = false;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let line = lines.last_mut().unwrap();
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => {
                chars.next();
                line.last_mut().unwrap().push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => line.push(String::new()),
            '\n' if !quoted => lines.push(vec![String::new()]),
            '\r' if !quoted => {}
            c => line.last_mut().unwrap().push(c),
        }
    }
    lines.retain(|line| line.len() > 1);
    lines
}

#[test]
fn the_pages_name_the_slips_and_hold_no_right_answer() {
    let set = set(3);
    let r = |group: u32| {
        set.group(group).unwrap().questions()[0]
            .task
            .knowable()
            .unwrap()
            .right
    };
    let shunt = |group: u32| {
        let z = r(group) / 50.0;
        let s = (z - 1.0) / (z + 1.0);
        25.0 * s / (1.0 - s)
    };
    let forms: Vec<(String, Vec<u8>)> = (1..=3)
        .map(|group| {
            let answer = format!("q1 = \"{:.3} ± 5 %\"\nq2 = \"<b>bold</b>\"\n", shunt(group));
            (
                format!("{group}.toml"),
                form(&set, group, "", &answer).into_bytes(),
            )
        })
        .collect();
    let forms: Vec<(&str, Vec<u8>)> = forms.iter().map(|(n, b)| (&**n, b.clone())).collect();
    let book = graded(&set, &forms);
    let (slip, count) = &book.slips()[0];
    assert!(slip.contains("shunt-through formula"), "{slip}");
    assert_eq!(*count, 3);
    let pages = book.pages();
    assert_eq!(pages.len(), 4);
    assert!(
        pages[0]
            .html
            .contains("3 times: this is what the shunt-through formula gives")
    );
    for (group, page) in (1..).zip(&pages[1..]) {
        assert!(page.html.contains("&lt;b&gt;bold"), "{}", page.html);
        assert!(
            !page.html.contains(&format!("{:.1}", r(group))),
            "{}",
            page.name
        );
    }
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn the_command_grades_a_folder_and_a_half_copied_one() {
    let place = tempfile::tempdir().unwrap();
    let path = |name: &str| place.path().join(name).display().to_string();
    let trays = path("trays");
    let arguments = [
        "tray",
        "--lab",
        "three-ways",
        "--class",
        "2",
        "--out",
        &trays,
        "--seed",
        SEED,
    ];
    assert!(lab_command(&arguments).is_good());
    let set = set(2);
    fs::create_dir_all(place.path().join("forms/deep")).unwrap();
    fs::write(
        place.path().join("forms/deep/one.toml"),
        form(&set, 1, "", &right(&set, 1)),
    )
    .unwrap();
    fs::write(place.path().join("forms/two.txt"), "version = 1\ngroup = [").unwrap();
    fs::write(place.path().join("forms/notes.pdf"), "x").unwrap();
    // Grading needs the key and nothing else of the trays.
    fs::remove_dir_all(place.path().join("trays/group-02")).unwrap();
    let run = |more: &[&str]| {
        let (answers, out) = (path("forms"), path("grades.csv"));
        let all = ["grade", &trays, "--answers", &answers, "--out", &out];
        lab_command(&[&all, more].concat())
    };
    let graded = run(&[]);
    assert!(graded.is_good(), "{}", graded.err);
    assert!(
        graded
            .out
            .contains("1 graded, 0 late, 0 set aside, 1 broken, 1 missing"),
        "{}",
        graded.out
    );
    assert!(graded.err.contains("two.txt, line 2"), "{}", graded.err);
    let csv = fs::read_to_string(place.path().join("grades.csv")).unwrap();
    assert!(csv.contains("deep/one.toml,graded"), "{csv}");
    assert_eq!(
        files(&place.path().join("grades-pages")),
        ["class.html", "group-01.html"]
    );
    assert!(run(&[]).err.contains("--replace"));
    assert!(run(&["--replace"]).is_good());
    assert!(
        run(&["--replace", "--due", "noon"])
            .err
            .contains("2026-11-30T12:45")
    );
    // A key that was changed, and one that is not there.
    let key = place.path().join("trays/teacher/key.toml");
    let text = fs::read_to_string(&key).unwrap();
    for (from, to, says) in [
        (
            "seed = \"8e",
            "seed = \"9e",
            "grade with the version that made the trays",
        ),
        ("edition = 1", "edition = 2", "edition 2"),
        ("q1 ", "q1 1", "the key was changed"),
        ("groups = 2", "groups = \"x\"", "line 8"),
        ("three-ways", "four-ways", "is no lab"),
    ] {
        fs::write(&key, text.replacen(from, to, 1)).unwrap();
        let told = run(&["--replace"]);
        assert!(
            !told.is_good() && told.err.contains(says),
            "{from}: {}",
            told.err
        );
    }
    fs::remove_file(&key).unwrap();
    let told = run(&["--replace"]);
    assert!(
        told.err.contains("copy the folder teacher too"),
        "{}",
        told.err
    );
    let csv_after = fs::read_to_string(place.path().join("grades.csv")).unwrap();
    assert_eq!(csv, csv_after);
}
