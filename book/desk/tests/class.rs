//! Trays made and forms graded from bytes to bytes, held against the library of the command `lab`.
//! What a browser adds is checked in one, by book/browser/desk.js.

use std::ops::Range;

use jigwise_desk::{Asked, Grading, Made, make};
use jigwise_exercises::archive::{Entry, entries};
use jigwise_exercises::tray::{TrayFile, TraySet, lab, labs};

const SEED: &str = "5f3a91c07be2d4486a1f0c9d2e7b8354";

fn asked<'a>(lab: &'a str, groups: &'a str, seed: &'a str) -> Asked<'a> {
    Asked {
        lab,
        groups,
        seed,
        made_unix: 1_796_040_000,
    }
}

fn made(lab: &str) -> Made {
    make(asked(lab, "3", SEED), |_| {}).unwrap()
}

/// A packed file by RFC 1951 §3.2.4: every block is stored, the last has no bytes.
fn unpacked(zip: &[u8], entry: &Entry) -> Vec<u8> {
    let Range { start, end } = entry.bytes;
    let mut rest = &zip[start..end];
    let mut bytes = Vec::new();
    loop {
        let length = u16::from_le_bytes([rest[1], rest[2]]);
        assert_eq!(!length, u16::from_le_bytes([rest[3], rest[4]]));
        let (block, after) = rest[5..].split_at(usize::from(length));
        bytes.extend(block);
        match rest[0] {
            0 => rest = after,
            1 => {
                assert!(after.is_empty());
                return bytes;
            }
            other => panic!("a block of the kind {other}"),
        }
    }
}

fn files(zip: &[u8]) -> Vec<TrayFile> {
    let file = |entry: &Entry| TrayFile {
        path: entry.path.clone(),
        bytes: unpacked(zip, entry),
    };
    entries(zip).unwrap().iter().map(file).collect()
}

#[test]
fn the_archives_hold_what_the_command_writes_and_the_key_is_in_its_own() {
    for known in labs() {
        let made = made(known.key());
        let set = TraySet::new(lab(known.key()).unwrap(), SEED.parse().unwrap(), 3);
        let of_groups: Vec<TrayFile> = (1..=3)
            .flat_map(|number| set.files_of(&set.group(number).unwrap()).unwrap())
            .collect();
        assert!(files(&made.trays) == of_groups, "{}", known.key());
        assert!(files(&made.teacher) == set.teachers_files().unwrap());
        assert!(made.said.contains(&set.code()) && !made.said.contains("Mind"));
    }
    let short = make(asked("junk-box", "1", "7"), |_| {}).unwrap();
    assert!(short.said.contains("1 tray of") && short.said.contains("this seed is short"));
}

#[test]
fn what_was_typed_wrongly_says_so() {
    for (lab, groups, seed, says) in [
        ("junk-bx", "3", SEED, "did you mean \"junk-box\"?"),
        ("junk-box", "0", SEED, "groups: "),
        ("junk-box", "ten", SEED, "groups: "),
        ("junk-box", "10001", SEED, "10000"),
        ("junk-box", "3", "5f3a", "32 hexadecimal digits"),
        ("junk-box", "3", "", "32 hexadecimal digits"),
    ] {
        let refused = make(asked(lab, groups, seed), |_| {}).unwrap_err();
        assert!(refused.contains(says), "{refused}");
    }
}

#[test]
fn a_class_is_graded_and_no_form_is_lost() {
    let made = made("three-ways");
    let mut grading = Grading::default();
    let refused = |grading: &Grading| grading.grade("", 0, |_| {}).unwrap_err();
    assert!(refused(&grading).contains("Choose the key first"));
    let teacher = files(&made.teacher);
    let said = grading.take_key("key.toml", &teacher[0].bytes).unwrap();
    assert!(said.contains(&made.code), "{said}");
    assert!(refused(&grading).contains("There is no form yet"));

    let forms: Vec<TrayFile> = files(&made.trays)
        .into_iter()
        .filter(|file| file.path.ends_with(".toml"))
        .collect();
    let mut take =
        |path: &str, bytes: &[u8]| grading.take_form(path, bytes.to_vec(), bytes.len() as u64);
    assert!(take("answers.toml", &forms[0].bytes));
    // The same file once more, and another group's under the same name.
    assert!(take("answers.toml", &forms[0].bytes));
    assert!(take("answers.toml", &forms[1].bytes));
    assert!(take("broken.txt", b"version = "));
    assert!(!take("sheet.html", b"") && !take("teacher/key.toml", &teacher[0].bytes));
    assert_eq!(grading.forms(), 3);

    let graded = grading.grade("2026-11-30T12:45", 0, |_| {}).unwrap();
    assert_eq!(
        graded.said,
        "2 graded, 0 late, 0 set aside, 1 broken, 1 missing."
    );
    assert!(
        graded.csv.contains("answers.toml (2),graded"),
        "{}",
        graded.csv
    );
    assert!(
        graded.class.contains("broken.txt, line 1"),
        "{}",
        graded.class
    );
    let names: Vec<String> = files(&graded.pages)
        .into_iter()
        .map(|file| file.path)
        .collect();
    assert_eq!(names, ["class.html", "group-01.html", "group-02.html"]);
    assert!(
        grading
            .grade("noon", 0, |_| {})
            .unwrap_err()
            .contains("2026-11-30T12:45")
    );

    grading.clear_forms();
    assert!(refused(&grading).contains("There is no form yet"));
    // A key that can't be used is not kept for the one before it.
    assert!(
        grading
            .take_key("key.toml", b"\xff\xfe")
            .unwrap_err()
            .contains("UTF-8")
    );
    assert!(refused(&grading).contains("Choose the key first"));
}
