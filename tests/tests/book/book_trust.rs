//! What the book says of calibration, strays and real parts is true of its scenarios, and its
//! numbers are those of textbook formulas written out here a second time.

use std::f64::consts::{PI, TAU};

use jigwise_bench::{
    Bench, Device, Fixture, Immittance, Measurement, Part, Scenario, complex_ohm, engineering,
};
use jigwise_exercises::scenario;
use jigwise_tests::expected::near_by_share;
use jigwise_tests::pressed_book::text_of;
use num_complex::Complex64;

fn plain(text: String) -> String {
    text.replace('\u{202f}', " ")
}

fn back(name: &str, fixture: Fixture) -> Complex64 {
    back_of(&scenario(name).unwrap(), fixture)
}

fn back_of(scenario: &Scenario, fixture: Fixture) -> Complex64 {
    let readout = Bench::new(scenario).unwrap().readout();
    let got_back = readout.of(fixture).got_back.unwrap();
    got_back.impedance().unwrap()
}

fn part_of(name: &str) -> Complex64 {
    let readout = Bench::new(&scenario(name).unwrap()).unwrap().readout();
    readout.device.impedance().unwrap()
}

/// "All are off by the same share": Z' = Z·Z0/Zload in every fixture, at every phase.
#[test]
fn a_wrong_load_scales_every_impedance_alike() {
    let text = text_of("planes/load.html");
    for name in [
        "termination-wrong-load",
        "rf-choke-wrong-load",
        "feed-wrong-load",
    ] {
        for fixture in Fixture::ALL {
            near_by_share(back(name, fixture), part_of(name) * 50.0 / 51.0, 1e-12);
        }
    }
    assert!(text.matches("1.96 %").count() >= 10, "{text}");
    assert!(text.contains("37.25 − j26.47 Ω"), "{text}");
}

/// The law of imperfect standards, by hand: an open of C is 1/(jωC), a short of L is jωL.
#[test]
fn open_and_short_spoil_the_end_that_the_page_says() {
    let omega = TAU * 145e6;
    let ideal = Complex64::new(1e18, 0.0);
    let (load, short) = (Complex64::from(50.0), Complex64::ZERO);
    let law = |z: Complex64, open: Complex64, short: Complex64| {
        50.0 * (z - short) * (load - open) / ((z - open) * (load - short))
    };
    let fringing = Complex64::new(0.0, -1.0 / (omega * 60e-15));
    let long = Complex64::new(0.0, omega * 90e-12);
    let off = |name: &str, expected: Complex64| {
        let found = back(name, Fixture::Reflect);
        near_by_share(found, expected, 1e-9);
        (found - part_of(name)).norm() / part_of(name).norm()
    };
    let large = Complex64::from(2_200.0);
    let small = Complex64::from(3.3);
    let large_open = off("large-fringing-open", law(large, fringing, short));
    let large_short = off("large-long-short", law(large, ideal, long));
    let small_open = off("small-fringing-open", law(small, fringing, short));
    let small_short = off("small-long-short", law(small, ideal, long));
    assert!(
        large_open > 10.0 * large_short,
        "{large_open} {large_short}"
    );
    assert!(small_short > 5.0 * small_open, "{small_short} {small_open}");
}

#[test]
fn the_methods_leave_what_the_page_says() {
    let z = Complex64::new(22.0, -18.0);
    let off = |name: &str, fixture| (back(name, fixture) - z).norm() / z.norm();
    for fixture in Fixture::ALL {
        assert!(off("filter-input-one-direction", fixture) < 1e-12);
        assert!(off("filter-input-both-directions", fixture) < 1e-12);
    }
    for through in [Fixture::ShuntThrough, Fixture::SeriesThrough] {
        assert_eq!(
            back("filter-input-one-port", through),
            back("filter-input-raw", through)
        );
        // Worse by chance here, and the other way about elsewhere.
        let (response, enhanced) = (
            off("filter-input-open-and-through", through),
            off("filter-input-one-port-and-through", through),
        );
        assert!(enhanced > response, "{through:?}: {enhanced} {response}");
        let better_elsewhere = (1..60).any(|k| {
            let at = |name: &str| {
                let mut scenario = scenario(name).unwrap();
                scenario.freq_hz = Some(20e6 * f64::from(k));
                (back_of(&scenario, through) - z).norm()
            };
            at("filter-input-one-port-and-through") < at("filter-input-open-and-through")
        });
        assert!(better_elsewhere, "{through:?}");
    }
    for method in ["one-port-and-through", "one-port"] {
        assert!(off(&format!("filter-input-{method}"), Fixture::Reflect) < 1e-12);
    }
    // Shunt and series fixture after a response, in exact terms of the matches: the ratio of
    // what they get back is 4·Zs·Zl/(Zs + Zl)², with Zs and Zl what the ports are. Crosstalk of
    // the raw front end is some −80 dB.
    let full = jigwise_physics::RawAnalyzer::new(7).terms(145e6).forward;
    let ohm = |gamma: Complex64| 50.0 * (1.0 + gamma) / (1.0 - gamma);
    let (zs, zl) = (ohm(full.one_port.source_match), ohm(full.load_match));
    let shunt = z * 25.0 * (1.0 / zs + 1.0 / zl);
    let series = z * 100.0 / (zs + zl);
    near_by_share(
        back("filter-input-open-and-through", Fixture::ShuntThrough),
        shunt,
        5e-3,
    );
    near_by_share(
        back("filter-input-open-and-through", Fixture::SeriesThrough),
        series,
        5e-3,
    );
    let apart = (series / shunt - 1.0).norm();
    let square = (full.one_port.source_match - full.load_match).norm_sqr();
    assert!((apart / square - 1.0).abs() < 0.5, "{apart} {square}");
}

#[test]
fn the_checks_show_what_the_page_says() {
    let reads = |name: &str, device: Device| {
        let scenario = Scenario {
            device,
            ..scenario(name).unwrap()
        };
        let readout = Bench::new(&scenario).unwrap().readout();
        readout.of(Fixture::Reflect).reading.unwrap()
    };
    let sum = |name: &str| {
        let measured = Measurement::of(&scenario(name).unwrap(), Fixture::ShuntThrough).unwrap();
        let s = measured.points[0].corrected;
        (s.s21 - s.s11 - 1.0).norm()
    };
    // A wrong load and a skipped one pass the open, the short and the sum.
    for name in ["check-good", "check-wrong-load", "check-skipped-load"] {
        assert!((reads(name, Device::Open) - 1.0).norm() < 1e-12, "{name}");
        assert!((reads(name, Device::Short) + 1.0).norm() < 1e-12, "{name}");
        assert!(sum(name) < 1e-12, "{name}");
    }
    for name in ["check-wrong-load", "check-skipped-load"] {
        let z = back(name, Fixture::Reflect);
        assert!((z - 100.0).norm() > 1.0, "{name}: {z}");
    }
    // A skipped short and one by open and through do not.
    for name in ["check-skipped-short", "check-open-and-through"] {
        assert!((reads(name, Device::Short) + 1.0).norm() > 0.1, "{name}");
        assert!(sum(name) > 0.1, "{name}");
    }
    let mirrored = back("check-open-for-short", Fixture::Reflect);
    assert!((mirrored / 25.0 - 1.0).norm() < 0.15, "{mirrored}");
    // "A calibration of both directions with the same slip is refused."
    let mut same = scenario("check-open-for-short").unwrap();
    same.calibration.as_mut().unwrap().method = jigwise_bench::METHODS
        .into_iter()
        .find(|(key, _)| *key == "both directions")
        .unwrap()
        .1;
    let error = Bench::new(&same).unwrap_err().to_string();
    assert!(error.contains("read"), "{error}");
    // −20·log10 of |1/101|, the load of 51 Ω on 50 Ω: a ratio of exact numbers.
    assert!(text_of("planes/notice.html").contains("−40.1 dB"));
}

/// β = 2π·f/(v·c), and Γ turned by 2βl: any textbook on lines.
#[test]
fn the_plane_is_moved_by_the_length_of_the_arm() {
    const C: f64 = 299_792_458.0;
    let text = text_of("planes/plane.html");
    let millimetre = 360.0 * 100e6 * 1e-3 / (0.7 * C);
    assert!(text.contains(&format!(
        "100 MHz {millimetre:.3}° {:.3}°",
        2.0 * millimetre
    )));
    let turn = 720.0 * 430e6 * 0.023 / (0.66 * C);
    assert!(
        text.contains(&format!("turns by {turn:.1}°")),
        "{turn} {text}"
    );
    let part = Complex64::new(75.0, 25.0);
    let gamma = (part - 50.0) / (part + 50.0) * Complex64::cis(-turn * PI / 180.0);
    let before = 50.0 * (1.0 + gamma) / (1.0 - gamma);
    near_by_share(back("arm-part", Fixture::Reflect), before, 1e-9);
    assert!(text.contains(&plain(complex_ohm(before, 4))));
    assert!(text.contains("reads 75.00 + j25.00 Ω"), "{text}");
}

#[test]
fn blanks_give_the_part_or_say_why_not() {
    for (page, value, left) in [
        ("strays/gap.html", "which is 3.30 pF", "which is 3.65 pF"),
        ("strays/ground.html", "which is 18.0 nH", "which is 19.6 nH"),
        ("strays/socket.html", "which is 12.0 pF", "which is 13.5 pF"),
    ] {
        let text = text_of(page);
        let result = text.split("Result.").nth(1).unwrap();
        assert!(
            result.split("Taken off").next().unwrap().contains(value),
            "{page}: {result}"
        );
        assert!(
            text.split("Result.").next().unwrap().contains(left),
            "{page}: {text}"
        );
    }
    for (page, words) in [
        ("strays/gap.html", "the empty gap reads"),
        ("strays/ground.html", "the shorted branch reads"),
    ] {
        let text = text_of(page);
        assert!(
            text.contains(&format!("Result. None: {words}")),
            "{page}: {text}"
        );
    }
    // 0.35 pF of 3.3 pF, of which 15 % is not known.
    assert!(text_of("strays/gap.html").contains("Taken off: 10.6 % of it"));
}

/// One contact in series; the braids side by side in series with the part below the choke's
/// corner.
#[test]
fn contacts_and_loops_add_their_ohms() {
    for (name, ohm) in [
        ("meter-shunt-clip", 0.108),
        ("meter-shunt-loop", 0.112),
        ("meter-shunt-loop-choked", 0.1),
    ] {
        near_by_share(back(name, Fixture::ShuntThrough), ohm.into(), 1e-4);
    }
}

/// Z of the circuits written out by hand, and 1/(1 − (f/f0)²).
#[test]
fn parts_change_their_kind_where_the_page_says() {
    let text = text_of("parts/kind.html");
    let f0 = 1.0 / (TAU * (1.2e-9_f64 * 100e-9).sqrt());
    for (share, high) in [(0.0995, 1.0), (0.3015, 10.0)] {
        let hz: f64 = f0 * (1.0 - 1.0 / (1.0 + high / 100.0_f64)).sqrt();
        let row = format!("{share:.4}, {}", plain(engineering(hz, "Hz", 4)));
        assert!(text.contains(&row), "{row}: {text}");
        let omega = TAU * hz;
        let z = Complex64::new(0.035, omega * 1.2e-9 - 1.0 / (omega * 100e-9));
        let seems = -1.0 / (omega * z.im) / 100e-9 - 1.0;
        assert!((100.0 * seems / high - 1.0).abs() < 1e-9, "{seems}");
    }
    assert_eq!(text.matches("a coil of").count(), 2, "{text}");
    assert_eq!(text.matches("a capacitor of").count(), 2, "{text}");
}

#[test]
fn series_and_parallel_are_one_part() {
    let z = part_of("ferrite-choke");
    let y = 1.0 / z;
    let text = text_of("parts/model.html");
    let omega = TAU * 7.1e6;
    for said in [
        engineering(z.re, "Ω", 3),
        engineering(z.im / omega, "H", 3),
        engineering(1.0 / y.re, "Ω", 3),
        engineering(-1.0 / (omega * y.im), "H", 3),
    ] {
        assert!(text.contains(&plain(said.clone())), "{said}: {text}");
    }
}

/// IEC 60444: fp = fs·√(1 + C1/C0), width (R1 + 2·Z0)/(2π·L1). Power: the current of a source of
/// EMF 2·√(Z0·P) through both ports and R1.
#[test]
fn the_crystal_is_that_of_the_handbook() {
    let (fs, c1, r1, c0) = (8.998e6_f64, 18e-15_f64, 14.0_f64, 4.2e-12_f64);
    let text = text_of("parts/crystal.html");
    let l1 = 1.0 / ((TAU * fs).powi(2) * c1);
    assert!(text.contains(&plain(engineering(l1, "H", 3))));
    let offset = fs * ((1.0 + c1 / c0).sqrt() - 1.0);
    assert!(
        text.contains(&plain(engineering(offset, "Hz", 3))),
        "{offset}"
    );
    let drive = 4.0 * 50.0 * 1e-3 * r1 / (100.0 + r1).powi(2);
    assert!(
        text.contains(&plain(engineering(drive, "W", 3))),
        "{drive} {text}"
    );
    let text = text_of("parts/width.html");
    let width = (r1 + 100.0) / (TAU * l1);
    assert!(
        text.contains(&plain(engineering(width, "Hz", 4))),
        "{width}"
    );
    let q = (fs / width * (r1 + 100.0) / r1 / 100.0).round() * 100.0;
    assert_eq!(q, 70_200.0);
    assert!(text.contains("its Q is 70 200"), "{text}");
}

#[test]
fn the_best_fixture_goes_along_as_the_page_says() {
    let best = |name: &str| {
        let scenario = scenario(name).unwrap();
        let plan = jigwise_bench::SweepPlan {
            points: 8,
            ..scenario.sweep.unwrap()
        };
        let mut seen = Vec::new();
        for hz in plan.freq_hz() {
            let at = Scenario {
                freq_hz: Some(hz),
                ..scenario.clone()
            };
            let readout = Bench::new(&at).unwrap().readout();
            let fixture = readout.appraisal.unwrap().best_for_value.unwrap();
            if !seen.contains(&fixture) {
                seen.push(fixture);
            }
        }
        seen
    };
    use Fixture::{Reflect, SeriesThrough, ShuntThrough};
    assert_eq!(best("bypass-capacitor"), [ShuntThrough]);
    assert_eq!(best("filter-coil"), [ShuntThrough, Reflect, SeriesThrough]);
    assert_eq!(best("ferrite-choke"), [Reflect, SeriesThrough]);
    assert_eq!(
        text_of("parts/fixture.html").matches("(invented)").count(),
        3
    );
}

/// The figures' captions name the extremes; they are those of the circuits.
#[test]
fn a_curve_names_its_extremes() {
    let text = text_of("parts/comes.html");
    let f0 = 1.0 / (TAU * (1.2e-9_f64 * 100e-9).sqrt());
    let least = format!(
        "|Z| is least, 35.0 mΩ, at {}",
        plain(engineering(f0, "Hz", 3))
    );
    assert!(text.contains(&least), "{least}: {text}");
    let Device::Part(Part::Inductor(coil)) = scenario("filter-coil").unwrap().device else {
        panic!("no coil");
    };
    let most = (1..4_000)
        .map(|k| {
            let hz = 30e6 + 2e3 * f64::from(k);
            let z: Option<Complex64> = coil.immittance(hz).ok().and_then(Immittance::impedance);
            z.unwrap().norm()
        })
        .fold(0.0, f64::max);
    let said = format!("|Z| is most, {}", plain(engineering(most, "Ω", 3)));
    assert!(text.contains(&said), "{said}: {text}");
}
