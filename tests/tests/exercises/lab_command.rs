//! The command `lab`, run without a process.

use std::process::ExitCode;

use jigwise_exercises::{catalogue, command};

fn lab(arguments: &[&str]) -> (ExitCode, String, String) {
    let mut out = Vec::new();
    let mut err = Vec::new();
    let all = ["lab"].iter().chain(arguments).copied();
    let code = command::run(all, &mut out, &mut err);
    (
        code,
        String::from_utf8(out).unwrap(),
        String::from_utf8(err).unwrap(),
    )
}

#[test]
fn every_task_is_listed_and_shown_with_hints() {
    let (code, list, _) = lab(&["list"]);
    assert_eq!(code, ExitCode::SUCCESS);
    for task in catalogue().tasks() {
        assert!(list.contains(task.key()), "{list}");
        let (code, shown, _) = lab(&["show", task.key()]);
        assert_eq!(code, ExitCode::SUCCESS);
        assert!(shown.contains(task.prompt()), "{shown}");
        for (index, hint) in task.hints().iter().enumerate() {
            let (code, shown, _) = lab(&["hint", task.key(), &(index + 1).to_string()]);
            assert_eq!((code, shown.trim()), (ExitCode::SUCCESS, hint.as_str()));
        }
    }
}

#[test]
fn an_answer_ends_with_nought_one_or_two() {
    for (arguments, code, said) in [
        (["check", "reflect-level", "-12.3 dB"], 0, "Right."),
        (["check", "reflect-level", "−12.3"], 0, "Right."),
        (
            ["check", "reflect-level", "-12 dB"],
            1,
            "3 significant digits",
        ),
        (["check", "reflect-level", "-6.15 dB"], 1, "20 log"),
        (["check", "reflect-level", "-50 dB"], 1, "hint"),
        (["check", "reflect-level", "82 ohm"], 2, "dB"),
        (["check", "reflect-formula", "Z0*(1+S"], 2, "column 4"),
        (["check", "reflect-level", ""], 2, "no number"),
        (
            ["check", "reflekt-level", "1"],
            2,
            "did you mean \"reflect-level\"?",
        ),
        (["hint", "reflect-level", "9"], 2, "2 hints"),
        (["hint", "reflect-level", "0"], 2, "2 hints"),
        (
            ["hint", "reflect-level", "x"],
            2,
            "\"x\" is no count, expected a whole number from 1 to 2",
        ),
    ] {
        let (found, out, err) = lab(&arguments);
        assert_eq!(found, ExitCode::from(code), "{arguments:?}: {out}{err}");
        let text = if code == 2 { err } else { out };
        assert!(text.contains(said), "{arguments:?}: {text}");
    }
}

#[test]
fn bad_usage_says_how_and_help_is_no_error() {
    let (code, _, err) = lab(&["chekc"]);
    assert_eq!(code, ExitCode::from(2));
    assert!(err.contains("check"), "{err}");
    let (code, out, _) = lab(&["--help"]);
    assert_eq!(code, ExitCode::SUCCESS);
    assert!(out.contains("hint"), "{out}");
}

/// Both talks that come along are right; in a wrong one each fault has its file and line.
#[test]
fn a_talk_is_checked_by_file_and_line() {
    let talks = concat!(env!("CARGO_MANIFEST_DIR"), "/../exercises/talks");
    for (name, length) in [("club", "15 min"), ("short", "5 min")] {
        let (code, said, err) = lab(&["talk", "check", &format!("{talks}/{name}.toml")]);
        assert_eq!((code, err.as_str()), (ExitCode::SUCCESS, ""));
        assert!(said.contains(length), "{said}");
    }
    let folder = tempfile::TempDir::new().unwrap();
    let file = folder.path().join("mine.toml");
    let text = "version = 1\ntitle = \"Mine\"\n[[stop]]\ntitle = \"One\"\nsentence = \"First.\"\n\
                [[stop]]\ntitle = \"Two\"\nsentense = \"Second.\"\nscenario = \"open\"\n";
    std::fs::write(&file, text).unwrap();
    let (code, said, err) = lab(&["talk", "check", file.to_str().unwrap()]);
    assert_eq!((code, said.as_str()), (ExitCode::from(2), ""));
    let lines: Vec<&str> = err.lines().collect();
    assert!(
        lines[0].contains("mine.toml, line 3: this stop has no scenario"),
        "{err}"
    );
    assert!(
        lines[1].contains("mine.toml, line 8") && lines[1].contains("\"sentence\""),
        "{err}"
    );
    assert_eq!(lines.len(), 2, "{err}");
}
