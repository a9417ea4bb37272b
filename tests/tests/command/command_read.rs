//! `jig read`: what each fixture reads of a device, as a table and as JSON, and what it says
//! to bad input. Expected readings are those of `fixtures.rs` and `scikit_rf.rs`, or the
//! voltage divider worked out beside them.

use std::fs;
use std::process::ExitCode;

use jigwise_tests::answers::{KEYS, answer_near, field_names};
use jigwise_tests::jig::{ClosedPipe, jig, json, refuses, run};
use jigwise_tests::workbench::scenario_file;
use serde_json::{Value, json as value};

/// 5 − j30 Ω, the readings given with the fixtures, to their last digit.
#[test]
fn json_has_the_fields_and_the_numbers() {
    let found = json(&["read", "--device", "5 - j30", "--at", "7.1M"]);
    assert_eq!(
        field_names(&found),
        [
            "command",
            "device",
            "files",
            "fixtures",
            "freq_hz",
            "reference_ohm",
            "schema_version",
            "warnings"
        ]
    );
    assert_eq!(found["reference_ohm"], value!(50.0));
    assert_eq!(found["freq_hz"], value!(7.1e6));
    assert_eq!(
        found["device"],
        value!({"r_ohm": 5.0, "x_ohm": -30.0, "open": false, "short": false})
    );
    let fixtures = found["fixtures"].as_array().unwrap();
    assert_eq!(fixtures.len(), 3);
    let given = [
        (-0.401274, -0.764331),
        (0.583333, -0.416667),
        (0.880503, 0.251572),
    ];
    for ((entry, key), (re, im)) in fixtures.iter().zip(KEYS).zip(given) {
        assert_eq!(
            field_names(entry),
            ["fixture", "impedance", "open", "reading"]
        );
        assert_eq!(entry["fixture"], key);
        assert_eq!(entry["open"], false);
        let reading = &entry["reading"];
        assert_eq!(field_names(reading), ["db", "deg", "im", "re"]);
        answer_near(&reading["re"], re, 1e-6);
        answer_near(&reading["im"], im, 1e-6);
        answer_near(&reading["db"], 10.0 * (re * re + im * im).log10(), 1e-5);
        answer_near(&reading["deg"], im.atan2(re).to_degrees(), 1e-4);
        assert_eq!(field_names(&entry["impedance"]), ["r_ohm", "x_ohm"]);
        answer_near(&entry["impedance"]["r_ohm"], 5.0, 1e-12);
        answer_near(&entry["impedance"]["x_ohm"], -30.0, 1e-12);
    }
}

#[test]
fn an_open_has_no_ohms_and_no_decibels() {
    let found = json(&["read", "--device", "open"]);
    assert_eq!(found["freq_hz"], Value::Null);
    assert_eq!(
        found["device"],
        value!({"r_ohm": null, "x_ohm": null, "open": true, "short": false})
    );
    for (k, reading) in [
        value!({"re": 1.0, "im": 0.0, "db": 0.0, "deg": 0.0}),
        value!({"re": 1.0, "im": 0.0, "db": 0.0, "deg": 0.0}),
        value!({"re": 0.0, "im": 0.0, "db": null, "deg": null}),
    ]
    .into_iter()
    .enumerate()
    {
        let entry = &found["fixtures"][k];
        assert_eq!(entry["reading"], reading);
        assert_eq!(entry["impedance"], Value::Null);
        assert_eq!(entry["open"], true);
    }
}

#[test]
fn a_short_reads_zero_in_shunt_through() {
    let found = json(&["read", "--device", "short", "--reference", "75"]);
    assert_eq!(found["reference_ohm"], value!(75.0));
    assert_eq!(
        found["device"],
        value!({"r_ohm": 0.0, "x_ohm": 0.0, "open": false, "short": true})
    );
    for (k, reading) in [
        value!({"re": -1.0, "im": 0.0, "db": 0.0, "deg": 180.0}),
        value!({"re": 0.0, "im": 0.0, "db": null, "deg": null}),
        value!({"re": 1.0, "im": 0.0, "db": 0.0, "deg": 0.0}),
    ]
    .into_iter()
    .enumerate()
    {
        let entry = &found["fixtures"][k];
        assert_eq!(entry["reading"], reading);
        assert_eq!(entry["impedance"], value!({"r_ohm": 0.0, "x_ohm": 0.0}));
        assert_eq!(entry["open"], false);
    }
}

/// Z = −Z0, −Z0/2, −2·Z0: that fixture alone has no reading, and a sentence instead.
#[test]
fn an_active_part_on_a_pole_has_no_reading() {
    for (device, reference, pole) in [
        ("-50", "50", 0),
        ("-25", "50", 1),
        ("-100", "50", 2),
        ("-75", "75", 0),
        ("-37.5", "75", 1),
        ("-150", "75", 2),
    ] {
        let arguments = ["read", "--device", device, "--reference", reference];
        let found = json(&arguments);
        for k in 0..3 {
            let entry = &found["fixtures"][k];
            assert_eq!(entry["reading"].is_null(), k == pole, "{device}: {entry}");
            assert_eq!(entry["open"], false);
            assert_eq!(entry["impedance"].is_null(), k == pole, "{device}: {entry}");
            let sentence = entry["sentence"].as_str().unwrap_or_default();
            assert_eq!(
                sentence.contains("would oscillate"),
                k == pole,
                "{sentence}"
            );
        }
        let table = jig(&arguments);
        assert_eq!(table.code, ExitCode::SUCCESS);
        assert!(table.out.contains("would oscillate"), "{}", table.out);
    }
    let resistor = jig(&["read", "--device", "50"]);
    assert!(!resistor.out.contains("oscillate"), "{}", resistor.out);
}

/// jωL, 1/(jωC) at 7.1 MHz, and the ways to type one value. Each is its own sum in f64.
#[test]
fn devices_are_typed_as_on_the_part() {
    let omega = std::f64::consts::TAU * 7.1e6;
    for (typed, r_ohm, x_ohm) in [
        ("4.7k", 4_700.0, 0.0),
        ("4k7", 4_700.0, 0.0),
        ("4700 ohm", 4_700.0, 0.0),
        ("330 - j120", 330.0, -120.0),
        ("330 − j120", 330.0, -120.0),
        ("330-120j", 330.0, -120.0),
        ("330p", 0.0, -1.0 / (omega * 330e-12)),
        ("330 pF", 0.0, -1.0 / (omega * 330e-12)),
        ("2u2H", 0.0, omega * 2.2e-6),
        ("2.2 µH", 0.0, omega * 2.2e-6),
        ("short", 0.0, 0.0),
    ] {
        let found = json(&["read", "--device", typed, "--at", "7.1 MHz"]);
        let size = f64::hypot(r_ohm, x_ohm);
        answer_near(&found["device"]["r_ohm"], r_ohm, 1e-15 * size);
        answer_near(&found["device"]["x_ohm"], x_ohm, 1e-15 * size);
    }
}

#[test]
fn the_table_shows_all_three_fixtures() {
    let found = jig(&["read", "--device", "1k"]);
    assert_eq!(found.code, ExitCode::SUCCESS);
    assert_eq!(found.err, "");
    let row = |title: &str| {
        let line = found.out.lines().find(|line| line.starts_with(title));
        line.unwrap_or_else(|| panic!("no {title} in {}", found.out))
            .to_owned()
    };
    for (title, cells) in [
        ("Reflect", ["S11", "−0.869", "0.904762"]),
        ("Shunt-through", ["S21", "−0.214", "0.975610"]),
        ("Series-through", ["S21", "−20.828", "0.090909"]),
    ] {
        for cell in cells {
            assert!(row(title).contains(cell), "no {cell} in {}", row(title));
        }
        assert!(
            row(title).contains("1.0000"),
            "no ohms back in {}",
            row(title)
        );
    }
    assert!(
        !found.out.contains("-20"),
        "a hyphen for a minus: {}",
        found.out
    );
}

const COIL: &str = r#"version = 1
title = "Unlabelled coil from the junk box"
seed = 7
[device]
kind = "inductor"
inductance = "2u2H"
[at]
frequency = "7.1 MHz"
[instrument]
reference = "75 ohm"
"#;

#[test]
fn a_scenario_file_is_read_and_arguments_take_its_place() {
    let (_folder, path) = scenario_file(COIL);
    let reactance = |freq_hz: f64| std::f64::consts::TAU * freq_hz * 2.2e-6;
    let found = json(&["read", &path]);
    assert_eq!(found["reference_ohm"], value!(75.0));
    assert_eq!(found["freq_hz"], value!(7.1e6));
    answer_near(&found["device"]["x_ohm"], reactance(7.1e6), 1e-12);

    let elsewhere = json(&["read", &path, "--at", "14.2M", "--reference", "50"]);
    assert_eq!(elsewhere["reference_ohm"], value!(50.0));
    answer_near(&elsewhere["device"]["x_ohm"], reactance(14.2e6), 1e-12);

    let other = json(&["read", &path, "--device", "10"]);
    answer_near(&other["device"]["r_ohm"], 10.0, 0.0);

    let table = jig(&["read", &path]);
    assert!(table.out.contains("Unlabelled coil"), "{}", table.out);
}

#[test]
fn unknown_words_name_the_nearest_known() {
    for (text, line, words) in [
        (
            COIL.replace("[device]", "[devise]"),
            4,
            ["devise", "device"],
        ),
        (
            COIL.replace("inductance", "indctance"),
            6,
            ["indctance", "inductance"],
        ),
        (
            COIL.replace("frequency", "freqency"),
            8,
            ["freqency", "frequency"],
        ),
        (
            COIL.replace("reference", "refrence"),
            10,
            ["refrence", "reference"],
        ),
        (COIL.replace("seed", "sead"), 3, ["sead", "seed"]),
        (
            COIL.replace("\"inductor\"", "\"inductr\""),
            5,
            ["inductr", "inductor"],
        ),
    ] {
        let (_folder, path) = scenario_file(&text);
        let message = refuses(&["read", &path], &words);
        let place = format!("bench.toml, line {line}: ");
        assert!(message.contains(&place), "no \"{place}\" in {message}");
        let named = message.split(&place).nth(1).unwrap();
        let known = format!("\"{}\"", words[1]);
        assert!(named.contains(&known), "no {known} in {message}");
    }
    refuses(&["read", "--devise", "50"], &["--devise", "--device"]);
    refuses(&["reed", "--device", "50"], &["reed", "read"]);
}

#[test]
fn impossible_numbers_in_a_scenario_name_their_line() {
    let at_7 = |value: &str| COIL.replace("\"7.1 MHz\"", value);
    for (text, line, words) in [
        (at_7("nan"), 8, ["NaN", "frequency"]),
        (at_7("-7.1e6"), 8, ["frequency", "above zero"]),
        (at_7("\"0 Hz\""), 8, ["frequency", "above zero"]),
        (at_7("\"7.1 mHz\""), 8, ["frequency", "M is a million"]),
        (at_7("inf"), 8, ["inf", "frequency"]),
        (COIL.replace("75 ohm", "0"), 10, ["reference", "above zero"]),
        (
            COIL.replace("75 ohm", "-50"),
            10,
            ["reference", "above zero"],
        ),
        (COIL.replace("\"75 ohm\"", "nan"), 10, ["reference", "NaN"]),
        (COIL.replace("2u2H", "0"), 6, ["inductance", "above zero"]),
        (
            COIL.replace("2u2H", "2u2F"),
            6,
            ["inductance", "capacitance"],
        ),
        (COIL.replace("2u2H", "1e999"), 6, ["inductance", "1e999"]),
        (COIL.replace("seed = 7", "seed = -7"), 3, ["seed", "-7"]),
        (
            COIL.replace("seed = 7", "seed = 0.5"),
            3,
            ["expected", "0.5"],
        ),
        (
            COIL.replace("version = 1", "version = 2"),
            1,
            ["version", "expected 1"],
        ),
        (
            COIL.replace("[device]", "[device"),
            4,
            ["bench.toml", "expected"],
        ),
        (
            COIL.replace("\"2u2H\"", "\"2u2H"),
            6,
            ["bench.toml", "expected"],
        ),
    ] {
        let (_folder, path) = scenario_file(&text);
        let message = refuses(&["read", &path], &words);
        let place = format!("line {line}: ");
        assert!(message.contains(&place), "no \"{place}\" in {message}");
    }
}

#[test]
fn unreadable_scenarios_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    refuses(
        &["read", &path("none.toml")],
        &["none.toml", "can't be read"],
    );
    refuses(&["read", &path(".")], &["folder", ".toml"]);
    fs::write(path("empty.toml"), "").unwrap();
    refuses(&["read", &path("empty.toml")], &["empty.toml", "version"]);
    fs::write(path("picture.toml"), [0x89, b'P', b'N', b'G', 0xff, 0x00]).unwrap();
    refuses(&["read", &path("picture.toml")], &["picture.toml", "UTF-8"]);
    for cut in 1..COIL.len() {
        fs::write(path("cut.toml"), &COIL[..cut]).unwrap();
        let found = jig(&["read", &path("cut.toml")]);
        if found.code != ExitCode::SUCCESS {
            assert_eq!(found.code, ExitCode::from(2), "{cut} bytes: {found:?}");
            assert!(found.err.contains("cut.toml"), "{cut} bytes: {}", found.err);
            assert_eq!(found.out, "", "{cut} bytes");
        }
    }
}

#[test]
fn impossible_arguments_are_refused() {
    for (arguments, words) in [
        (["--device", "nan", "--at", "1M"], ["nan", "no number"]),
        (["--device", "NaN + j1", "--at", "1M"], ["NaN", "no number"]),
        (["--device", "inf", "--at", "1M"], ["inf", "no number"]),
        (["--device", "1e999", "--at", "1M"], ["1e999", "largest"]),
        (["--device", "", "--at", "1M"], ["\"\"", "no number"]),
        (
            ["--device", "4,700", "--at", "1M"],
            ["4,700", "4.7 or 4700"],
        ),
        (
            ["--device", "50", "--at", "7,100 kHz"],
            ["7.1 kHz", "7100 kHz"],
        ),
        (["--device", "10u", "--at", "1M"], ["10uH", "10uF"]),
        (["--device", "-330p", "--at", "1M"], ["-330p", "above zero"]),
        (["--device", "330p", "--at", "0"], ["0", "above zero"]),
        (
            ["--device", "330p", "--at", "-7.1M"],
            ["-7.1M", "above zero"],
        ),
        (["--device", "330p", "--at", "nan"], ["nan", "no number"]),
        (
            ["--device", "330p", "--at", "7.1m"],
            ["7.1m", "M is a million"],
        ),
        (["--device", "50", "--reference", "0"], ["0", "above zero"]),
        (
            ["--device", "50", "--reference", "-50"],
            ["-50", "above zero"],
        ),
        (
            ["--device", "50", "--reference", "nan"],
            ["nan", "no number"],
        ),
        (
            ["--device", "50", "--reference", "50 Hz"],
            ["50 Hz", "frequency"],
        ),
    ] {
        refuses(&[&["read"], arguments.as_slice()].concat(), &words);
    }
    refuses(&["read"], &["device", "--device 4.7k"]);
    refuses(&["read", "--device", "330p"], &["frequency", "7.1M"]);
    refuses(&["read", "--device"], &["--device"]);
    refuses(&[], &["Usage"]);
}

/// The largest and smallest numbers a person can type give an answer or an error, no panic
/// and no infinity.
#[test]
fn the_ends_of_the_number_range_are_answered() {
    for device in [
        "1e308",
        "-1e308 + j1e308",
        "1e-308",
        "5e-324",
        "j1e-320",
        "0",
        "-0",
        "1e300H",
        "1e300F",
    ] {
        for reference in ["1e-300", "50", "1e300"] {
            for at in ["1e-300 Hz", "1M", "1e300 Hz"] {
                let arguments = [
                    "read",
                    "--device",
                    device,
                    "--reference",
                    reference,
                    "--at",
                    at,
                ];
                let found = jig(&[&arguments, ["--json"].as_slice()].concat());
                if found.code == ExitCode::SUCCESS {
                    let parsed: Value = serde_json::from_str(&found.out).unwrap();
                    assert_eq!(parsed["fixtures"].as_array().unwrap().len(), 3);
                    assert!(!found.out.contains("inf"), "{}", found.out);
                } else {
                    assert_eq!(found.code, ExitCode::from(2));
                    assert!(found.err.contains("finite"), "{arguments:?}: {}", found.err);
                }
                jig(&arguments);
            }
        }
    }
}

#[test]
fn a_closed_pipe_is_no_error() {
    for arguments in [
        ["read", "--device", "1k"].as_slice(),
        &["read", "--device", "1k", "--json"],
        &["--help"],
    ] {
        for room in [0, 1, 40] {
            let mut err = Vec::new();
            let code = run(arguments, &mut ClosedPipe { room }, &mut err);
            assert_eq!(code, ExitCode::SUCCESS, "{arguments:?}, {room} bytes");
            assert_eq!(String::from_utf8(err).unwrap(), "");
        }
    }
    let code = run(
        &["read"],
        &mut ClosedPipe { room: 0 },
        &mut ClosedPipe { room: 0 },
    );
    assert_eq!(code, ExitCode::from(2), "both outputs closed");
}

#[test]
fn help_is_no_error() {
    for arguments in [
        ["--help"].as_slice(),
        &["read", "--help"],
        &["reduce", "--help"],
    ] {
        let found = jig(arguments);
        assert_eq!(found.code, ExitCode::SUCCESS);
        assert!(found.out.contains("Usage: jig"), "{}", found.out);
        assert_eq!(found.err, "");
    }
    let words = jig(&["reduce", "--help"]).out;
    let words: Vec<&str> = words.split([' ', ',', '\n']).collect();
    for (model, _) in jigwise_reduce::MODELS {
        assert!(words.contains(&model), "{model}");
    }
}
