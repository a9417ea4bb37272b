//! Who may know whom: a crate names in its manifest only crates that the design draws below it,
//! the window's engine stays in the app, and a page of the book is free of what no browser needs.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use jigwise_tests::workspace::{cargo, packages, root};

/// Below each crate those that the design page draws directly below it. What stands below these
/// may be named as well.
const DRAWN: [(&str, &[&str]); 14] = [
    ("jigwise-quantity", &[]),
    ("jigwise-physics", &["jigwise-quantity"]),
    ("jigwise-touchstone", &[]),
    ("jigwise-bench", &["jigwise-physics", "jigwise-touchstone"]),
    ("jigwise-reduce", &["jigwise-bench"]),
    ("jigwise-jig", &["jigwise-reduce"]),
    ("jigwise-exercises", &["jigwise-bench", "jigwise-reduce"]),
    ("jigwise-page", &["jigwise-exercises"]),
    ("jigwise-live", &["jigwise-page"]),
    ("jigwise-sweeps", &["jigwise-jig"]),
    ("jigwise-desk", &["jigwise-exercises"]),
    (
        "jigwise-book",
        &["jigwise-exercises", "jigwise-jig", "jigwise-live"],
    ),
    ("jigwise-sim", &["jigwise-exercises"]),
    ("jigwise-tests", &["jigwise-book"]),
];

/// The one crate that may know the engine of the window.
const APP: &str = "jigwise-sim";
const ENGINE: &str = "bevy";

/// What a page in a browser must not bring along, by the beginnings of the crates' names.
const NOT_IN_A_PAGE: [&str; 4] = ["mdbook", ENGINE, "clap", "jigwise-jig"];

/// All names below `name`; none for a name that is not drawn.
fn below<'a>(name: &str, drawn: &BTreeMap<&'a str, &'a [&'a str]>) -> BTreeSet<&'a str> {
    let mut found = BTreeSet::new();
    let mut open: Vec<&str> = drawn.get(name).map_or(Vec::new(), |below| below.to_vec());
    while let Some(next) = open.pop() {
        if found.insert(next) {
            open.extend(drawn.get(next).copied().unwrap_or_default());
        }
    }
    found
}

/// A sentence for each arrow, from a crate to one that it names, that is not drawn.
fn not_drawn(arrows: &[(&str, &str)]) -> Vec<String> {
    let drawn = BTreeMap::from(DRAWN);
    arrows
        .iter()
        .filter(|(from, to)| !below(from, &drawn).contains(to))
        .map(|(from, to)| {
            format!(
                "{from} names {to}, which the design page (§3) does not draw below it; move what \
                 is needed into a crate below both, or draw the arrow there and here"
            )
        })
        .collect()
}

#[test]
fn every_arrow_is_drawn() {
    let packages = packages();
    let drawn = BTreeMap::from(DRAWN);
    for package in &packages {
        assert!(
            drawn.contains_key(package.name.as_str()),
            "{} is not drawn: give it its place on the design page (§3) and here",
            package.name
        );
    }
    let arrows: Vec<(&str, &str)> = packages
        .iter()
        .flat_map(|package| {
            let uses = package.uses.iter();
            uses.map(|used| (package.name.as_str(), used.as_str()))
        })
        .collect();
    assert!(arrows.contains(&("jigwise-bench", "jigwise-physics")));
    let wrong = not_drawn(&arrows);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn arrows_are_transitive_and_have_one_direction() {
    assert_eq!(
        not_drawn(&[
            ("jigwise-bench", "jigwise-quantity"),
            ("jigwise-page", "jigwise-touchstone"),
            ("jigwise-tests", "jigwise-jig"),
        ]),
        [""; 0]
    );
    for wrong in [
        ("jigwise-physics", "jigwise-bench"),
        ("jigwise-touchstone", "jigwise-quantity"),
        ("jigwise-bench", "jigwise-reduce"),
        ("jigwise-exercises", "jigwise-jig"),
        ("jigwise-page", "jigwise-jig"),
        ("jigwise-sim", "jigwise-book"),
        ("jigwise-book", "jigwise-sim"),
        ("jigwise-tests", "jigwise-sim"),
        ("jigwise-physics", "jigwise-unheard-of"),
    ] {
        assert_eq!(not_drawn(&[wrong]).len(), 1, "{wrong:?}");
    }
}

/// Every package of Cargo.lock with the names of those it builds on, whatever the platform and the
/// features, dev-dependencies of our own crates too.
fn locked() -> BTreeMap<String, Vec<String>> {
    let lock = fs::read_to_string(root().join("Cargo.lock")).unwrap();
    let lock: toml::Table = lock.parse().unwrap();
    let mut found = BTreeMap::<String, Vec<String>>::new();
    for package in lock["package"].as_array().unwrap() {
        let name = package["name"].as_str().unwrap().to_owned();
        let uses = package.get("dependencies").and_then(|uses| uses.as_array());
        // Where several versions are locked an entry is "name version"; they count as one here.
        let uses = uses.into_iter().flatten().map(|used| {
            let name = used.as_str().unwrap().split(' ').next().unwrap();
            name.to_owned()
        });
        found.entry(name).or_default().extend(uses);
    }
    found
}

fn brings_the_engine(name: &str, locked: &BTreeMap<String, Vec<String>>) -> bool {
    let uses: BTreeMap<&str, Vec<&str>> = locked
        .iter()
        .map(|(name, uses)| (name.as_str(), uses.iter().map(String::as_str).collect()))
        .collect();
    let uses = uses.iter().map(|(name, uses)| (*name, uses.as_slice()));
    below(name, &uses.collect())
        .iter()
        .any(|used| used.starts_with(ENGINE))
}

#[test]
fn the_engine_is_known_to_the_app_alone() {
    let locked = locked();
    for package in packages() {
        assert_eq!(
            brings_the_engine(&package.name, &locked),
            package.name == APP,
            "{}",
            package.name
        );
    }
}

/// What a crate, built by itself, brings of all that a page must not.
fn brought_by(package: &str) -> Vec<String> {
    let arguments = "tree --edges normal --prefix none --format {p} --package";
    let mut arguments: Vec<&str> = arguments.split(' ').collect();
    arguments.push(package);
    let mut tree: Vec<String> = cargo(&arguments).lines().map(str::to_owned).collect();
    tree.retain(|line| NOT_IN_A_PAGE.iter().any(|name| line.starts_with(name)));
    tree
}

#[test]
fn a_page_brings_nothing_that_no_browser_needs() {
    let book = brought_by("jigwise-book").join(" ");
    assert!(book.contains("mdbook") && book.contains("jigwise-jig"));
    if packages().iter().any(|known| known.name == "jigwise-page") {
        assert_eq!(brought_by("jigwise-page"), [""; 0]);
    }
}
