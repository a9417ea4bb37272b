//! What is shown follows from the scenario.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;
use jigwise_bench::words::{self, fixture_title};
use jigwise_bench::{Complex64, Device, Fixture, Scenario, fixed};
use jigwise_sim::{BenchPage, Simulator, Theme};

use super::{bench_window, harness, run_in, simulator, type_into, value, window, z};

#[test]
fn columns_say_what_the_readout_holds() {
    for device in ["4.7k", "330 - j120", "0.5", "open", "short", "-25", "j40"] {
        let harness = window(device);
        let readout = harness.state().desk.readout();
        let [of_db, _] = words::display_decimals(&harness.state().desk.instrument().figures);
        let known = harness.state().desk.bench().modulus_intervals();
        for (entry, known) in readout.fixtures.iter().zip(known) {
            let title = fixture_title(entry.fixture);
            if entry.reading.is_none() {
                assert!(value(&harness, &format!("{title}, reading")).contains("oscillate"));
                continue;
            }
            let decibels = value(&harness, &format!("{title}, decibels"));
            match entry.decibels() {
                Some(db) => assert_eq!(decibels, format!("{}\u{202f}dB", fixed(db, of_db))),
                None => assert!(decibels.starts_with('0'), "{device}: {decibels}"),
            }
            assert_eq!(
                value(&harness, &format!("{title}, ohms got back")),
                words::came_out_complex(entry.got_back.unwrap(), known.as_ref())
            );
        }
    }
}

#[test]
fn every_theme_and_text_size_keeps_all_three_columns() {
    for theme in Theme::ALL {
        for percent in [100, 200, 300] {
            let mut start = simulator("4.7k");
            start.view.theme = theme;
            start.view.set_text_percent(percent);
            let mut harness = harness(start, [1280.0, 720.0]);
            run_in(&mut harness, [1280.0, 720.0], 10);
            for title in ["Reflect", "Shunt-through", "Series-through"] {
                let verdict = value(&harness, &format!("{title}, verdict"));
                assert!(verdict.ends_with("σ apart)"), "{verdict}");
            }
        }
    }
}

#[test]
fn calibrating_again_moves_the_ohms_and_leaves_verdict_and_separation() {
    let mut harness = window("4.7k");
    let verdict = value(&harness, "Series-through, verdict");
    let before = value(&harness, "Series-through, ohms got back");
    for _ in 0..3 {
        let last = value(&harness, "Series-through, ohms got back");
        harness.get_by_label("Calibrate again").click();
        harness.run_steps(3);
        assert_ne!(value(&harness, "Series-through, ohms got back"), last);
        assert_eq!(value(&harness, "Series-through, verdict"), verdict);
    }
    assert_eq!(harness.state().desk.trials().ticks().count, 3);
    harness
        .get_by_label_contains("back to a perfect one")
        .click();
    harness.run_steps(3);
    assert_eq!(value(&harness, "Series-through, ohms got back"), before);
}

#[test]
fn a_nudge_too_small_for_all_names_the_nearest() {
    let mut harness = window("20k");
    assert!(
        harness
            .query_by_label_contains("No fixture shows +10.0\u{202f}% here. Nearest: series")
            .is_some()
    );
    type_into(&mut harness, "Nudge, percent of |Z|", "+20 %");
    assert!(
        harness
            .query_by_label_contains("No fixture shows")
            .is_none()
    );
    assert_eq!(harness.state().desk.scenario().nudge.amount(), 0.2);
    type_into(&mut harness, "Nudge, percent of |Z|", "-120 %");
    assert_eq!(harness.state().desk.scenario().nudge.amount(), 0.2);
}

#[test]
fn every_entry_of_the_instrument_is_live() {
    let mut harness = bench_window("4.7k", BenchPage::Instrument);
    let u = |harness: &Harness<'_, Simulator>| value(harness, "Series-through, uncertainty");
    let handheld = u(&harness);
    let choose = |harness: &mut Harness<'_, Simulator>, name: &str| {
        harness.get_by_label_contains("Instrument: ").click();
        harness.run_steps(3);
        harness.get_by_label(name).click();
        harness.run_steps(3);
    };
    choose(&mut harness, "laboratory");
    assert_ne!(u(&harness), handheld);
    choose(&mut harness, "handheld");
    assert_eq!(u(&harness), handheld);
    type_into(&mut harness, "Load", "-20 dB");
    assert_ne!(u(&harness), handheld);
    assert_eq!(harness.state().desk.instrument().name, "handheld, changed");
    type_into(&mut harness, "Load", "6 dB");
    assert!(harness.query_by_label_contains("-300 to 0 dB").is_some());
}

#[test]
fn a_kept_copy_comes_back() {
    let mut harness = bench_window("100", BenchPage::Part);
    harness.get_by_label("Keep a copy").click();
    harness.run_steps(2);
    assert!(harness.state().desk.kept().is_some());
    type_into(&mut harness, "Part", "4.7k");
    harness.get_by_label_contains("Swap with kept").click();
    harness.run_steps(3);
    assert_eq!(z(&harness), Complex64::new(100.0, 0.0));
    assert_eq!(
        harness.state().desk.kept().unwrap().device,
        "4.7k".parse().unwrap()
    );
}

#[test]
fn a_standard_left_out_shows_in_the_readout() {
    let mut harness = bench_window("100", BenchPage::Calibration);
    harness.get_by_label("calibrated: both directions").click();
    harness.run_steps(4);
    let back = |harness: &Harness<'_, Simulator>| {
        harness
            .state()
            .desk
            .got_back(Fixture::SeriesThrough)
            .and_then(|device| device.impedance())
            .unwrap()
    };
    assert!((back(&harness) - 100.0).norm() < 1e-9);
    harness.get_by_label("the short left out").click();
    harness.run_steps(4);
    assert!((back(&harness) - 100.0).norm() > 1.0, "{}", back(&harness));
    harness.get_by_label_contains("Not measured: short");
    harness.get_by_label("the short left out").click();
    harness.run_steps(4);
    assert!((back(&harness) - 100.0).norm() < 1e-9);

    type_into(&mut harness, "The load is", "51");
    harness.run_steps(4);
    for fixture in Fixture::ALL {
        let low = harness
            .state()
            .desk
            .got_back(fixture)
            .unwrap()
            .impedance()
            .unwrap();
        assert!(
            (low / 100.0 - 50.0 / 51.0).norm() < 1e-9,
            "{fixture:?}: {low}"
        );
    }
    harness.get_by_label("Strays").click();
    harness.run_steps(4);
    type_into(&mut harness, "Gap", "-1 pF");
    harness.get_by_label_contains("Gap: \"-1 pF\" is below zero");
    type_into(&mut harness, "Gap", "1 F");
    harness.get_by_label_contains("Gap: gap capacitance is");
}

#[test]
fn a_wrong_scenario_leaves_the_desk_as_it_was() {
    let mut desk = simulator("100").desk;
    let wrong = Scenario {
        device: Device::inductor(1e-6),
        freq_hz: None,
        ..Scenario::default()
    };
    assert!(desk.set_scenario(wrong).is_err());
    assert_eq!(desk.scenario().device, "100".parse().unwrap());
}
