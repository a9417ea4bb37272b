//! Commands that ask an instrument with bands: at a frequency, or its first band, and they say so.

use jigwise_tests::answers::number;
use jigwise_tests::jig::{jig, json, refuses};
use jigwise_tests::workbench::Workbench;

/// Little but the load is off, so that e = 2·|δ| for every part in every fixture: 2 % below 30 MHz, 20 %
/// up to 300 MHz.
const TWO_BANDS: &str = r#"
version = 1
[instrument]
name = "two bands"
open = 0
short = 0
through_tracking = 0
crosstalk = 0
load_match = 0
raw_match = 0
reflect_floor = "-90 dB"
through_floor = "-90 dB"
trace_magnitude = 0
trace_phase = "0 deg"
display_magnitude = 0
display_phase = "0 deg"
[[instrument.band]]
up_to = "30 MHz"
load = 0.01
[[instrument.band]]
up_to = "300 MHz"
load = 0.1
"#;

const BLEND: [&str; 5] = ["blend", "--reflect", "0.333333", "--shunt-through", "0.8"];

#[test]
fn without_a_frequency_the_first_band_counts_and_is_named() {
    let first = "(first band, up to 30.00\u{202f}MHz)";
    let bench = Workbench::new();
    let file = bench.write("two.toml", TWO_BANDS);
    for asked in [
        &["reach"][..],
        &["crossovers"],
        &BLEND,
        &["read", "--device", "100"],
    ] {
        for (instrument, name) in [("handheld", "handheld"), (&file, "two bands")] {
            let with = [asked, &["--instrument", instrument]].concat();
            let out = jig(&with).out;
            assert!(out.contains(&format!("{name} {first}")), "{with:?}: {out}");
            let out = jig(&[&with[..], &["--at", "100M"]].concat()).out;
            assert!(!out.contains("first band"), "{with:?}: {out}");
            assert!(out.contains("100.0\u{202f}MHz"), "{with:?}: {out}");
        }
    }
}

#[test]
fn at_a_frequency_its_band_counts() {
    let bench = Workbench::new();
    let file = bench.write("two.toml", TWO_BANDS);
    // 10 % at 95 % of e = 2 % for every part, and of e = 20 % for none.
    let has_reach = |at: &[&str]| {
        let found = json(&[&["reach", "--instrument", &file], at].concat());
        let ranges = found["fixtures"][0]["ranges"].as_array().unwrap().len();
        ranges > 0
    };
    assert!(has_reach(&[]) && has_reach(&["--at", "30M"]));
    assert!(!has_reach(&["--at", "30.1M"]));

    // The shift of the load is common to both readings, so the blend is as uncertain as each.
    let u = |at: &[&str]| {
        let found = json(&[&BLEND[..], &["--instrument", &file], at].concat());
        number(&found["u_r_ohm"])
    };
    let (low, high) = (u(&["--at", "10M"]), u(&["--at", "300M"]));
    assert!(
        (low / (100.0 * 0.02 / 2f64.sqrt()) - 1.0).abs() < 0.01,
        "{low}"
    );
    assert!((high / low - 10.0).abs() < 0.1, "{high} {low}");
    assert_eq!(u(&[]), low);

    // The handheld's load match and ends differ by band, so its crossovers move.
    let crossover = |at: &[&str]| {
        let asked = ["crossovers", "--instrument", "handheld"];
        number(&json(&[&asked, at].concat())["crossovers"][0]["magnitude_ohm"])
    };
    assert_eq!(crossover(&[]), crossover(&["--at", "30M"]));
    assert_ne!(crossover(&[]), crossover(&["--at", "31M"]));
}

#[test]
fn above_the_last_band_the_file_and_its_line_are_named() {
    let bench = Workbench::new();
    let file = bench.write("two.toml", TWO_BANDS);
    for asked in [&["reach"][..], &["crossovers"], &BLEND] {
        let with = [asked, &["--instrument", &file, "--at", "301M"]].concat();
        refuses(
            &with,
            &[
                "two.toml, line 3: two bands has figures up to 300.0\u{202f}MHz only, and \
                 301.0\u{202f}MHz is above",
            ],
        );
    }
    // A line of the scenario would be the wrong one.
    let scenario = bench.write(
        "bench.toml",
        "version = 1\n[instrument]\npreset = \"handheld\"\n[device]\nkind = \"open\"\n",
    );
    let said = refuses(
        &["read", &scenario, "--instrument", &file, "--at", "301M"],
        &["two bands has figures up to"],
    );
    assert!(!said.contains("bench.toml"), "{said}");
}

#[test]
fn reduce_uses_the_band_of_each_point() {
    let bench = Workbench::new();
    let file = bench.write("two.toml", TWO_BANDS);
    let points = "# MHz S RI R 50\n1 0.3333 0\n30 0.3333 0\n31 0.3333 0\n300 0.3333 0\n";
    let sweep = bench.write("part.s1p", points);
    let reduce = ["reduce", "--fixture", "reflect", "--instrument", &file];
    let found = json(&[&reduce[..], &[&sweep]].concat());
    let points = found["points"].as_array().unwrap();
    // e = √2·u(R)/|Z| = 2·|δ|.
    let e = |point: &serde_json::Value| {
        2f64.sqrt() * number(&point["u_r_ohm"]) / number(&point["magnitude_ohm"])
    };
    for (point, wanted) in points.iter().zip([0.02, 0.02, 0.2, 0.2]) {
        assert!((e(point) / wanted - 1.0).abs() < 1e-3, "{point}");
    }

    let above = bench.write("above.s1p", "# MHz S RI R 50\n1 0.3 0\n301 0.3 0\n");
    refuses(
        &[&reduce[..], &[&above]].concat(),
        &[
            "above.s1p: the sweep goes to 301.00\u{202f}MHz",
            "add a band without up_to",
        ],
    );
}
