//! The commands that the README and the developers' page print: those of the text command are
//! run, the others are held against the aliases, packages and test binaries that exist.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::ExitCode;

use jigwise_tests::jig::jig;
use jigwise_tests::workspace::{packages, root};

const PAGES: [&str; 2] = ["README.md", "DEVELOPERS.md"];
/// What comes with cargo, or with a component that every toolchain has.
const CARGO_KNOWS: [&str; 10] = [
    "add", "bench", "build", "check", "clean", "clippy", "doc", "fmt", "run", "test",
];

fn read(path: impl AsRef<Path>) -> String {
    let path = root().join(path);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The words of every line of every `console` fence, comments and redirections left out.
fn commands(page: &str) -> Vec<Vec<String>> {
    let mut inside = false;
    let mut found = Vec::new();
    for line in read(page).lines() {
        let line = line.trim();
        if line.starts_with("```") {
            inside = line == "```console";
        } else if inside && !line.is_empty() {
            assert!(
                !line.ends_with('\\'),
                "{page}: a line goes on in the next: {line}"
            );
            found.push(words(line));
        }
    }
    assert!(!inside, "{page}: a fence is never closed");
    found
}

fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quote = None;
    for c in line.chars() {
        match (quote, c) {
            (Some(mark), _) if c == mark => quote = None,
            (Some(_), _) => word.get_or_insert_default().push(c),
            (None, '"' | '\'') => {
                quote = Some(c);
                word.get_or_insert_default();
            }
            (None, '#' | '>' | '|') if word.is_none() => break,
            (None, _) if c.is_whitespace() => words.extend(word.take()),
            (None, _) => word.get_or_insert_default().push(c),
        }
    }
    assert_eq!(quote, None, "a quote is never closed: {line}");
    words.extend(word);
    words
}

/// `name → command` of the aliases.
fn aliases() -> BTreeMap<String, String> {
    read(".cargo/config.toml")
        .lines()
        .skip_while(|line| line.trim() != "[alias]")
        .skip(1)
        .take_while(|line| !line.starts_with('['))
        .filter_map(|line| line.split_once(" = "))
        .map(|(name, command)| {
            (
                name.trim().to_owned(),
                command.trim().trim_matches('"').to_owned(),
            )
        })
        .collect()
}

/// A series-through sweep of an invented choke, 47 µH with 3 Ω, around 7.1 MHz:
/// S21 = 2·Z0/(Z + 2·Z0), S11 = Z/(Z + 2·Z0).
fn two_port() -> String {
    let mut text = String::from("! invented\n# Hz S RI R 50\n");
    for freq_hz in [1e6, 3.5e6, 7.1e6, 14e6] {
        let (r, x) = (3.0, std::f64::consts::TAU * freq_hz * 47e-6);
        let below = (r + 100.0) * (r + 100.0) + x * x;
        let (re, im) = (100.0 * (r + 100.0) / below, -100.0 * x / below);
        let (a, b) = (1.0 - re, -im);
        text += &format!("{freq_hz} {a} {b} {re} {im} {re} {im} {a} {b}\n");
    }
    text
}

fn one_port() -> String {
    "! invented\n# Hz S RI R 50\n1e6 0.5 0.1\n7.1e6 0.4 0.2\n14e6 0.3 0.3\n".to_owned()
}

#[test]
fn every_printed_line_of_the_text_command_runs() {
    let folder = tempfile::tempdir().unwrap();
    let mut ran = 0;
    for page in PAGES {
        for line in commands(page) {
            let [cargo, jig_word, arguments @ ..] = &line[..] else {
                continue;
            };
            if cargo != "cargo" || jig_word != "jig" {
                continue;
            }
            let writes = |at: usize| at > 0 && arguments[at - 1] == "--out";
            let arguments: Vec<String> = arguments
                .iter()
                .enumerate()
                .map(|(at, word)| {
                    let path = folder.path().join(word);
                    // What a line before it wrote is read by the next.
                    if writes(at) || path.exists() {
                        return path.to_str().unwrap().to_owned();
                    }
                    if root().join(word).exists() && word.contains('/') {
                        return root().join(word).to_str().unwrap().to_owned();
                    }
                    let sweep = match Path::new(word).extension().and_then(|e| e.to_str()) {
                        Some("s2p") => two_port(),
                        Some("s1p") => one_port(),
                        _ => return word.clone(),
                    };
                    fs::write(&path, sweep).unwrap();
                    path.to_str().unwrap().to_owned()
                })
                .collect();
            let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
            let found = jig(&arguments);
            assert_eq!(
                found.code,
                ExitCode::SUCCESS,
                "{page}: {line:?}: {}",
                found.err
            );
            let says = !found.out.is_empty() || !found.err.is_empty();
            assert!(says, "{page}: {line:?} says nothing");
            ran += 1;
        }
    }
    assert!(ran >= 4, "{ran} lines of the text command in {PAGES:?}");
}

#[test]
fn the_two_commands_are_there() {
    let printed = commands("README.md");
    for command in ["cargo run --release", "cargo test --workspace"] {
        let known = printed.iter().any(|line| line.join(" ") == command);
        assert!(known, "README.md has no {command}: {printed:?}");
    }
    let manifest = read("Cargo.toml");
    assert!(
        manifest.contains("default-members = [\"sim/app\"]"),
        "cargo run opens something else"
    );
}

/// Every `cargo WORD`, in fences and in running text, is one of cargo's or an alias of ours,
/// and every alias runs a package that exists.
#[test]
fn every_cargo_word_is_known() {
    let aliases = aliases();
    let packages = packages();
    for (name, command) in &aliases {
        let rest = command
            .split_once("--package ")
            .unwrap_or_else(|| panic!("{name}: {command}"))
            .1;
        let package = rest.split(' ').next().unwrap();
        assert!(
            packages.iter().any(|known| known.name == package),
            "{name} runs {package}"
        );
    }
    let known = |word: &str| CARGO_KNOWS.contains(&word) || aliases.contains_key(word);
    let mut seen = Vec::new();
    for page in PAGES {
        for line in commands(page) {
            if let [cargo, word, ..] = &line[..]
                && cargo == "cargo"
            {
                assert!(known(word), "{page}: no {line:?}");
                seen.push(word.clone());
            }
        }
        for rest in read(page).split("`cargo ").skip(1) {
            let word: String = rest
                .chars()
                .take_while(char::is_ascii_alphanumeric)
                .collect();
            assert!(
                known(&word),
                "{page}: `cargo {word}` is neither cargo's nor an alias"
            );
            seen.push(word);
        }
    }
    for alias in ["jig", "sim", "book", "lab"] {
        assert!(aliases.contains_key(alias), "no alias {alias}");
        assert!(
            seen.iter().any(|word| word == alias),
            "no page shows cargo {alias}"
        );
    }
}

#[test]
fn named_packages_and_test_binaries_exist() {
    let packages = packages();
    let mut named = 0;
    for page in PAGES {
        for line in commands(page) {
            let after = |flags: &[&str]| {
                let mut pairs = line.windows(2);
                let pair = pairs.find(|pair| flags.contains(&pair[0].as_str()));
                pair.map(|pair| &pair[1])
            };
            let Some(name) = after(&["-p", "--package"]) else {
                continue;
            };
            let package = packages
                .iter()
                .find(|package| package.name == *name)
                .unwrap_or_else(|| panic!("{page}: no package {name}"));
            if let Some(test) = after(&["--test"]) {
                assert!(package.tests.contains(test), "{page}: {name} has no {test}");
            }
            named += 1;
        }
    }
    assert!(named > 0);
}

/// Where a page names a file of the tests, or a folder of them, there is one. What fuzzing leaves
/// behind is made as it runs.
#[test]
fn named_files_of_the_tests_exist() {
    let mut named = 0;
    for page in PAGES {
        for code in read(page).split('`').skip(1).step_by(2) {
            let path = code.split(' ').next().unwrap_or_default();
            if path.starts_with("tests/") && !path.starts_with("tests/fuzz/") {
                assert!(root().join(path).exists(), "{page}: no {path}");
                named += 1;
            }
        }
    }
    assert!(named > 0);
}

#[test]
fn lines_are_taken_apart_as_a_shell_does() {
    assert_eq!(
        words("cargo jig read --device \"330 - j120\" '' a\"b c\" # said so"),
        ["cargo", "jig", "read", "--device", "330 - j120", "", "ab c"]
    );
    assert_eq!(
        words("cargo jig reduce a.s2p --csv > a.csv"),
        ["cargo", "jig", "reduce", "a.s2p", "--csv"]
    );
    assert_eq!(words("a#b"), ["a#b"]);
}
