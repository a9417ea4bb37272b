//! `jig read --instrument`: how far each fixture can be trusted and what change it shows.
//!
//! Expected numbers come from the budget written out a second time in `second_budget`. Figures
//! marked "outside" were computed once with numpy from the same equations, by a scan.

use jigwise_tests::answers::{KEYS, field_names, number};
use jigwise_tests::jig::{jig, json};
use jigwise_tests::parts::{impedance_ohm, log_uniform};
use jigwise_tests::second_budget::{
    REFLECT, SEEN, SERIES, SHUNT, display_moves, gain, handheld, noise_and_display, presets,
    reading, residuals, separation, told_from,
};
use jigwise_tests::seed::for_all;
use jigwise_tests::shown::ohm;
use jigwise_tests::workbench::scenario_file;
use num_complex::Complex64;
use proptest::prelude::*;
use serde_json::Value;

fn typed(z: Complex64) -> String {
    format!("{:e} + j{:e}", z.re, z.im).replace("+ j-", "- j")
}

fn of<'a>(found: &'a Value, key: &str) -> &'a Value {
    let entries = found["fixtures"].as_array().unwrap();
    entries.iter().find(|e| e["fixture"] == key).unwrap()
}

#[track_caller]
fn close(value: &Value, expected: f64, relative: f64) {
    let found = number(value);
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "{found}, expected {expected}"
    );
}

const ADDED: [&str; 14] = [
    "correlation",
    "limited_by",
    "limited_by_decrease",
    "limited_by_increase",
    "magnitude",
    "region",
    "relative_u",
    "resolvable_decrease",
    "resolvable_increase",
    "separation_sigma",
    "trust",
    "u_r_ohm",
    "u_x_ohm",
    "verdict",
];

#[test]
fn an_instrument_adds_its_fields_and_nothing_else_does() {
    let bare = json(&["read", "--device", "50"]);
    let full = json(&["read", "--device", "50", "--instrument", "handheld"]);
    for key in KEYS {
        let mut expected = [field_names(of(&bare, key)), ADDED.to_vec()].concat();
        expected.sort_unstable();
        assert_eq!(field_names(of(&full, key)), expected);
        assert_eq!(
            field_names(&of(&full, key)["region"]),
            ["r_ohm", "radius_ohm", "side", "x_ohm"]
        );
        let magnitude = &of(&full, key)["magnitude"];
        assert_eq!(field_names(magnitude), ["from_ohm", "to_ohm"]);
        let [low, high] = ["from_ohm", "to_ohm"].map(|end| number(&magnitude[end]));
        assert!(low < 50.0 && 50.0 < high, "{low} {high}");
    }
    let mut expected = field_names(&bare);
    expected.extend(["instrument", "best_for_value", "best_for_change"]);
    expected.sort_unstable();
    assert_eq!(field_names(&full), expected);
    // A nudge needs an instrument: the first preset, unless one is named.
    for asked in [
        ["--nudge", "+10%"].as_slice(),
        &["--swapped"],
        &["--along", "magnitude"],
    ] {
        let found = json(&[&["read", "--device", "50"], asked].concat());
        assert_eq!(found["instrument"], "handheld", "{asked:?}");
    }
}

/// Outside: what the handheld shows of 20 kΩ and 0.5 Ω, to a percent; the display's limits
/// also in closed form, S0·10^(∓0.05/20) put back into ohms.
#[test]
fn resolvable_changes_of_the_handheld() {
    let none = (None, "");
    let display = |r: f64, sign: f64| {
        let z = Complex64::from(r / 50.0);
        let s = reading(REFLECT, z).re * 10f64.powf(sign * 0.05 / 20.0);
        (1.0 + s) / (1.0 - s) / z.re - 1.0
    };
    for (device, key, up, down) in [
        (
            "20k",
            "reflect",
            (None, "display"),
            (Some(-0.536), "display"),
        ),
        ("20k", "shunt-through", none, (Some(-0.822), "")),
        (
            "20k",
            "series-through",
            (Some(0.1468), "noise"),
            (Some(-0.1135), ""),
        ),
        (
            "0.5",
            "shunt-through",
            (Some(0.0333), "noise"),
            (Some(-0.0333), ""),
        ),
        ("0.5", "reflect", (Some(0.289), "display"), none),
    ] {
        let found = json(&["read", "--device", device, "--instrument", "handheld"]);
        let entry = of(&found, key);
        for (way, (share, limit)) in [("increase", up), ("decrease", down)] {
            let value = &entry[format!("resolvable_{way}")];
            match share {
                Some(share) => close(value, share, 0.01),
                None if (device, way) == ("0.5", "decrease") => {}
                None => assert_eq!(*value, Value::Null, "{device} {key} {way}"),
            }
            let by = &entry[format!("limited_by_{way}")];
            if limit.is_empty() {
                assert!(by == "noise" || by == "display", "{device} {key} {way}");
            } else {
                assert_eq!(by, limit, "{device} {key} {way}");
            }
        }
        assert_eq!(entry["limited_by"], entry["limited_by_increase"]);
    }
    let high = json(&["read", "--device", "20k", "--instrument", "handheld"]);
    close(
        &of(&high, "reflect")["resolvable_decrease"],
        display(2e4, -1.0),
        1e-9,
    );
    let low = json(&["read", "--device", "0.5", "--instrument", "handheld"]);
    close(
        &of(&low, "reflect")["resolvable_increase"],
        display(0.5, -1.0),
        1e-9,
    );

    // With a decrease asked for, its limit is the one named.
    let down = json(&["read", "--device", "20k", "--nudge", "-1 %"]);
    for key in KEYS {
        assert_eq!(
            of(&down, key)["limited_by"],
            of(&down, key)["limited_by_decrease"]
        );
    }
    let text = jig(&["read", "--device", "20k", "--instrument", "handheld"]).out;
    assert!(
        text.contains("No fixture shows +10.0\u{202f}% here. Nearest: series-through"),
        "{text}"
    );
}

/// A nudge a little larger than the resolvable change is seen, one a little smaller is not.
#[test]
fn the_resolvable_change_is_where_the_verdict_turns() {
    let mut tried = 0;
    for (instrument, _) in presets() {
        for device in ["0.5", "12", "3 - j40", "200", "1k + j2k", "20k"] {
            let found = json(&["read", "--device", device, "--instrument", instrument]);
            for key in KEYS {
                for way in ["resolvable_increase", "resolvable_decrease"] {
                    let Some(share) = of(&found, key)[way].as_f64() else {
                        continue;
                    };
                    for (factor, sees) in [(1.0 + 1e-6, true), (1.0 - 1e-6, false)] {
                        let nudge = format!("--nudge={}%", 100.0 * share * factor);
                        let again = json(&[
                            "read",
                            "--device",
                            device,
                            "--instrument",
                            instrument,
                            &nudge,
                        ]);
                        let verdict = &of(&again, key)["verdict"];
                        assert_eq!(
                            verdict == "sees",
                            sees,
                            "{instrument} {device} {key} {nudge}"
                        );
                        tried += 1;
                    }
                }
            }
        }
    }
    assert!(tried > 150, "{tried}");
}

#[test]
fn uncertainty_is_that_of_the_budget() {
    for (instrument, figures) in presets() {
        for z in [
            (0.01, 0.0),
            (0.24, 0.0),
            (1.0, 0.0),
            (4.0, -1.4),
            (0.3, 20.0),
            (94.0, 0.0),
        ] {
            let z = Complex64::new(z.0, z.1);
            let found = json(&[
                "read",
                "--device",
                &typed(z * 50.0),
                "--instrument",
                instrument,
            ]);
            for (fixture, key) in KEYS.into_iter().enumerate() {
                let entry = of(&found, key);
                let square =
                    residuals(fixture, z, &figures) + noise_and_display(fixture, z, &figures);
                close(&entry["relative_u"], square.sqrt(), 1e-9);
                let u = number(&entry["u_r_ohm"]).hypot(number(&entry["u_x_ohm"]));
                assert!((u / (50.0 * z.norm() * square.sqrt()) - 1.0).abs() < 1e-9);
                assert!(number(&entry["correlation"]).abs() <= 1.0);
            }
        }
    }
}

/// The image of the reading's disc: every point of its edge is equally far from the reading.
/// Where the part is far from the fixture's pole, its radius lies between 1.731·e, all error
/// spread evenly, and 2.448·e, all of it along one line (χ² of two, 95 %).
#[test]
fn the_coverage_region_is_the_image_of_a_disc() {
    for (instrument, _) in presets() {
        for device in ["0.5", "12", "3 - j40", "200", "1k + j2k", "20k"] {
            let found = json(&["read", "--device", device, "--instrument", instrument]);
            let part = &found["device"];
            let z = Complex64::new(number(&part["r_ohm"]), number(&part["x_ohm"])) / 50.0;
            for (fixture, key) in KEYS.into_iter().enumerate() {
                let entry = of(&found, key);
                let region = &entry["region"];
                if region.is_null() {
                    let why = entry["trust"].as_str().unwrap();
                    assert!(why.contains("only"), "{instrument} {device}: {why}");
                    continue;
                }
                let [r, x, radius] =
                    ["r_ohm", "x_ohm", "radius_ohm"].map(|name| number(&region[name]) / 50.0);
                let distances: Vec<f64> = [0.0, 1.0, 2.5, 4.0, 5.5]
                    .map(|angle_rad| {
                        let edge = Complex64::new(r, x) + Complex64::from_polar(radius, angle_rad);
                        (reading(fixture, edge) - reading(fixture, z)).norm()
                    })
                    .to_vec();
                for distance in &distances {
                    assert!(
                        (distance / distances[0] - 1.0).abs() < 1e-6,
                        "{instrument} {device} {key}: {distances:?}"
                    );
                }
                let e = number(&entry["relative_u"]);
                if e < 1e-3 {
                    let share = radius / z.norm() / e;
                    assert!(
                        (1.73..2.46).contains(&share),
                        "{instrument} {device} {key}: {share}"
                    );
                }
            }
        }
    }
    let lost = json(&["read", "--device", "20k", "--instrument", "handheld"]);
    assert_eq!(of(&lost, "reflect")["region"]["side"], "outside");
    assert_eq!(of(&lost, "series-through")["region"]["side"], "inside");
}

#[test]
fn separation_in_place_swapped_and_along_each_direction() {
    let j = Complex64::I;
    for (instrument, figures) in presets() {
        for z in [
            (0.01, 0.0),
            (1.5, 0.0),
            (0.06, -0.8),
            (20.0, 40.0),
            (400.0, 0.0),
        ] {
            let z = Complex64::new(z.0, z.1);
            for (along, step) in [
                ("magnitude", z),
                ("resistance", Complex64::from(z.norm())),
                ("reactance", j * z.norm()),
            ] {
                for share in [0.1, -0.02] {
                    for swapped in [false, true] {
                        let nudge = format!("--nudge={}%", 100.0 * share);
                        let device = typed(z * 50.0);
                        let mut arguments = vec!["read", "--device", &device];
                        arguments.extend(["--instrument", instrument, "--along", along, &nudge]);
                        arguments.extend(swapped.then_some("--swapped"));
                        let found = json(&arguments);
                        for (fixture, key) in KEYS.into_iter().enumerate() {
                            let entry = of(&found, key);
                            let parts = [z, z + step * share];
                            let d = separation(fixture, parts, &figures, swapped);
                            close(&entry["separation_sigma"], d, 1e-6);
                            let moves = display_moves(fixture, parts, &figures);
                            let word = match d {
                                _ if d < 1.0 => "cant-tell",
                                _ if !moves => "hidden-by-display",
                                _ if d < SEEN => "hint",
                                _ => "sees",
                            };
                            assert_eq!(entry["verdict"], word, "{arguments:?} {key}");
                        }
                    }
                }
            }
        }
    }
}

/// Value crossovers of the handheld lie at 9.4 and 265 Ω, those for change at 14.5 and 172 Ω:
/// between them the two answers differ.
#[test]
fn best_for_value_and_best_for_change_differ() {
    for (device, value, change) in [
        ("5", "shunt-through", "shunt-through"),
        ("12", "reflect", "shunt-through"),
        ("50", "reflect", "reflect"),
        ("220", "reflect", "series-through"),
        ("1k", "series-through", "series-through"),
    ] {
        let found = json(&["read", "--device", device, "--instrument", "handheld"]);
        assert_eq!(found["best_for_value"], value, "{device}");
        assert_eq!(found["best_for_change"], change, "{device}");
        let text = jig(&["read", "--device", device, "--instrument", "handheld"]).out;
        let line = format!("Best for value: {value}; best for change: {change}");
        assert!(text.contains(&line), "{text}");
        assert!(
            text.contains("Instrument: handheld") && text.contains("invented"),
            "{text}"
        );
    }
}

#[test]
fn an_instrument_by_name_and_by_file() {
    let by = |name: &str| {
        let mut found = json(&["read", "--device", "120 - j33", "--instrument", name]);
        // It names the file that it was read from.
        let files = found["files"].take();
        let is_file = name.contains('/');
        assert_eq!(files.as_array().unwrap().len(), usize::from(is_file));
        found
    };
    let club = by("club-bench");
    assert_eq!(club["instrument"], "club bench");
    assert_eq!(club, by("club bench"));
    assert_eq!(club, by("Club-Bench"));
    assert_ne!(club, by("laboratory"));
    let (_folder, path) = scenario_file("version = 1\n[instrument]\npreset = \"club bench\"\n");
    assert_eq!(club, by(&path));
    // The instrument of a whole scenario, the rest of which is left alone.
    let (_folder, path) = scenario_file(
        "version = 1\n[device]\nkind = \"open\"\n[instrument]\npreset = \"club-bench\"\n\
         [nudge]\namount = \"30 %\"\n",
    );
    assert_eq!(club, by(&path));
    // One entry changed says so in the name, and takes its effect: noise falls with √N.
    let (_folder, path) =
        scenario_file("version = 1\n[instrument]\npreset = \"club bench\"\naverages = 16\n");
    let calm = by(&path);
    assert_eq!(calm["instrument"], "club bench, changed");
    for key in KEYS {
        let [before, after] = [&club, &calm].map(|v| number(&of(v, key)["separation_sigma"]));
        assert!((after / before / 4.0 - 1.0).abs() < 1e-9);
    }
}

/// Each connection scatters the reading by the rms size `reconnect`; the mean of n by 1/√n.
#[test]
fn a_scenario_carries_instrument_nudge_and_connections() {
    let z = Complex64::new(0.4, -0.6);
    for connections in [0, 1, 4] {
        let (_folder, path) = scenario_file(&format!(
            "version = 1\n[device]\nkind = \"fixed\"\nimpedance = \"20 - j30\"\n\
             [instrument]\npreset = \"handheld\"\n[calibration]\nconnections = {connections}\n\
             [nudge]\namount = \"-5 %\"\nalong = \"reactance\"\nswapped = true\n"
        ));
        let found = json(&["read", &path]);
        let nudged = z - Complex64::I * 0.05 * z.norm();
        for (fixture, key) in KEYS.into_iter().enumerate() {
            let figures = handheld();
            let mut square =
                residuals(fixture, z, &figures) + noise_and_display(fixture, z, &figures);
            if connections > 0 {
                let scatter = gain(fixture, z) * figures.reconnect;
                square += scatter * scatter / f64::from(connections);
            }
            let entry = of(&found, key);
            close(&entry["relative_u"], square.sqrt(), 1e-9);
            let d = separation(fixture, [z, nudged], &figures, true);
            close(&entry["separation_sigma"], d, 1e-9);
        }
        // An argument takes the place of its part of the file, and of that alone.
        let other = json(&["read", &path, "--nudge", "2%"]);
        let nudged = z + Complex64::I * 0.02 * z.norm();
        let d = separation(SERIES, [z, nudged], &handheld(), true);
        close(&of(&other, "series-through")["separation_sigma"], d, 1e-9);
    }
}

/// At an open or a short a part of |Z| has no meaning; a resistance still has.
#[test]
fn open_and_short_are_told_in_ohms() {
    for (instrument, figures) in presets() {
        for (device, end, mark) in [
            ("open", 1e15, "can't be told from an open above "),
            ("short", 1e-15, "can't be told from a short below "),
        ] {
            let arguments = ["read", "--device", device, "--instrument", instrument];
            let text = jig(&arguments).out;
            let told: Vec<&str> = text
                .lines()
                .filter_map(|line| Some(line.split_once(mark)?.1))
                .collect();
            assert_eq!(told.len(), 3, "{text}");
            for (fixture, shown) in told.into_iter().enumerate() {
                let expected = told_from(fixture, end, &figures);
                let found = ohm(shown);
                assert!(
                    (found / expected - 1.0).abs() < 0.006,
                    "{instrument} {device} {}: {found}, expected {expected}",
                    KEYS[fixture]
                );
            }
            let found = json(&arguments);
            assert_eq!(found["best_for_value"], Value::Null);
            assert_eq!(found["best_for_change"], Value::Null);
            for key in KEYS {
                let entry = of(&found, key);
                assert_eq!(entry["verdict"], "no-nudge");
                for name in ["relative_u", "resolvable_increase", "separation_sigma"] {
                    assert_eq!(entry[name], Value::Null, "{device} {key} {name}");
                }
            }
        }
    }
}

const SHEET: &str = "version = 1\n[instrument]\nname = \"from a data sheet\"\n\
    directivity = \"-40 dB\"\nreflect_tracking = \"1 %\"\nsource_match = 0.02\n\
    through_tracking = 0.03\ncrosstalk = \"-60 dB\"\nload_match = 0.04\n";

/// δΓ = δD + δT·Γ + δM·Γ², δS21 = δT·S21 + δX + (δM + λ)·S11·S21, figures independent. As
/// bounds, uniform in a disc, they have half the mean square.
#[test]
fn figures_of_a_data_sheet() {
    for (bound, factor) in [("", 1.0), ("bound = true\n", 0.5)] {
        let (_folder, path) = scenario_file(&format!("{SHEET}{bound}"));
        for z in [(0.2, 0.1), (1.0, 0.0), (7.0, -3.0)] {
            let z = Complex64::new(z.0, z.1);
            let found = json(&["read", "--device", &typed(z * 50.0), "--instrument", &path]);
            assert_eq!(found["instrument"], "from a data sheet");
            for (fixture, key) in KEYS.into_iter().enumerate() {
                let s = reading(fixture, z).norm();
                let square = if fixture == REFLECT {
                    1e-4 + (0.01 * s).powi(2) + (0.02 * s * s).powi(2)
                } else {
                    let s11 = match fixture {
                        SHUNT => (2.0 * z + 1.0).norm().recip(),
                        _ => z.norm() / (z + 2.0).norm(),
                    };
                    let ports = 0.02f64.powi(2) + 0.04f64.powi(2);
                    (0.03 * s).powi(2) + 1e-6 + ports * (s11 * s).powi(2)
                };
                let square = factor * square * gain(fixture, z).powi(2)
                    + noise_and_display(fixture, z, &handheld());
                close(&of(&found, key)["relative_u"], square.sqrt(), 1e-9);
            }
        }
    }
}

/// Whatever the part, the answer is numbers and words: no infinity, no NaN, and no number
/// missing where the part is one that a bench holds.
#[test]
fn every_device_gets_numbers_or_words() {
    let (_folder, path) = scenario_file(&format!("{SHEET}drift = 0.001\ncontact = 0.02\n"));
    let instruments = ["handheld", "club-bench", "laboratory", &path];
    let extreme = (
        log_uniform((1e-300, 1e300)),
        log_uniform((1e-300, 1e300)),
        0..4u8,
    )
        .prop_map(|(r, x, quadrant)| {
            Complex64::new(
                if quadrant & 1 == 0 { r } else { -r },
                if quadrant & 2 == 0 { x } else { -x },
            )
        });
    let axis = (log_uniform((1e-12, 1e12)), 0..4usize).prop_map(|(size, turn)| {
        [Complex64::ONE, Complex64::I, -Complex64::ONE, -Complex64::I][turn] * size
    });
    let pole = prop::sample::select(vec![-25.0, -50.0, -100.0, -25.000_001, -99.999_999_999])
        .prop_map(|r| Complex64::new(r, 0.0));
    let ohms = prop_oneof![3 => impedance_ohm(), 1 => extreme, 1 => axis, 1 => pole];
    let share = (log_uniform((1e-9, 1e6)), any::<bool>())
        .prop_map(|(t, up)| if up { t } else { -t.min(0.999_999) });
    let along = prop::sample::select(vec!["magnitude", "resistance", "reactance"]);
    for_all(
        &(ohms, share, along, 0..4usize),
        |(z, share, along, which)| {
            let device = typed(z);
            let nudge = format!("--nudge={}%", 100.0 * share);
            let arguments = [
                "read",
                "--device",
                &device,
                "--instrument",
                instruments[which],
                &nudge,
                "--along",
                along,
            ];
            let found = json(&arguments);
            prop_assert_eq!(found["fixtures"].as_array().map(Vec::len), Some(3));
            // More resistance than there is can't be taken away; and where a reactance is
            // cancelled to less than a hundredth, doubles leave too little of it.
            let stays = match along {
                "resistance" => z.re + share.min(0.0) * z.norm() >= 0.0,
                "reactance" => share >= -0.99,
                _ => true,
            };
            let usual = stays && z.re >= 0.0 && (1e-3..=1e6).contains(&z.norm());
            if usual {
                for key in KEYS {
                    for name in [
                        "u_r_ohm",
                        "u_x_ohm",
                        "correlation",
                        "relative_u",
                        "separation_sigma",
                    ] {
                        prop_assert!(of(&found, key)[name].is_number(), "{device} {key} {name}");
                    }
                }
                prop_assert!(found["best_for_value"].is_string(), "{device}");
            }
            let text = jig(&arguments);
            prop_assert!(
                !text.out.contains("NaN") && !text.out.contains("inf "),
                "{}",
                text.out
            );
            Ok(())
        },
    );
}
