//! Scenario files: what is written is read back, the junk box's own are all usable, and a
//! slip of one character gives another scenario or an error that names the file.

use std::fs;
use std::path::{Path, PathBuf};

use jigwise_bench::{
    Bench, Device, Direction, Instrument, NamedInstrument, Nudge, ReferenceImpedance, Scenario,
    parse_share,
};
use jigwise_physics::Systematic;
use jigwise_tests::scenarios::scenario;
use jigwise_tests::seed::for_all;
use proptest::prelude::*;

#[test]
fn what_is_written_is_read_back() {
    for_all(&scenario(), |scenario| {
        let text = scenario.to_toml();
        let again = Scenario::from_toml(&text, "again.toml");
        prop_assert_eq!(again.as_ref(), Ok(&scenario), "{}", text);
        prop_assert_eq!(again.unwrap().to_toml(), text);
        // And it is one that can be computed, or refused in words.
        if let Ok(bench) = Bench::new(&scenario) {
            bench.readout();
        }
        Ok(())
    });
}

fn junk_box() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../exercises/scenarios");
    let mut paths: Vec<PathBuf> = fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}", folder.display()))
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    assert!(paths.len() >= 10, "{paths:?}");
    paths
}

#[test]
fn every_scenario_of_the_junk_box_computes() {
    for path in junk_box() {
        let name = path.display();
        assert_eq!(
            path.extension().and_then(|e| e.to_str()),
            Some("toml"),
            "{name}"
        );
        let scenario = Scenario::read_file(&path).unwrap_or_else(|error| panic!("{error}"));
        assert!(scenario.title.is_some(), "{name} has no title");
        let with_instrument = Scenario {
            instrument: scenario
                .instrument
                .clone()
                .or(Some(NamedInstrument::default())),
            ..scenario.clone()
        };
        let readout = Bench::new(&with_instrument)
            .unwrap_or_else(|error| panic!("{name}: {error}"))
            .readout();
        for entry in readout.fixtures {
            let reading = entry
                .reading
                .unwrap_or_else(|| panic!("{name}: no reading"));
            assert!(
                reading.norm() <= 1.0 + 1e-12,
                "{name}: a passive part reads {reading}"
            );
            assert!(entry.got_back.is_some(), "{name}");
        }
        assert!(readout.appraisal.is_some(), "{name}");
        let text = scenario.to_toml();
        assert_eq!(
            Scenario::from_toml(&text, "again.toml").as_ref(),
            Ok(&scenario),
            "{name}"
        );
    }
}

const EVERYTHING: &str = r#"version = 1
title = "Ring core, 2.2 µH"
seed = 7
[device]
kind = "inductor"
inductance = "2u2H"
[at]
frequency = "7.1 MHz"
[instrument]
name = "the club's own"
preset = "club bench"
reference = "75 Ω"
load = "−40 dB"
open = "1.5 %"
short = 0.015
through_tracking = 0.01
crosstalk = "-80 dB"
bound = true
averages = 16
trace_phase = "0.02 deg"
display_phase = "2e-4 rad"
[calibration]
connections = 2
[nudge]
amount = "-5 %"
along = "reactance"
swapped = true
"#;

fn read_or_told(text: &str) -> Result<bool, TestCaseError> {
    match Scenario::from_toml(text, "bench.toml") {
        Ok(scenario) => {
            if let Ok(bench) = Bench::new(&scenario) {
                bench.readout();
            }
            Ok(true)
        }
        Err(error) => {
            let message = error.to_string();
            prop_assert!(message.starts_with("bench.toml"), "{message}\n{text}");
            let lines = text.lines().count() + 1;
            prop_assert!(
                error.line().is_none_or(|line| (1..=lines).contains(&line)),
                "{message}"
            );
            Ok(false)
        }
    }
}

/// Every one-character deletion of every file.
#[test]
fn one_character_left_out_is_read_or_told() {
    let mut texts: Vec<String> = junk_box()
        .into_iter()
        .map(|path| fs::read_to_string(path).unwrap())
        .collect();
    texts.push(EVERYTHING.to_owned());
    let (mut read, mut told) = (0, 0);
    for text in &texts {
        assert!(matches!(read_or_told(text), Ok(true)), "{text}");
        for (at, character) in text.char_indices() {
            let without = format!("{}{}", &text[..at], &text[at + character.len_utf8()..]);
            match read_or_told(&without) {
                Ok(true) => read += 1,
                Ok(false) => told += 1,
                Err(error) => panic!("{error}"),
            }
        }
    }
    // Most slips are noticed; one in a title or among digits can't be.
    assert!(told > read && read > 0, "{read} read, {told} told");
}

/// A character put in, taken out or exchanged, a few times over.
#[test]
fn scribbled_files_are_read_or_told() {
    let characters = prop::sample::select(
        "[]{}\"'=#.,-+eE0159kMuj%Ω°− \n\r\t\u{0}\u{feff}azÄ"
            .chars()
            .collect::<Vec<_>>(),
    );
    let slip = (any::<prop::sample::Index>(), 0..3u8, characters);
    for_all(&prop::collection::vec(slip, 1..5), |slips| {
        let mut text: Vec<char> = EVERYTHING.chars().collect();
        for (at, how, character) in slips {
            let at = at.index(text.len());
            match how {
                0 => drop(text.remove(at)),
                1 => text.insert(at, character),
                _ => text[at] = character,
            }
        }
        read_or_told(&text.into_iter().collect::<String>()).map(drop)
    });
}

/// The reference of 75 Ω and the instrument's changed entries arrive in the readout's bench.
#[test]
fn the_full_file_says_what_it_says() {
    let scenario = Scenario::from_toml(EVERYTHING, "bench.toml").unwrap();
    assert_eq!(scenario.device, Device::inductor(2.2e-6));
    assert_eq!(scenario.freq_hz, Some(7.1e6));
    assert_eq!(scenario.reference, ReferenceImpedance::new(75.0).unwrap());
    assert_eq!((scenario.connections, scenario.seed), (2, 7));
    assert_eq!(
        scenario.nudge,
        Nudge::new(-0.05, Direction::Reactance, true).unwrap()
    );
    let named = scenario.instrument.unwrap();
    assert_eq!(named.name, "the club's own");
    let figures = named.figures;
    assert_eq!(figures.averages, 16);
    assert!(figures.systematic_is_bound);
    assert!((figures.trace_phase_rad - 0.02f64.to_radians()).abs() < 1e-18);
    assert_eq!(figures.display_phase_rad, 2e-4);
    assert_eq!(figures.reconnect, Instrument::CLUB_BENCH.reconnect);
    let Systematic::Standards(residuals) = figures.systematic else {
        panic!("{figures:?}")
    };
    assert!((residuals.load - 0.01).abs() < 1e-17);
    assert_eq!((residuals.open, residuals.short), (0.015, 0.015));
    assert!((residuals.crosstalk - 1e-4).abs() < 1e-19);
}

/// One text is one nudge, typed on the command line or written in a file.
#[test]
fn a_nudge_means_the_same_in_a_file_and_on_the_command_line() {
    let question =
        "version = 1\n[device]\nkind = \"resistor\"\nresistance = 50\n[nudge]\namount = ";
    for (typed, in_file) in [
        ("10", "\"10\""),
        ("10 %", "\"10 %\""),
        ("10", "0.1"),
        ("-7.3", "\"-7.3\""),
        ("300", "\"300\""),
    ] {
        let text = format!("{question}{in_file}\n");
        let of_file = Scenario::from_toml(&text, "nudge.toml").unwrap().nudge;
        assert_eq!(of_file.amount(), parse_share(typed).unwrap(), "{in_file}");
    }
    for bare in ["10", "-1", "1.5"] {
        let text = format!("{question}{bare}\n");
        let error = Scenario::from_toml(&text, "nudge.toml").unwrap_err();
        assert_eq!(error.line(), Some(6), "{error}");
        let times_hundred = 100.0 * bare.parse::<f64>().unwrap();
        let both = format!("may be {bare} % or {times_hundred} %");
        assert!(error.to_string().contains(&both), "{error}");
    }
}

#[test]
fn text_of_another_encoding_is_told_so() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("wide.toml");
    let wide: Vec<u8> = "version = 1\n"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    fs::write(&path, wide).unwrap();
    let error = Scenario::read_file(&path).unwrap_err().to_string();
    assert!(error.contains("is not text in UTF-8"), "{error}");
}
