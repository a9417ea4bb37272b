//! An instrument whose figures differ by band, over a sweep: what a calibration leaves steps at an
//! edge, and keeps its one draw.
//!
//! Expected values follow from one law, exact for any raw analyzer: a load that reflects δ and is
//! taken for none makes a match read −δ (the correction turns −1, δ, 1 into −1, 0, 1).

use std::path::Path;

use jigwise_bench::{Bench, Complex64, Fixture, Measurement, Scenario};
use jigwise_tests::seed::seed;

/// Nothing but the load is off: by less below 30 MHz, more to 100 MHz, and still more above.
fn scenario(loads: [&str; 3], seed: u64, more: &str) -> Scenario {
    let [low, middle, high] = loads;
    let text = format!(
        r#"
        version = 1
        seed = {seed}
        [device]
        kind = "resistor"
        resistance = 50
        [sweep]
        from = "10 MHz"
        to = "150 MHz"
        points = 15
        [calibration]
        method = "both directions"
        front_end = 3
        [instrument]
        open = 0
        short = 0
        through_tracking = 0
        crosstalk = 0
        load_match = 0
        raw_match = 0
        reflect_floor = "-300 dB"
        through_floor = "-300 dB"
        trace_magnitude = 0
        trace_phase = "0 deg"
        display_magnitude = 0
        display_phase = "0 deg"
        reconnect = 0
        [[instrument.band]]
        up_to = "30 MHz"
        load = {low}
        [[instrument.band]]
        up_to = "100 MHz"
        load = {middle}
        [[instrument.band]]
        load = {high}
        {more}
        "#
    );
    Scenario::from_toml(&text, "bands").unwrap()
}

/// What a match reads, by frequency in MHz.
fn match_read(scenario: &Scenario) -> Vec<(f64, Complex64)> {
    let measured = Measurement::of(scenario, Fixture::Reflect).unwrap();
    let readings = measured.points.iter().map(|point| point.corrected.s11);
    let mhz = measured.freq_hz.iter().map(|hz| (hz / 1e6).round());
    mhz.zip(readings).collect()
}

#[test]
fn a_sweep_steps_at_an_edge_and_keeps_its_draw() {
    for run in 0..20 {
        let swept = scenario(["\"-40 dB\"", "\"-20 dB\"", "\"-34 dB\""], seed() + run, "");
        let read = match_read(&swept);
        let first = read[0].1;
        assert!(first.norm() > 1e-5, "seed {}: {first}", seed() + run);
        for (mhz, s) in read {
            // rms 0.01, 0.1 and 10^(−34/20), each up to its edge.
            let factor = match mhz {
                ..=30.0 => 1.0,
                ..=100.0 => 10.0,
                _ => 10f64.powf(6.0 / 20.0),
            };
            let off = (s - first * factor).norm() / s.norm();
            assert!(off < 1e-9, "seed {}: {mhz} MHz {s} {first}", seed() + run);
        }
    }
}

/// What the first band has none of is drawn once as well, as large as a band has it.
#[test]
fn what_the_first_band_has_none_of_is_drawn_once_too() {
    const RUNS: u64 = 400;
    let mut square = 0.0;
    for run in 0..RUNS {
        let swept = scenario(["0", "\"-40 dB\"", "\"-20 dB\""], seed() + run, "");
        let read = match_read(&swept);
        let at = |mhz: f64| read.iter().find(|(at, _)| *at == mhz).unwrap().1;
        assert!(at(30.0).norm() < 1e-9, "seed {}", seed() + run);
        let (middle, high) = (at(40.0), at(150.0));
        assert!((high - middle * 10.0).norm() < 1e-9 * high.norm());
        square += middle.norm_sqr() / 1e-4;
    }
    // |δ|² is exponential: 400 of them have a mean within four standard deviations of 5 %.
    let mean = square / RUNS as f64;
    assert!((mean - 1.0).abs() < 0.2, "seed {}: {mean}", seed());
}

/// To first order in the load alone, e = 2·|δ|, whatever the part and the fixture.
#[test]
fn a_readout_has_the_budget_of_its_band() {
    for (mhz, rms) in [(30.0, 0.01), (30.1, 0.1), (100.0, 0.1), (101.0, 0.02)] {
        let at = format!("[at]\nfrequency = \"{mhz} MHz\"");
        let scenario = scenario(["0.01", "0.1", "0.02"], 1, &at);
        let readout = Bench::new(&scenario).unwrap().readout();
        for seen in &readout.appraisal.unwrap().fixtures {
            let e = seen.figure_of_merit.unwrap();
            assert!((e / (2.0 * rms) - 1.0).abs() < 1e-9, "{mhz} MHz: {e}");
        }
    }
}

#[test]
fn above_the_last_band_file_and_line_are_named() {
    let text = "version = 1\n[device]\nkind = \"open\"\n[instrument]\n[[instrument.band]]\n\
                up_to = \"30 MHz\"\nload = \"-40 dB\"\n[at]\nfrequency = \"50 MHz\"\n\
                [sweep]\nfrom = \"1 MHz\"\nto = \"31 MHz\"\n";
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.toml");
    std::fs::write(&path, text).unwrap();
    let scenario = Scenario::read_file(&path).unwrap();
    let of_readout = Bench::new(&scenario).unwrap_err();
    let of_sweep = Measurement::of(&scenario, Fixture::Reflect).unwrap_err();
    for (error, words) in [
        (
            of_readout,
            "50.00\u{202f}MHz is above; add a band without up_to",
        ),
        (of_sweep, "the instrument has no figures at"),
    ] {
        let error = error.in_file(Path::new(&path));
        assert_eq!(error.line(), Some(4), "{error}");
        assert!(error.to_string().contains(words), "{error}");
    }
}
