//! The command `lab grade`.

use std::fs;

use jigwise_tests::folder::names_in;
use jigwise_tests::lab::lab as lab_command;

use crate::grading::{SEED, form, right, set};

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
        names_in(&place.path().join("grades-pages")),
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

/// What is no form stops nobody's grading: a pipe that nobody writes into, links to nowhere and
/// round in a circle. And marks never take the place of a folder.
#[test]
#[cfg(unix)]
fn odd_things_among_the_forms_cost_themselves_alone() {
    use std::os::unix::fs::symlink;

    let place = tempfile::tempdir().unwrap();
    let path = |name: &str| place.path().join(name).display().to_string();
    let trays = path("trays");
    let making = [
        "tray",
        "--lab",
        "three-ways",
        "--class",
        "1",
        "--seed",
        SEED,
        "--out",
        &trays,
    ];
    assert!(lab_command(&making).is_good());
    let set = set(1);
    let forms = place.path().join("forms");
    fs::create_dir(&forms).unwrap();
    fs::write(forms.join("one.toml"), form(&set, 1, "", &right(&set, 1))).unwrap();
    fs::create_dir(forms.join("folder.toml")).unwrap();
    symlink(".", forms.join("round")).unwrap();
    symlink("nowhere", forms.join("link.toml")).unwrap();
    let piped = std::process::Command::new("mkfifo")
        .arg(forms.join("pipe.toml"))
        .status();
    assert!(piped.unwrap().success());
    let run = |out: &str, more: &[&str]| {
        let (answers, out) = (path("forms"), path(out));
        let all = ["grade", &trays, "--answers", &answers, "--out", &out];
        lab_command(&[&all, more].concat())
    };
    // The folder of the marks is made, as that of the trays is.
    let graded = run("new/grades.csv", &[]);
    assert!(graded.is_good(), "{}", graded.err);
    let counts = "1 graded, 0 late, 0 set aside, 2 broken, 0 missing";
    assert!(graded.out.contains(counts), "{}", graded.out);
    for said in [
        "pipe.toml: this is no file",
        "link.toml: this file can't be read",
    ] {
        assert!(graded.err.contains(said), "{}", graded.err);
    }
    fs::create_dir(place.path().join("thesis")).unwrap();
    fs::write(place.path().join("thesis/chapter.txt"), "years").unwrap();
    let told = run("thesis", &["--replace"]);
    assert!(
        !told.is_good() && told.err.contains("is a folder"),
        "{}",
        told.err
    );
    assert_eq!(names_in(&place.path().join("thesis")), ["chapter.txt"]);
    // Trays made again throw nothing away that somebody put beside them.
    let again = [&making[..], &["--replace"]].concat();
    assert!(lab_command(&again).is_good());
    fs::create_dir(place.path().join("trays/forms")).unwrap();
    let told = lab_command(&again);
    assert!(
        !told.is_good() && told.err.contains("holds forms too"),
        "{}",
        told.err
    );
}
