//! Stock mdBook, which runs the passes as processes, builds the same book.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use jigwise_bench::scene::{Ink, Palette};
use jigwise_book::{MARKER, build, root};
use mdbook_driver::MDBook;
use mdbook_driver::config::Config;
use tempfile::TempDir;

fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(inside) = folders.pop() {
        for entry in fs::read_dir(inside).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().display().to_string();
                found.insert(name, fs::read(&path).unwrap());
            }
        }
    }
    found
}

#[test]
fn stock_mdbook_builds_the_same_book() {
    let text = fs::read_to_string(root().join("book.toml")).unwrap();
    let command = "cargo run --quiet --package jigwise-book --";
    assert_eq!(text.matches(command).count(), 9);
    let text = text.replace(command, env!("CARGO_BIN_EXE_book"));
    let stock = TempDir::new().unwrap();
    let mut config: Config = text.parse().unwrap();
    config.build.build_dir = stock.path().to_owned();
    MDBook::load_with_config(root(), config)
        .and_then(|book| book.build())
        .unwrap();

    let own = TempDir::new().unwrap();
    build(&root(), Some(own.path())).unwrap();

    let (stock, mut own) = (files(stock.path()), files(own.path()));
    // Stock mdBook empties any folder, so it marks none.
    assert!(own.remove(MARKER).is_some());
    assert_eq!(
        stock.keys().collect::<Vec<_>>(),
        own.keys().collect::<Vec<_>>()
    );
    for (name, bytes) in &own {
        assert!(stock[name] == *bytes, "{name} differs");
    }
}

#[test]
fn every_page_with_rust_is_compiled_as_a_doc_test() {
    let listed = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    for (name, bytes) in files(&root().join("text")) {
        let text = String::from_utf8(bytes).unwrap();
        if name != "SUMMARY.md" {
            assert!(listed.contains(&format!("\"{name}\"")), "{name}");
        }
        assert!(
            !text.contains("\n    let "),
            "{name}: fence Rust, don't indent it"
        );
    }
}

#[test]
fn figures_have_the_colours_of_the_palettes() {
    let css = fs::read_to_string(root().join("theme/jigwise.css")).unwrap();
    for (theme, palette) in [("paper", Palette::LIGHT), ("night", Palette::DARK)] {
        let block = css.split(&format!("html.{theme}")).nth(1).unwrap();
        let block = block.split('}').next().unwrap();
        for (name, ink) in [
            ("text", Ink::Text),
            ("faint", Ink::Faint),
            ("grid", Ink::Grid),
            ("hair", Ink::Hair),
            ("paper", Ink::Paper),
            ("device", Ink::Device),
        ] {
            let line = format!("--jw-{name}: {};", palette.ink(ink).hex());
            assert!(block.contains(&line), "{theme} lacks {line}");
        }
        for (name, color) in ["reflect", "shunt", "series"].iter().zip(palette.fixtures) {
            let line = format!("--jw-{name}: {};", color.hex());
            assert!(block.contains(&line), "{theme} lacks {line}");
        }
    }
}
