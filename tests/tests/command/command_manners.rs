//! What every verb does alike: JSON with one head, exit codes, help, completions, and messages in
//! our words.

use std::process::ExitCode;

use jigwise_tests::jig::{jig, refuses};
use jigwise_tests::workbench::Workbench;
use serde_json::Value;

const COIL: &str = "version = 1\ntitle = \"Coil\"\n[device]\nkind = \"inductor\"\n\
     inductance = \"2.2 uH\"\n[at]\nfrequency = \"7.1 MHz\"\n[sweep]\nfrom = \"1 MHz\"\n\
     to = \"10 MHz\"\npoints = 11\n";

/// A call of each verb, with the code it ends with.
fn calls(bench: &Workbench) -> Vec<(Vec<String>, u8)> {
    let scenario = bench.write("coil.toml", COIL);
    let part = bench.measured(COIL, "reflect", "part", &[]);
    let out = bench.path("written.s1p");
    let words = |line: &str| -> Vec<String> {
        let named = line
            .replace("SCENARIO", &scenario)
            .replace("PART", &part)
            .replace("OUT", &out);
        named
            .split(' ')
            .map(|word| word.replace('~', " "))
            .collect()
    };
    [
        ("read SCENARIO", 0),
        ("plan SCENARIO", 0),
        ("crossovers --relative", 0),
        ("reach --percent 10", 0),
        ("roundtrip --fixture reflect --formula Z0*(1+S)/(1-S)", 0),
        ("roundtrip --fixture reflect --formula Z0*(1-S)/(1+S)", 1),
        (
            "blend --reflect 0.33~+~j0.01 --series-through 0.503~-~j0.006",
            0,
        ),
        (
            "blend --reflect 0.33~+~j0.01 --series-through 0.1~-~j0.006",
            1,
        ),
        ("sweep SCENARIO --fixture reflect --out OUT", 0),
        ("reduce PART --fixture reflect", 0),
    ]
    .into_iter()
    .map(|(line, code)| (words(line), code))
    .collect()
}

#[test]
fn every_verb_writes_json_with_the_same_head() {
    let bench = Workbench::new();
    for (words, code) in calls(&bench) {
        let mut arguments: Vec<&str> = words.iter().map(String::as_str).collect();
        arguments.push("--json");
        let found = jig(&arguments);
        assert_eq!(found.code, ExitCode::from(code), "{words:?}: {}", found.err);
        let json: Value = serde_json::from_str(&found.out).unwrap();
        assert_eq!(json["schema_version"], 1, "{words:?}");
        assert_eq!(json["command"], words[0].as_str());
        assert!(json["warnings"].is_array(), "{words:?}");
        let files = json["files"].as_array().unwrap();
        let named = words
            .iter()
            .any(|word| word.ends_with(".toml") || word.ends_with("part.s1p"));
        assert_eq!(!files.is_empty(), named, "{words:?}: {files:?}");
        for old in [
            "frequency_hz",
            "\"ohm\"",
            "consistency",
            "low_ohm",
            "center_r_ohm",
        ] {
            assert!(!found.out.contains(old), "{words:?}: {old}");
        }
    }
}

/// The answer "wrong" and the answer "contradiction" end with 1, and are answers.
#[test]
fn what_is_wrong_is_an_answer() {
    let bench = Workbench::new();
    for (words, code) in calls(&bench) {
        if words[0] == "sweep" {
            continue;
        }
        let arguments: Vec<&str> = words.iter().map(String::as_str).collect();
        let found = jig(&arguments);
        assert_eq!(found.code, ExitCode::from(code), "{words:?}: {}", found.err);
        assert!(!found.out.is_empty(), "{words:?}");
        if code == 1 {
            assert_eq!(found.err, "", "{words:?}");
        }
    }
}

#[test]
fn version_help_completions_and_manual() {
    let said = |arguments: &[&str]| {
        let found = jig(arguments);
        assert_eq!(
            found.code,
            ExitCode::SUCCESS,
            "{arguments:?}: {}",
            found.err
        );
        found.out
    };
    assert!(said(&["--version"]).starts_with("jig 0."));
    assert_eq!(said(&["help", "reach"]), said(&["reach", "--help"]));
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(
            said(&["completions", shell]).contains("series-through"),
            "{shell}"
        );
    }
    assert!(said(&["manual"]).contains(".TH jig 1"));
    let page = said(&["manual", "reduce"]);
    assert!(
        page.contains(".TH jig-reduce 1") && page.contains("\\-\\-replace"),
        "{page}"
    );
    refuses(&["manual", "redcue"], &["did you mean \"reduce\""]);
    // What counts where nothing is said stands in the help.
    for (verb, words) in [
        ("reach", "handheld where none is named"),
        ("crossovers", "handheld where none is named"),
        ("blend", "handheld where none is named"),
        ("plan", "Handheld where"),
        ("reduce", "0, which counts where nothing is said"),
    ] {
        let help = said(&[verb, "--help"]);
        let help: Vec<&str> = help.split_whitespace().collect();
        assert!(help.join(" ").contains(words), "{verb}");
    }
}

/// No words of a library, nothing a terminal obeys, no megabytes, no advice that can't help.
#[test]
fn messages_are_ours() {
    let bench = Workbench::new();
    let long = COIL.replace("Coil", &"A".repeat(1_000_000));
    let said = refuses(
        &["read", &bench.write("long.toml", long)],
        &["1000000 letters"],
    );
    assert!(said.len() < 400, "{}", said.len());
    let bare = COIL.replace("2.2 uH", "10");
    refuses(
        &["read", &bench.write("bare.toml", bare)],
        &["write 10 uH if that is meant"],
    );
    let sweep = "# MHz S RI R 50\n1 0.5 0.1\n";
    let wide: Vec<u8> = sweep.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let wide = bench.write("wide.s1p", wide);
    refuses(
        &["reduce", &wide, "--fixture", "reflect"],
        &["two bytes a letter"],
    );
    let scenario = bench.write("coil.toml", COIL);
    let own = ["sweep", &scenario, "--fixture", "reflect"];
    for (more, words) in [
        (&["--seed", "-1"][..], "\"-1\" is no count"),
        (&["--seed", "99999999999999999999"], "is no count"),
        (&["--sede", "1"], "--seed"),
    ] {
        let said = refuses(&[&own, more].concat(), &[words]);
        for word in [
            "invalid digit",
            "too large to fit",
            "-- -1",
            "expected i64",
            "recursion",
        ] {
            assert!(!said.contains(word), "{said}");
        }
    }
    for missing in [["read", "none.toml"], ["plan", "none.toml"]] {
        let said = refuses(&missing, &["none.toml"]);
        assert!(!said.contains("os error"), "{said}");
    }
    let said = refuses(
        &["reduce", "none.s1p", "--fixture", "reflect"],
        &["none.s1p"],
    );
    assert!(!said.contains("os error"), "{said}");
    let odd = refuses(&["read", "--device", "4.7k\u{1b}[31m"], &[]);
    assert!(!odd.contains('\u{1b}'), "{odd:?}");
    let odd = refuses(&["read", "--at", "7\u{1b}[31mM", "--device", "1u0H"], &[]);
    assert!(!odd.contains('\u{1b}'), "{odd:?}");
}

/// A reason that all circuits share is told once.
#[test]
fn a_refusal_is_told_once() {
    let bench = Workbench::new();
    let few = bench.write("few.s1p", "# MHz S RI R 50\n1 0.5 0.1\n2 0.4 0.1\n");
    let found = jig(&["reduce", &few, "--fixture", "reflect", "--model", "auto"]);
    assert_eq!(found.out.matches("5 needed").count(), 1, "{}", found.out);
}
