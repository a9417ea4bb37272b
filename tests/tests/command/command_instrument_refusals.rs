//! What `jig` says to an instrument or a nudge that can't be: one sentence with the place,
//! the value and the range, exit code 2, nothing on the output.

use jigwise_tests::jig::refuses;
use jigwise_tests::workbench::scenario_file;

const START: &str = "version = 1\n[device]\nkind = \"resistor\"\nresistance = \"50\"\n";

fn one_line(message: &str) {
    assert_eq!(message.trim_end().lines().count(), 1, "{message}");
    assert!(message.starts_with("jig: "), "{message}");
}

#[test]
fn entries_outside_their_range_name_it() {
    for (entry, line, words) in [
        (
            "trace_magnitude = \"-0.01 dB\"",
            6,
            ["trace_magnitude", "-0.01 dB", "from 0 to 8 dB"],
        ),
        (
            "trace_phase = \"-1 deg\"",
            6,
            ["trace_phase", "-1", "from 0 to 45"],
        ),
        (
            "display_phase = \"50°\"",
            6,
            ["display_phase", "50", "from 0 to 45"],
        ),
        (
            "directivity = \"3 dB\"",
            6,
            ["directivity", "3 dB", "from -300 to 0 dB"],
        ),
        (
            "load = \"+0.1 dB\"",
            6,
            ["load", "0.1 dB", "from -300 to 0 dB"],
        ),
        (
            "crosstalk = \"60 dB\"",
            6,
            ["crosstalk", "60 dB", "from -300 to 0 dB"],
        ),
        ("averages = 0", 6, ["averages", "0", "from 1"]),
        ("if_bandwidth = 0", 6, ["if_bandwidth", "0", "above zero"]),
        (
            "trace_phase = 0.5",
            6,
            ["trace_phase", "unit", "trace_phase = \"0.5 deg\""],
        ),
        ("load = \"3 kHz\"", 6, ["load", "3 kHz", "-38 dB"]),
        ("contact = \"2 pF\"", 6, ["contact", "2 pF", "resistance"]),
        (
            "load = 0.01\nopen = 0.01\ndirectivity = \"-40 dB\"",
            8,
            ["load", "directivity", "Keep one kind"],
        ),
        (
            "short = 0.01\nsource_match = 0.1",
            7,
            ["short", "source_match", "Keep one kind"],
        ),
        (
            "trase_magnitude = 0.1",
            6,
            ["trase_magnitude", "did you mean", "\"trace_magnitude\""],
        ),
        (
            "directivty = 0.1",
            6,
            ["directivty", "did you mean", "\"directivity\""],
        ),
        (
            "preset = \"handhold\"",
            6,
            ["handhold", "did you mean", "\"handheld\""],
        ),
        (
            "preset = \"labratory\"",
            6,
            ["labratory", "did you mean", "\"laboratory\""],
        ),
    ] {
        let (_folder, path) = scenario_file(&format!("{START}[instrument]\n{entry}\n"));
        let place = format!("bench.toml, line {line}: ");
        for arguments in [
            ["read", &path].as_slice(),
            &["read", "--device", "50", "--instrument", &path],
            &["plan", &path],
            &["crossovers", "--instrument", &path],
            &["reach", "--instrument", &path],
        ] {
            let message = refuses(arguments, &words);
            one_line(&message);
            assert!(message.contains(&place), "no \"{place}\" in {message}");
        }
    }
    // As a plain ratio the range is that of the ratio.
    for (entry, words) in [
        (
            "trace_magnitude = -0.01",
            ["trace noise of the magnitude", "-0.01", "from 0 to 1"],
        ),
        ("directivity = 1.5", ["directivity", "1.5", "from 0 to 1"]),
        ("crosstalk = \"150 %\"", ["crosstalk", "1.5", "from 0 to 1"]),
        ("reflect_floor = 0", ["floor of reflection", "0", "to 1"]),
        (
            "contact = -1",
            ["contact resistance", "-1", "from 0 to 1000 Ω"],
        ),
        (
            "trace_phase = \"1 rad\"",
            ["trace noise of the phase", "1 rad", "from 0 to 0.78"],
        ),
    ] {
        let (_folder, path) = scenario_file(&format!("{START}[instrument]\n{entry}\n"));
        let message = refuses(&["read", &path], &words);
        one_line(&message);
        assert!(message.contains("bench.toml"), "{message}");
    }
}

/// At 1 GHz a short behind a quarter of a wavelength, 250 ps, is an open.
#[test]
fn an_error_of_the_calibration_has_the_line_of_its_table() {
    let at_1ghz = format!("{START}[at]\nfrequency = \"1 GHz\"\n");
    let full = "[calibration]\nmethod = \"both directions\"\n";
    let long_short = "[calibration.short]\ndelay = \"250 ps\"\n";
    for (tables, line) in [
        (format!("{full}{long_short}"), 9),
        (format!("{full}[calibration.load]\n{long_short}"), 10),
        (
            "[calibration]\nmethod = \"both directions\"\nshort.delay = \"250 ps\"\n".to_owned(),
            9,
        ),
    ] {
        let (_folder, path) = scenario_file(&format!("{at_1ghz}{tables}"));
        let sweep = ["sweep", &path, "--fixture", "series-through", "--out", "-"];
        for arguments in [["read", &path].as_slice(), &sweep] {
            let message = refuses(arguments, &["same reflection", "at 1000 MHz"]);
            one_line(&message);
            let place = format!("bench.toml, line {line}: ");
            assert!(message.contains(&place), "no \"{place}\" in {message}");
        }
    }
}

#[test]
fn a_long_text_is_quoted_by_its_beginning() {
    let long = "9".repeat(500);
    let device = format!("{}5u", "0".repeat(300));
    let kilohertz = format!("{}kHz", "7".repeat(300));
    for (arguments, words) in [
        (
            ["read", "--device", &device].as_slice(),
            "a coil or a capacitor",
        ),
        (&["read", "--device", &kilohertz], "is a frequency"),
        (
            &["read", "--device", "50", "--instrument", &long],
            "nor an instrument",
        ),
    ] {
        let message = refuses(arguments, &[words, "…"]);
        one_line(&message);
        assert!(message.chars().count() < 450, "{message}");
    }
    let start = format!("{START}[calibration]\nmethod = \"both directions\"\n");
    for (lines, words) in [
        (format!("skipped = [\"{long}\"]\n"), "skipped names"),
        (
            format!("[calibration.open]\ncapacitance = [\"1 fF\", \"1 {long}/s\"]\n"),
            "term 2 of capacitance",
        ),
    ] {
        let (_folder, path) = scenario_file(&format!("{start}{lines}"));
        let message = refuses(&["read", &path], &[words, "…"]);
        assert!(message.chars().count() < 450, "{message}");
    }
}

#[test]
fn an_unknown_instrument_names_the_nearest() {
    for (name, near) in [
        ("handhold", "handheld"),
        ("club-bensh", "club bench"),
        ("laboratry", "laboratory"),
    ] {
        for verb in [
            ["read", "--device", "50"].as_slice(),
            &["plan", "--device", "50"],
            &["reach"],
            &["crossovers"],
        ] {
            let arguments = [verb, &["--instrument", name]].concat();
            let message = refuses(
                &arguments,
                &[name, "handheld, club bench, laboratory", "did you mean"],
            );
            one_line(&message);
            let hint = message.split("did you mean").nth(1).unwrap();
            assert!(hint.contains(near), "{message}");
        }
    }
    let message = refuses(
        &["read", "--device", "50", "--instrument", "zzz"],
        &["zzz", "handheld"],
    );
    assert!(!message.contains("did you mean"), "{message}");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().to_str().unwrap();
    one_line(&refuses(
        &["read", "--device", "50", "--instrument", path],
        &["folder", ".toml"],
    ));
}

#[test]
fn impossible_nudges_name_the_range() {
    for (nudge, words) in [
        ("-120 %", ["−120\u{202f}%", "above −100"]),
        ("-100%", ["−100\u{202f}%", "above −100"]),
        ("0 %", ["+0.000", "from 0.0000001 to 100 000 000"]),
        (
            "1e9 %",
            ["+1\u{202f}000\u{202f}000\u{202f}000", "to 100 000 000"],
        ),
    ] {
        for verb in ["read", "plan"] {
            one_line(&refuses(
                &[verb, "--device", "50", "--nudge", nudge],
                &words,
            ));
        }
        let text = format!("{START}[nudge]\namount = \"{nudge}\"\n");
        let (_folder, path) = scenario_file(&text);
        let message = refuses(&["read", &path], &words);
        one_line(&message);
        assert!(message.contains("bench.toml, line 6: "), "{message}");
    }
    for (nudge, words) in [
        ("much", ["much", "no number"]),
        ("nan", ["nan", "no number"]),
        ("3 dB", ["3 dB", "10 %"]),
    ] {
        refuses(&["read", "--device", "50", "--nudge", nudge], &words);
    }
    refuses(
        &["read", "--device", "50", "--along", "resistence"],
        &["resistence", "magnitude, resistance, reactance"],
    );
    for (text, line, words) in [
        ("[nudge]\namuont = \"5 %\"\n", 6, ["amuont", "\"amount\""]),
        (
            "[nudge]\nalong = \"resistence\"\n",
            6,
            ["resistence", "\"resistance\""],
        ),
        (
            "[calibration]\nconnections = -1\n",
            6,
            ["connections", "from 0"],
        ),
        (
            "[calibration]\nconections = 1\n",
            6,
            ["conections", "\"connections\""],
        ),
        (
            "[calibraton]\nconnections = 1\n",
            5,
            ["calibraton", "\"calibration\""],
        ),
    ] {
        let (_folder, path) = scenario_file(&format!("{START}{text}"));
        let message = refuses(&["read", &path], &words);
        one_line(&message);
        assert!(message.contains(&format!("line {line}: ")), "{message}");
    }
}

/// A figure that a data sheet leaves out is not a perfect one.
#[test]
fn half_a_data_sheet_names_the_missing_figures() {
    for (given, missing) in [
        (
            "directivity = \"-40 dB\"",
            "reflect_tracking and source_match",
        ),
        ("source_match = 0.02", "directivity and reflect_tracking"),
        (
            "preset = \"laboratory\"\ndirectivity = 0.01\nsource_match = 0.02",
            "reflect_tracking",
        ),
    ] {
        let (_folder, path) = scenario_file(&format!("{START}[instrument]\n{given}\n"));
        let comes_with = format!("comes with {missing}");
        one_line(&refuses(&["read", &path], &["data sheet", &comes_with]));
    }
}
