//! The page on scenario files: its examples are scenarios, and it names every key that the
//! reader knows.

use jigwise_bench::{Bench, Scenario, ScenarioError};

fn page() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../book/text/scenario.md");
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn examples(page: &str) -> Vec<String> {
    page.split("```toml\n")
        .skip(1)
        .map(|rest| rest.split("```").next().unwrap_or_default().to_owned())
        .collect()
}

#[test]
fn its_examples_are_scenarios() {
    let examples = examples(&page());
    assert!(examples.len() >= 3);
    for text in examples {
        let scenario = Scenario::from_toml(&text, "scenario.md")
            .unwrap_or_else(|error| panic!("{error}\n{text}"));
        let readout = Bench::new(&scenario)
            .unwrap_or_else(|error| panic!("{error}\n{text}"))
            .readout();
        assert!(
            readout.fixtures.iter().all(|f| f.reading.is_some()),
            "{text}"
        );
        assert_eq!(
            Scenario::from_toml(&scenario.to_toml(), "again.toml"),
            Ok(scenario)
        );
    }
}

/// The keys of a device, of whatever kind.
fn known_of_devices() -> Vec<String> {
    let none = Scenario::from_toml("version = 1\n[device]\n", "x.toml").unwrap_err();
    let message = none.to_string();
    let (_, kinds) = message.split_once("has one of ").expect("a list of kinds");
    kinds
        .split(", ")
        .flat_map(|kind| {
            let text = format!("version = 1\n[device]\nkind = \"{kind}\"\nqqqq = 1\n");
            named(&text, kind)
        })
        .collect()
}

/// The keys that the reader names when it meets one it does not know.
fn known(table: &str) -> Vec<String> {
    if table == "device" {
        return known_of_devices();
    }
    let device = "[device]\nkind = \"open\"\n";
    // Nothing is near enough to this key to be meant.
    let text = format!("version = 1\n{device}[{table}]\nqqqq = 1\n");
    let text = match table.split_once('.') {
        Some(("calibration", _)) => text.replace(
            &format!("[{table}]"),
            &format!("[calibration]\nmethod = \"both directions\"\n[{table}]"),
        ),
        _ => text,
    };
    named(&text, table)
}

/// The keys that a refusal of `text` names.
fn named(text: &str, table: &str) -> Vec<String> {
    let error: ScenarioError = Scenario::from_toml(text, "x.toml").unwrap_err();
    assert!(error.is_unknown_key(), "{table}: {error}");
    let message = error.to_string();
    let list = message
        .split("known here: ")
        .nth(1)
        .unwrap_or_else(|| panic!("{table}: {message}"));
    list.split(", ").map(|key| key.trim().to_owned()).collect()
}

#[test]
fn every_key_is_on_the_page() {
    let page = page();
    for table in [
        "device",
        "at",
        "sweep",
        "strays",
        "strays.arm",
        "instrument",
        "calibration",
        "calibration.open",
        "calibration.short",
        "calibration.load",
        "calibration.through",
        "nudge",
    ] {
        let keys = known(table);
        assert!(!keys.is_empty());
        for key in keys {
            let named = page.contains(&format!("`{key}`")) || page.contains(&format!("\n{key} = "));
            assert!(named, "{table}: the page says nothing of {key}");
        }
    }
}
