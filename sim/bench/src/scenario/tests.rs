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
                "version = 1\n{device}[calibration]\nmethod = \"both directions\"\n\
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

fn bands(lines: &str) -> String {
    format!("version = 1\n[device]\nkind = \"open\"\n[instrument]\npreset = \"handheld\"\n{lines}")
}

#[test]
fn bands_that_do_not_follow_each_other_are_refused_at_their_line() {
    let band = |edge: &str, load: &str| format!("[[instrument.band]]\n{edge}{load}");
    let (low, high) = ("up_to = \"30 MHz\"\n", "up_to = \"300 MHz\"\n");
    let (load, open) = ("load = \"-40 dB\"\n", "open = \"1 %\"\n");
    for (lines, line, words) in [
        (
            band(high, load) + &band(low, load),
            10,
            "up_to is 30.00\u{202f}MHz, and the band before ends at 300.0\u{202f}MHz; list the bands \
             from low to high, without overlap",
        ),
        (band(low, load) + &band(low, load), 10, "without overlap"),
        (
            band(low, load) + &band(high, "") + &band("", load),
            9,
            "this band has no load, which another band has; give it in every band",
        ),
        (
            band(low, load) + &band("", &format!("{load}{open}")),
            6,
            "this band has no open",
        ),
        (
            format!("{load}{}", band(low, load) + &band("", load)),
            6,
            "load is given for all bands and in a band too; keep one of the two",
        ),
        (
            band(low, &format!("{load}{load}")),
            9,
            "\"load\" is given twice",
        ),
        (
            band("", load) + &band("", load),
            6,
            "only the last band may have no up_to",
        ),
        (
            band("", load) + &band(low, load),
            6,
            "only the last band may have no up_to",
        ),
        (band("up_to = 0\n", load), 7, "above zero"),
        (band("up_to = nan\n", load), 7, "no frequency"),
        (band("up_to = inf\n", load), 7, "no frequency"),
        (band("up_to = \"1e400\"\n", load), 7, "beyond the largest"),
        (
            band(low, "bound = true\n"),
            8,
            "\"bound\" is no key of [[instrument.band]]",
        ),
        ("band = []\n".into(), 6, "band is an empty list"),
        (
            "[instrument.band]\nup_to = \"30 MHz\"\n".into(),
            6,
            "write each as [[instrument.band]]",
        ),
    ] {
        let error = error(&bands(&lines));
        assert_eq!(error.line(), Some(line), "{error}");
        let said = error.to_string();
        assert!(said.starts_with("bench.toml, line "), "{said}");
        assert!(said.contains(words), "{said}");
    }
}

#[test]
fn each_band_has_its_own_figures_and_those_of_the_table() {
    let lines = "drift = \"0.2 %\"\n[[instrument.band]]\nup_to = \"30 MHz\"\nload = \"-40 dB\"\n\
                 [[instrument.band]]\nup_to = \"200 MHz\"\nload = \"-20 dB\"\n";
    let scenario = Scenario::from_toml(&bands(lines), "bench.toml").unwrap();
    let instrument = scenario.instrument.unwrap();
    let load = |freq_hz: f64| {
        let figures = instrument.figures_at(Some(freq_hz)).unwrap();
        assert_eq!(figures.drift, 0.002);
        match figures.systematic {
            jigwise_physics::Systematic::Standards(standards) => standards.load,
            jigwise_physics::Systematic::Vendor(_) => f64::NAN,
        }
    };
    // An edge belongs to the band below it.
    assert_eq!(
        [1.0, 30e6, 30.001e6, 200e6].map(load),
        [0.01, 0.01, 0.1, 0.1]
    );
    // What a band does not name comes from the preset's own band there.
    let raw_match = |freq_hz| instrument.figures_at(Some(freq_hz)).unwrap().raw_match;
    assert_eq!([1e6, 100e6].map(raw_match), [0.18, 0.20]);
    let above = instrument.figures_at(Some(201e6)).unwrap_err();
    let said = above.to_string();
    assert!(
        said.contains("figures up to 200.0\u{202f}MHz only, and 201.0\u{202f}MHz is above"),
        "{said}"
    );
}

#[test]
fn strays_that_are_longer_than_the_wavelength_allows_are_refused_at_their_line() {
    let device = "version = 1\n[device]\nkind = \"open\"\n";
    let at = "[at]\nfrequency = \"400 MHz\"\n";
    let sweep = "[sweep]\nfrom = \"1 MHz\"\nto = \"400 MHz\"\n";
    for (lines, line, words) in [
        (
            format!("{at}[strays.arm]\nlength = \"750 mm\"\n"),
            7,
            "an arm of 750.0\u{202f}mm is 1.00 wavelengths long at 400.0\u{202f}MHz; give at most one \
             wavelength, 749.5\u{202f}mm, or calibrate at the end of the cable",
        ),
        (
            format!("{sweep}[strays.arm]\nvelocity_factor = 0.5\nlength = \"376 mm\"\n"),
            9,
            "wavelengths long at 400.0",
        ),
        (
            format!(
                "{at}[strays]\n[strays.arm]\nlength = 0.1\n[strays.second_arm]\nlength = 1000\n"
            ),
            10,
            "is 1334.26 wavelengths long",
        ),
        // The table of one arm stands for both.
        (
            format!("{at}[strays.second_arm]\nlength = 0.1\n[strays.arm]\nlength = 1\n"),
            9,
            "an arm of 1.000\u{202f}m",
        ),
        (
            format!("{at}[strays]\nground = \"400 nH\"\n"),
            7,
            "400.0\u{202f}nH to ground in shunt-through and reflect is 1.01\u{202f}kΩ of reactance",
        ),
        (
            format!("{at}[strays]\nremoved = true\ngap = \"1 nF\"\n"),
            8,
            "a conductor of that size is longer than a quarter of a wavelength",
        ),
        (
            format!("{sweep}[strays]\npin = \"1 uF\"\n"),
            8,
            "at most 198.9\u{202f}pF",
        ),
    ] {
        let error = error(&format!("{device}{lines}"));
        assert_eq!(error.line(), Some(line), "{error}");
        assert!(error.to_string().contains(words), "{error}");
    }
    for lines in [
        format!("{at}[strays.arm]\nlength = \"749 mm\"\n"),
        format!("{at}[strays]\nground = \"390 nH\"\ngap = \"190 pF\"\npin = \"190 pF\"\n"),
        // Without a frequency there is no wavelength.
        "[strays.arm]\nlength = \"900 m\"\n".into(),
    ] {
        let scenario = Scenario::from_toml(&format!("{device}{lines}"), "t").unwrap();
        assert_eq!(scenario.check_strays(), Ok(()));
        let higher = Scenario {
            freq_hz: Some(1e9),
            ..scenario
        };
        let refused = higher.check_strays().unwrap_err();
        assert!(refused.to_string().starts_with("strays: "), "{refused}");
    }
}
