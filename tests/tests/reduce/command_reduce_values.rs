//! `jig reduce --model`: the values of a circuit as they are printed.

use std::process::ExitCode;

use jigwise_tests::jig::{jig, json};
use jigwise_tests::workbench::{CLUB_BENCH, Workbench};

fn scenario(device: &str, sweep: &str, instrument: &str) -> String {
    format!("version = 1\n[device]\n{device}\n[sweep]\n{sweep}\npoints = 201\n{instrument}")
}

/// X = 0 at √(1/(LC) − (R/L)²)/2π = 12.7324 MHz and 1/(2π√(LC)) = 15.9155 MHz, by numpy. Only the
/// second was printed, as the frequency "where X reads zero".
#[test]
fn both_resonances_of_a_lossy_coil_are_printed() {
    let bench = Workbench::new();
    let printed = |resistance: &str, stem: &str| {
        let device = format!(
            "kind = \"inductor\"\ninductance = \"10 uH\"\nparallel_capacitance = \"10 pF\"\n\
             series_resistance = \"{resistance}\""
        );
        let text = scenario(&device, "from = \"1 MHz\"\nto = \"50 MHz\"", "");
        let path = bench.measured(&text, "series-through", stem, &[]);
        let arguments = ["reduce", &path, "--fixture", "series-through"];
        let outcome = jig(&[&arguments[..], &["--model", "auto"]].concat());
        assert_eq!(outcome.code, ExitCode::SUCCESS, "{}", outcome.err);
        outcome.out
    };
    let lossy = printed("600 ohm", "lossy");
    for words in [
        "self-resonance (X = 0) = 12.732\u{202f}MHz",
        "1/(2π√(LC)) = 15.915\u{202f}MHz",
        "Above its self-resonance at 12.732\u{202f}MHz, where X reads zero",
    ] {
        assert!(lossy.contains(words), "{words}\n{lossy}");
    }
    // 12 parts in a million apart: one number.
    let good = printed("5 ohm", "good");
    assert!(good.contains("(X = 0) = 15.915\u{202f}MHz"), "{good}");
    assert!(!good.contains("1/(2π√(LC))"), "{good}");
}

/// An ESR below its u is there with both, and with what it is below; without an instrument u holds
/// no calibration, and there is no bound.
#[test]
fn a_small_loss_is_printed_with_its_bound() {
    let bench = Workbench::new();
    let device = "kind = \"capacitor\"\ncapacitance = \"10 nF\"\nesr = \"0.1 ohm\"";
    let text = scenario(device, "from = \"1 MHz\"\nto = \"30 MHz\"", CLUB_BENCH);
    let path = bench.measured(&text, "reflect", "bypass", &[]);
    let arguments = [
        "reduce",
        &path,
        "--fixture",
        "reflect",
        "--model",
        "capacitor",
    ];
    let instrument = ["--instrument", "club bench"];
    let esr = |more: &[&str]| {
        let values = json(&[&arguments[..], more].concat())["values"]["values"].clone();
        let all = values.as_array().unwrap().clone();
        all.into_iter().find(|v| v["quantity"] == "ESR").unwrap()
    };
    let known = esr(&instrument);
    let [value, u, bound] = ["value", "u", "upper_bound"].map(|key| known[key].as_f64().unwrap());
    // At least that of a value of zero, 1.96 u less what it lies below; at most that far above.
    assert!(value < 2.0 * u, "{known}");
    assert!(
        bound > value + 1.64 * u && bound < value.max(0.0) + 1.97 * u,
        "{known}"
    );
    let text = jig(&[&arguments[..], &instrument].concat()).out;
    let line = text.lines().find(|line| line.contains("ESR =")).unwrap();
    assert!(line.contains('±') && line.contains(", below "), "{line}");
    assert!(line.ends_with("at 95\u{202f}%"), "{line}");
    assert!(esr(&[])["upper_bound"].is_null());
}
