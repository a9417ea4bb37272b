//! The measurements in `exercises/measurements` are what `jig sweep` makes of their scenario,
//! byte for byte, and their odd files are what they say of themselves.
//!
//! After a change that is meant to alter them, `JIGWISE_REMAKE=1` writes them again. Sines and
//! exponentials are the platform's own, so other platforms may differ in the last digit.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::LazyLock;

use jigwise_tests::workspace::root;
use jigwise_touchstone::{Sweep, read_file};
use tempfile::TempDir;

fn folder() -> PathBuf {
    root().join("exercises/measurements/choke")
}

/// A file's name in the folder, and what belongs into it.
type Made = (String, String);

fn sweep(fixture: &str, more: &[&str], out: &Path) {
    let scenario = root().join("exercises/scenarios/junk-box-choke.toml");
    let words = ["jig", "sweep", "--fixture", fixture].into_iter();
    let words = words.chain(more.iter().copied()).chain(["--out"]);
    let mut arguments: Vec<_> = words.map(std::ffi::OsString::from).collect();
    arguments.extend([out.into(), scenario.into()]);
    let (mut said, mut wrong) = (Vec::new(), Vec::new());
    let code = jigwise_jig::run(arguments, &mut said, &mut wrong);
    let wrong = String::from_utf8_lossy(&wrong);
    assert_eq!(code, ExitCode::SUCCESS, "{wrong}");
    assert!(wrong.contains("Drawn from seed 41."), "{wrong}");
}

/// Reflect is measured after the same calibration, whose standards are there already; nothing
/// here needs switch terms. The calibration file that is shipped is written for readers.
const NOT_SHIPPED: [&str; 6] = [
    "choke-cal.toml",
    "choke-reflect-cal.toml",
    "choke-reflect-open.s1p",
    "choke-reflect-short.s1p",
    "choke-reflect-load.s1p",
    "choke-switch.s2p",
];

fn made() -> Vec<Made> {
    let place = TempDir::new().unwrap();
    let raw = ["--raw", "--with-standards"];
    sweep("series-through", &raw, &place.path().join("choke.s2p"));
    sweep("reflect", &raw, &place.path().join("choke-reflect.s1p"));
    let mut made: Vec<Made> = fs::read_dir(place.path())
        .unwrap()
        .map(|entry| {
            let entry = entry.unwrap();
            let text = fs::read_to_string(entry.path()).unwrap();
            (entry.file_name().into_string().unwrap(), text)
        })
        .filter(|(name, _)| !NOT_SHIPPED.contains(&name.as_str()))
        .collect();
    let corrected = place.path().join("corrected.s1p");
    sweep("reflect", &[], &corrected);
    let corrected = fs::read_to_string(corrected).unwrap();
    let of = |name: &str| {
        let (_, text) = made.iter().find(|(known, _)| known == name).unwrap();
        text.clone()
    };
    let odd = [
        ("one-direction.s2p", one_direction(&of("choke.s2p"))),
        ("above-one.s1p", above_one(&corrected)),
        ("cut.s2p", cut(&of("choke.s2p"))),
        ("half-load.s1p", half(&of("choke-load.s1p"))),
    ];
    made.extend(odd.map(|(name, text)| (format!("odd/{name}"), text)));
    made.sort();
    made
}

/// Made once, and written where that is asked for.
static MADE: LazyLock<Vec<Made>> = LazyLock::new(|| {
    let made = made();
    if std::env::var_os("JIGWISE_REMAKE").is_some() {
        for (name, text) in &made {
            fs::write(folder().join(name), text).unwrap();
        }
    }
    made
});

fn is_data(line: &str) -> bool {
    line.starts_with(|c: char| c.is_ascii_digit())
}

/// With one more comment, and each line of numbers changed.
fn changed(text: &str, why: &str, change: impl Fn(&str) -> String) -> String {
    let mut out = format!("! {why}\n");
    for line in text.lines() {
        out.push_str(&if is_data(line) {
            change(line)
        } else {
            line.to_owned()
        });
        out.push('\n');
    }
    out
}

fn one_direction(text: &str) -> String {
    let why = "S12 and S22 put to zero, as an analyzer of one direction exports them";
    changed(text, why, |line| {
        let kept: Vec<&str> = line.split_whitespace().take(5).collect();
        format!("{} 0 0 0 0", kept.join(" "))
    })
}

fn above_one(text: &str) -> String {
    let why = "every reading times 1.02, as of an analyzer that drifted since its calibration";
    changed(text, why, |line| {
        let mut words = line.split_whitespace();
        let first = words.next().unwrap();
        let larger = words.map(|word| format!(" {}", 1.02 * word.parse::<f64>().unwrap()));
        format!("{first}{}", larger.collect::<String>())
    })
}

/// As a card pulled out too early leaves a file: it ends inside a line.
fn cut(text: &str) -> String {
    let lines: Vec<&str> = text.lines().collect();
    let last = lines.len() / 2;
    let part: Vec<&str> = lines[last].split_whitespace().take(4).collect();
    format!("{}\n{}", lines[..last].join("\n"), part.join(" "))
}

/// A sweep that was stopped: its second half is missing.
fn half(text: &str) -> String {
    let lines: Vec<&str> = text.lines().collect();
    format!("{}\n", lines[..lines.len() / 2].join("\n"))
}

#[test]
fn they_are_what_their_scenario_makes() {
    for (name, text) in MADE.iter() {
        let shipped = fs::read_to_string(folder().join(name)).unwrap_or_default();
        assert!(
            shipped == *text,
            "{name} is not what the scenario makes now; if that is meant, \
             JIGWISE_REMAKE=1 cargo test -p jigwise-tests --test shipped_measurements"
        );
    }
    let mut shipped = Vec::new();
    for within in ["", "odd/"] {
        for entry in fs::read_dir(folder().join(within)).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            if name.contains(".s") {
                shipped.push(format!("{within}{name}"));
            }
        }
    }
    shipped.sort();
    let names: Vec<&String> = MADE.iter().map(|(name, _)| name).collect();
    assert_eq!(shipped.iter().collect::<Vec<_>>(), names);
}

fn read(name: &str) -> Sweep {
    read_file(folder().join(name)).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn the_odd_files_are_as_odd_as_they_say() {
    LazyLock::force(&MADE);
    assert!(read("odd/one-direction.s2p").is_one_direction());
    assert!(!read("choke.s2p").is_one_direction());
    let above = read("odd/above-one.s1p");
    let beyond = (0..above.len()).filter(|k| above.s(*k, 1, 1).norm() > 1.0);
    assert!((1..above.len()).contains(&beyond.count()));
    assert!(read_file(folder().join("odd/cut.s2p")).is_err());
    assert!(2 * read("odd/half-load.s1p").len() < read("choke-load.s1p").len() + 2);
}

/// None of them was measured, and each says so.
#[test]
fn every_file_says_that_it_is_simulated() {
    for (name, text) in MADE.iter() {
        assert!(text.contains("no instrument made"), "{name}");
        assert!(text.contains("invented"), "{name}");
    }
}
