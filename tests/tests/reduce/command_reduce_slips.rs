//! `jig reduce` with files mixed up: exchanged standards, one file in two places, numbers at the
//! end of their range. Each is said in words, or gives no number at all.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use jigwise_tests::jig::{Outcome, jig, refuses};

/// An invented one-port calibration of a 100 Ω part, with slightly imperfect raw readings.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        let folder = Self(tempfile::tempdir().unwrap());
        // e00 = 0.05, e11 = 0.1, e10e01 = 0.9: raw m = e00 + e10e01·Γ/(1 − e11·Γ).
        for (name, gamma) in [
            ("open.s1p", 1.0),
            ("short.s1p", -1.0),
            ("load.s1p", 0.0),
            ("part.s1p", 1.0 / 3.0),
        ] {
            let raw = 0.05 + 0.9 * gamma / (1.0 - 0.1 * gamma);
            let rows: String = (1..8).map(|k| format!("{k} {raw} 0\n")).collect();
            folder.write(name, &format!("# MHz S RI R 50\n{rows}"));
        }
        folder
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn write(&self, name: &str, text: &str) -> String {
        std::fs::write(self.path(name), text).unwrap();
        path_text(&self.path(name))
    }

    fn reduce(&self, part: &str, more: &[&str]) -> Outcome {
        let part = path_text(&self.path(part));
        let more: Vec<String> = more
            .iter()
            .map(|word| {
                if word.ends_with(".s1p") {
                    path_text(&self.path(word))
                } else {
                    (*word).to_owned()
                }
            })
            .collect();
        let more: Vec<&str> = more.iter().map(String::as_str).collect();
        jig(&[&["reduce", "--fixture", "reflect", &part], more.as_slice()].concat())
    }

    fn corrected(&self, part: &str, open: &str, short: &str, load: &str) -> Outcome {
        self.reduce(part, &["--open", open, "--short", short, "--load", load])
    }
}

fn path_text(path: &Path) -> String {
    path.to_str().unwrap().to_owned()
}

/// A port of positive real power reflects at most what it gets, |e11| ≤ 1 (passivity of the error
/// box). An exchanged load breaks that: by hand, for a port without errors, open for load gives
/// e11 = −3. With the short for the load this part lies on the pole of the correction.
#[test]
fn an_exchanged_load_is_told() {
    let folder = Folder::new();
    let right = folder.corrected("part.s1p", "open.s1p", "short.s1p", "load.s1p");
    assert_eq!(right.code, ExitCode::SUCCESS);
    assert!(right.out.contains("100.00\u{202f}Ω"), "{}", right.out);
    assert!(!right.err.contains("one of open, short"), "{}", right.err);
    for [open, short, load] in [
        ["load.s1p", "short.s1p", "open.s1p"],
        ["open.s1p", "load.s1p", "short.s1p"],
    ] {
        let wrong = folder.corrected("part.s1p", open, short, load);
        assert!(
            wrong
                .err
                .contains("one of open, short and load is not what it was named"),
            "{}",
            wrong.err
        );
    }
}

#[test]
fn one_file_in_two_places_is_told() {
    let folder = Folder::new();
    let found = folder.corrected("open.s1p", "open.s1p", "short.s1p", "load.s1p");
    assert!(
        found.err.contains("given as the open at port 1"),
        "{}",
        found.err
    );
}

#[test]
fn what_reflect_does_not_use_is_refused() {
    let folder = Folder::new();
    let more = [
        "--open",
        "open.s1p",
        "--short",
        "short.s1p",
        "--load",
        "load.s1p",
    ];
    let found = folder.reduce("part.s1p", &[&more[..], &["--thru", "none.s2p"]].concat());
    assert_eq!(found.code, ExitCode::from(2));
    assert!(found.err.contains("--thru does nothing"), "{}", found.err);
}

/// Magnitude one in magnitude and angle is one to the last digit only: nothing is said of it.
#[test]
fn rounding_is_no_power() {
    let folder = Folder::new();
    let rows: String = (1..90).map(|k| format!("{k} 1 -{}\n", 2 * k)).collect();
    folder.write("lossless.s1p", &format!("# MHz S MA R 50\n{rows}"));
    let found = folder.reduce("lossless.s1p", &[]);
    assert_eq!((found.code, found.err.as_str()), (ExitCode::SUCCESS, ""));
}

/// No NaN, no infinity and no number of hundreds of digits in what is said or written.
#[test]
fn extreme_readings_read_as_sentences() {
    let folder = Folder::new();
    for (name, rows) in [
        (
            "huge.s1p",
            "10 1e200 0.1\n20 1e-200 0\n30 -1 0\n40 -1 1e-300\n",
        ),
        ("short.s1p", "10 -1 0\n20 -1 0\n30 -1 0\n40 -1 0\n50 -1 0\n"),
        ("one.s1p", "10 0.5 0.1\n"),
    ] {
        folder.write(name, &format!("# MHz S RI R 50\n{rows}"));
        let place = path_text(&folder.path("report"));
        let more = [
            "--model",
            "auto",
            "--instrument",
            "handheld",
            "--replace",
            "--out",
            &place,
        ];
        let found = folder.reduce(name, &more);
        assert_eq!(found.code, ExitCode::SUCCESS, "{name}: {}", found.err);
        let page = std::fs::read_to_string(folder.path("report").join("report.html")).unwrap();
        for text in [&found.out, &found.err, &page] {
            for word in ["NaN", " inf"] {
                let at = text.find(word);
                let around = at.map(|at| text[..at].chars().rev().take(60).collect::<String>());
                assert!(
                    !text
                        .split(word)
                        .skip(1)
                        .any(|rest| !rest.starts_with(char::is_alphabetic)),
                    "{name}: {word} after (reversed) {around:?}"
                );
            }
            let longest = text
                .split(|c: char| !c.is_ascii_digit())
                .map(str::len)
                .max();
            assert!(longest < Some(25), "{name}: a number of {longest:?} digits");
        }
    }
}

#[test]
fn an_open_has_no_circuit_and_keeps_its_table() {
    let folder = Folder::new();
    folder.write("gap.s1p", "# MHz S RI R 50\n1 1 0\n2 1 0\n3 1 0\n");
    let found = folder.reduce("gap.s1p", &["--model", "auto"]);
    assert_ne!(found.code, ExitCode::SUCCESS);
    assert!(found.out.contains("open"), "{}", found.out);
    assert!(found.err.contains("all read as an open"), "{}", found.err);
}

#[test]
fn numbers_beyond_range_and_files_beyond_text() {
    let folder = Folder::new();
    folder.write("large.s1p", "# MHz S RI R 50\n10 1e400 0.1\n");
    let found = folder.reduce("large.s1p", &[]);
    assert!(
        found.err.contains("larger than any reading"),
        "{}",
        found.err
    );
    folder.write("binary.s1p", "\u{0}\u{1}\u{2}");
    let found = folder.reduce("binary.s1p", &[]);
    assert!(found.err.contains("no Touchstone file"), "{}", found.err);
    assert!(!found.err.contains('\u{1}'), "{:?}", found.err);
}

/// A perfect empty gap (S21 = 0, an exact open) takes nothing away, and so takes no uncertainty
/// away either: what is left of the budget is that of the part, with the crosstalk that both
/// readings share taken off.
#[test]
fn a_perfect_blank_keeps_the_uncertainty() {
    let folder = Folder::new();
    let part = folder.write("part.s2p", "# MHz S RI R 50\n1 .5 0 .5 .01 .5 .01 .5 0\n");
    let u = |blank: Option<&str>| {
        let mut arguments = vec!["reduce", &part, "--fixture", "series-through"];
        arguments.extend(["--instrument", "club-bench"]);
        arguments.extend(blank.iter().flat_map(|blank| ["--blank", blank]));
        let point = &jigwise_tests::jig::json(&arguments)["points"][0];
        ["u_r_ohm", "u_x_ohm"].map(|key| point[key].as_f64().expect("a number"))
    };
    let without = u(None);
    for s in ["0", "1e-300", "1e-7"] {
        let text = format!("# MHz S RI R 50\n1 1 0 {s} 0 {s} 0 1 0\n");
        let blank = folder.write("empty.s2p", &text);
        for (with, without) in u(Some(&blank)).into_iter().zip(without) {
            assert!(
                (with / without - 1.0).abs() < 0.01,
                "{s}: {with}, {without}"
            );
        }
    }
}

/// A calibration of one port leaves S21 raw: true for series-through, no matter for reflect.
#[test]
fn a_calibration_that_leaves_the_reading_raw_is_told() {
    let folder = Folder::new();
    let file = "version = 1\nmethod = \"one port\"\n[open]\nfile = \"open.s1p\"\n[short]\n\
                file = \"short.s1p\"\n[load]\nfile = \"load.s1p\"\n";
    let calibration = folder.write("cal.toml", file);
    let part = folder.write("part.s2p", "# MHz S RI R 50\n1 .5 0 .5 0 .5 0 .5 0\n");
    for (fixture, is_told) in [("series-through", true), ("reflect", false)] {
        let arguments = ["reduce", &part, "--fixture", fixture, "--calibration"];
        let found = jig(&[&arguments[..], &[&calibration]].concat());
        assert_eq!(found.code, ExitCode::SUCCESS, "{}", found.err);
        assert_eq!(found.err.contains("S21 is raw"), is_told, "{}", found.err);
    }
}

#[test]
fn connections_that_are_no_count_are_told_in_our_words() {
    for count in ["1,5", "x", "4294967296"] {
        let arguments = [
            "reduce",
            "part.s1p",
            "--fixture",
            "reflect",
            "--connections",
            count,
        ];
        refuses(
            &arguments,
            &[count, "is no count, expected a whole number from 0"],
        );
    }
}
