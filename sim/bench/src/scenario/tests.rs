//! What a scenario file is refused for, and where.

use super::*;

fn error(text: &str) -> ScenarioError {
    Scenario::from_toml(text, "bench.toml").unwrap_err()
}

#[test]
fn unknown_keys_name_the_nearest() {
    let wrong = error("version = 1\n[device]\nkind = \"open\"\n[at]\nfrequencey = 1\n");
    assert!(wrong.is_unknown_key());
    assert_eq!(wrong.line(), Some(5));
    assert!(
        wrong.to_string().contains("did you mean \"frequency\"?"),
        "{wrong}"
    );
}

#[test]
fn wrong_values_have_their_line() {
    let instrument = "version = 1\n[device]\nkind = \"open\"\n[instrument]\n";
    let nudge = "version = 1\n[device]\nkind = \"open\"\n[nudge]\n";
    for (text, line, reason) in [
        (
            "version = 2\n[device]\nkind = \"open\"".into(),
            1,
            "expected 1",
        ),
        (
            "version = 1\n[device]\nkind = \"coil\"".into(),
            3,
            "expected one of",
        ),
        (
            "version = 1\n[device]\nkind = \"inductor\"".into(),
            3,
            "needs inductance",
        ),
        (
            "version = 1\n[device]\nkind = \"open\"\ncapacitance = 3\n".into(),
            4,
            "has no capacitance",
        ),
        (
            "version = 1\n[device]\nkind = \"resistor\"\nresistance = nan\n".into(),
            4,
            "no resistance",
        ),
        (
            "version = 1\n[device]\nkind = \"resistor\"\nresistance = 1e400\n".into(),
            4,
            "\"1e400\" is no resistance in ohms: it is beyond",
        ),
        (
            "version = 1\n[device]\nkind = \"open\"\n[at]\nfrequency = -7\n".into(),
            5,
            "above zero",
        ),
        (format!("{instrument}reference = 0\n"), 5, "above zero"),
        (
            format!("{instrument}preset = \"handhold\"\n"),
            5,
            "did you mean \"handheld\"?",
        ),
        (format!("{instrument}load = \"6 dB\"\n"), 5, "-300 to 0 dB"),
        (
            format!("{instrument}trace_magnitude = \"-0.01 dB\"\n"),
            5,
            "from 0 to 8 dB",
        ),
        (
            format!("{instrument}load = 0.01\nsource_match = 0.1\n"),
            6,
            "load, open and short",
        ),
        (format!("{instrument}averages = 0\n"), 5, "from 1"),
        (format!("{nudge}amount = \"0 %\"\n"), 5, "up or down"),
        (format!("{nudge}along = \"phase\"\n"), 5, "magnitude"),
        (
            "version = 1\nseed = -1\n[device]\nkind = \"open\"\n".into(),
            2,
            "whole number",
        ),
    ] {
        let text: String = text;
        let error = error(&text);
        assert_eq!(error.line(), Some(line), "{error}");
        assert!(error.to_string().contains(reason), "{error}");
    }
}

#[test]
fn what_a_file_lacks_or_has_wrong_is_said_in_our_words() {
    let device = "[device]\nkind = \"open\"\n";
    for (text, line, words) in [
        (device.to_owned(), 1, "\"version\" is missing"),
        (
            format!("vesion = 1\n{device}"),
            1,
            "did you mean \"version\"?",
        ),
        (
            format!("version = \"one\"\n{device}"),
            1,
            "version is one, expected 1",
        ),
        (
            format!("version = 99999999999999999999\n{device}"),
            1,
            "version is 99999999999999999999, expected 1",
        ),
        (format!("version = [1]\n{device}"), 1, "version is a list"),
        ("version = 1\n".into(), 1, "there is no [device] table"),
        (
            "version = 1\ndevice = 5\n".into(),
            2,
            "write it as [device]",
        ),
        (
            "version = 1\n[[device]]\n".into(),
            2,
            "write it as [device]",
        ),
        ("version = 1\n[device]\n".into(), 2, "\"kind\" is missing"),
        (
            format!("version = 1\ntitle = true\n{device}"),
            2,
            "title is yes or no",
        ),
        (
            format!("version = 1\nseed = 2026-11-29\n{device}"),
            2,
            "seed is a date",
        ),
        (
            format!("version = 1\nseed = {{}}\n{device}"),
            2,
            "seed is a table",
        ),
        (
            format!("version = 1\n{device}[at]\n"),
            4,
            "[at] needs frequency",
        ),
        (
            format!("version = 1\n{device}[sweep]\nfrom = \"1 MHz\"\n"),
            4,
            "[sweep] needs to; add for example to = \"7.1 MHz\"",
        ),
        (
            format!("version = 1\n{device}[nudge]\nswapped = 1\n"),
            5,
            "neither true nor false",
        ),
        (
            format!("version = 1\n{device}[at]\nfrequency = \"7,100 kHz\"\n"),
            5,
            "7.1 kHz or 7100 kHz",
        ),
        (
            format!("version = 1\n{device}[strays]\ngap = \"1 F\"\n"),
            5,
            "gap: gap capacitance is 1 F",
        ),
    ] {
        let error = error(&text);
        assert_eq!(error.line(), Some(line), "{error}");
        assert!(error.to_string().contains(words), "{error}");
    }
}

#[test]
fn what_a_file_has_is_quoted_with_a_remedy() {
    let device = "[device]\nkind = \"open\"\n";
    let long = "x".repeat(500);
    for (text, words) in [
        (
            format!("version = 0\n{device}"),
            "version is 0, expected 1; write version = 1",
        ),
        (
            format!("version = 1.0\n{device}"),
            "expected 1; write version = 1",
        ),
        (
            format!("version = 2\n{device}"),
            "expected 1; a newer Jigwise may read it",
        ),
        (
            format!("version = 1\n{device}[instrument]\nbound = \"yes\"\n"),
            "bound is \"yes\", neither true nor false; write bound = true",
        ),
        (
            format!("version = 1\nseed = [1, 2]\n{device}"),
            "seed is a list ([1, 2]), expected a single value; write for example seed =",
        ),
        (
            format!(
                "version = 1\n{device}[calibration]\nmethod = \"full\"\n\
                 [calibration.open]\ncapacitance = [\"50 fF\", [1]]\n"
            ),
            "capacitance has an entry that is no value, but a list ([1])",
        ),
        (
            format!("version = 1\n{device}[strays.arm]\nvelocity_factor = 0\n"),
            "velocity factor is 0: give a value from 0.01 to 1",
        ),
        (
            format!("version = 1\n{device}[nudge]\nalong = \"\\u001b[31m\"\n"),
            "along is \"\u{fffd}[31m\"",
        ),
        (
            format!("version = 1\ntitle = \"a\\u001bb\"\n{device}"),
            "control character",
        ),
        (
            format!("version = 1\n{device}[nudge]\nalong = \"{long}\"\n"),
            "xxx…\"",
        ),
        (
            format!("version = 1\n{device}[sweep]\nfoo = 1\n"),
            "known here: from, to",
        ),
    ] {
        let error = error(&text).to_string();
        assert!(error.contains(words), "{error}");
        assert!(!error.contains(char::is_control), "{error:?}");
    }
}

#[test]
fn a_decimal_comma_is_read() {
    let text = "version = 1\n[device]\nkind = \"resistor\"\nresistance = \"4,7k\"\n\
                [instrument]\nload = \"−38,5 dB\"\n";
    let scenario = Scenario::from_toml(text, "comma.toml").unwrap();
    assert_eq!(scenario.device, Device::resistor(4_700.0));
}

/// An ideal part and one with parasitics of zero are the same part.
#[test]
fn a_part_is_of_one_kind() {
    let device = |lines: &str| {
        let text = format!("version = 1\n[device]\n{lines}");
        Scenario::from_toml(&text, "part.toml").unwrap().device
    };
    for (ideal, spelt_out) in [
        (
            "kind = \"resistor\"\nresistance = 50",
            "parallel_capacitance = 0\nseries_inductance = 0",
        ),
        ("kind = \"capacitor\"\ncapacitance = \"1 nF\"", "esr = 0"),
        (
            "kind = \"inductor\"\ninductance = \"1 µH\"",
            "series_resistance = \"0 Ω\"",
        ),
    ] {
        assert_eq!(device(ideal), device(&format!("{ideal}\n{spelt_out}")));
    }
    assert_eq!(
        device("kind = \"resistor\"\nresistance = -50").fixed_ohm(),
        "-50".parse::<Device>().unwrap().fixed_ohm()
    );
}
