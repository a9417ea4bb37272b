//! `jig reduce` with standards, blanks, a moved plane and an instrument, end to end: sweeps are
//! made by `jig sweep` or written out here, and the ohms must come back.

use std::f64::consts::TAU;
use std::process::ExitCode;

use jigwise_jig::write_sweep;
use jigwise_physics::{OffsetLine, ReferenceImpedance, Standard};
use jigwise_tests::answers::ohms;
use jigwise_tests::jig::{jig, json, refuses};
use jigwise_tests::seed::seed;
use jigwise_tests::workbench::{FIXTURES, Workbench, coil_ohm};
use jigwise_touchstone::{Options, Sweep, read_file};
use num_complex::Complex64;
use serde_json::Value;

const R_OHM: f64 = 3.0;
const L_H: f64 = 1.5e-6;

/// An invented coil, over a few points.
fn scenario(more: &str) -> String {
    format!(
        "version = 1\nseed = 5\n[device]\nkind = \"inductor\"\ninductance = \"1.5 uH\"\n\
         series_resistance = \"3 ohm\"\n[sweep]\nfrom = \"1 MHz\"\nto = \"30 MHz\"\n\
         points = 12\n{more}"
    )
}

fn strings(arguments: &[String]) -> Vec<&str> {
    arguments.iter().map(String::as_str).collect()
}

#[track_caller]
fn reduced(path: &str, fixture: &str, more: &[String]) -> Value {
    let arguments = ["reduce", path, "--fixture", fixture];
    json(&[&arguments, strings(more).as_slice()].concat())
}

#[track_caller]
fn check(found: &Value, tolerance: f64, what: &str) {
    let points = found["points"].as_array().unwrap();
    assert_eq!(points.len(), 12);
    for point in points {
        let freq_hz = point["freq_hz"].as_f64().unwrap();
        let z = coil_ohm(R_OHM, L_H, freq_hz);
        let found = ohms(point);
        assert!(
            (found - z).norm() <= tolerance * z.norm(),
            "{what}: {found} at {freq_hz} Hz, expected {z}"
        );
    }
}

/// Without noise every method that is exact for a part in a fixture gives its ohms back to the
/// rounding of the numbers.
#[test]
fn ideal_standards_give_the_part_back() {
    let bench = Workbench::new();
    for (fixture, _) in FIXTURES {
        let path = bench.measured(
            &scenario(""),
            fixture,
            "coil",
            &["--raw", "--with-standards"],
        );
        let raw = reduced(&path, fixture, &[]);
        let first = &raw["points"][0];
        let z = coil_ohm(R_OHM, L_H, first["freq_hz"].as_f64().unwrap());
        let off = (ohms(first) - z).norm() / z.norm();
        assert!(
            off > 0.02,
            "{fixture}: the raw readings are off by {off} only"
        );
        for second in [true, false] {
            let standards = bench.standards("coil", second);
            let found = reduced(&path, fixture, &standards);
            check(&found, 1e-9, fixture);
        }
    }
}

/// Standards at port 1 alone: one direction, and it is said.
#[test]
fn standards_at_one_port_give_one_direction_and_it_is_said() {
    let bench = Workbench::new();
    let path = bench.measured(
        &scenario(""),
        "series-through",
        "coil",
        &["--raw", "--with-standards"],
    );
    let run = |second| {
        let standards = bench.standards("coil", second);
        let arguments = ["reduce", &path, "--fixture", "series-through"];
        jig(&[&arguments, strings(&standards).as_slice()].concat())
    };
    let (both, one) = (run(true), run(false));
    assert!(!both.err.contains("one direction"), "{}", both.err);
    assert!(one.err.contains("port 1 alone"), "{}", one.err);
    assert!(one.err.contains("one direction"), "{}", one.err);
}

/// A two-port file of a standard is the standard at both ports.
#[test]
fn two_port_files_of_standards_count_for_both_ports() {
    let bench = Workbench::new();
    let path = bench.measured(
        &scenario(""),
        "shunt-through",
        "coil",
        &["--raw", "--with-standards"],
    );
    let mut arguments = vec!["--thru".to_owned(), bench.path("coil-through.s2p")];
    arguments.extend(["--isolation".into(), bench.path("coil-isolation.s2p")]);
    for standard in ["open", "short", "load"] {
        let [one, two] = ["", "-2"]
            .map(|port| read_file(bench.path(&format!("coil-{standard}{port}.s1p"))).unwrap());
        let leak = Complex64::new(1e-6, 0.0);
        let s = (0..one.len())
            .flat_map(|k| [one.s(k, 1, 1), leak, leak, two.s(k, 1, 1)])
            .collect();
        let both = Sweep::new(2, &[50.0], one.frequency_hz().to_vec(), s).unwrap();
        let name = bench.path(&format!("{standard}.s2p"));
        write_sweep(&name, &both, &Options::default()).unwrap();
        arguments.extend([format!("--{standard}"), name]);
    }
    check(
        &reduced(&path, "shunt-through", &arguments),
        1e-9,
        "two ports",
    );
    let twice = bench.path("coil-open-2.s1p");
    let more = [arguments, vec!["--open".into(), twice]].concat();
    let base = ["reduce", &path, "--fixture", "shunt-through"];
    refuses(
        &[&base, strings(&more).as_slice()].concat(),
        &["open.s2p", "both ports"],
    );
}

/// An export of one direction (S12 = S22 = 0), asked for in both.
#[test]
fn an_export_of_one_direction_is_corrected_as_such() {
    let bench = Workbench::new();
    for fixture in ["shunt-through", "series-through"] {
        let path = bench.measured(
            &scenario(""),
            fixture,
            "coil",
            &["--raw", "--with-standards"],
        );
        let whole = read_file(&path).unwrap();
        let zero = Complex64::ZERO;
        let s = (0..whole.len())
            .flat_map(|k| [whole.s(k, 1, 1), zero, whole.s(k, 2, 1), zero])
            .collect();
        let half = Sweep::new(2, &[50.0], whole.frequency_hz().to_vec(), s).unwrap();
        let path = bench.path("half.s2p");
        write_sweep(&path, &half, &Options::default()).unwrap();
        let standards = bench.standards("coil", true);
        check(&reduced(&path, fixture, &standards), 1e-9, fixture);
        let arguments = ["reduce", &path, "--fixture", fixture];
        let said = jig(&[&arguments, strings(&standards).as_slice()].concat()).err;
        assert!(said.contains("one direction"), "{said}");
        assert!(
            said.contains("\"both directions\"") && said.contains("\"one direction\""),
            "{said}"
        );
    }
}

const KIT: &str = "[calibration]\nmethod = \"both directions\"\n\
     [calibration.open]\ncapacitance = [\"60 fF\", \"-300e-27 F/Hz\"]\ndelay = \"30 ps\"\n\
     [calibration.short]\ninductance = [\"20 pH\"]\ndelay = \"31 ps\"\nloss = \"2.3 Gohm/s\"\n\
     [calibration.load]\nresistance = \"49\"\n\
     [calibration.through]\ndelay = \"45 ps\"\n";

fn calibration_file(bench: &Workbench, stem: &str) -> String {
    let text = format!(
        "version = 1\nmethod = \"both directions\"\n\
         [open]\nfile = \"{stem}-open.s1p\"\nsecond_file = \"{stem}-open-2.s1p\"\n\
         capacitance = [\"60 fF\", \"-300e-27 F/Hz\"]\ndelay = \"30 ps\"\n\
         [short]\nfile = \"{stem}-short.s1p\"\nsecond_file = \"{stem}-short-2.s1p\"\n\
         inductance = [\"20 pH\"]\ndelay = \"31 ps\"\nloss = \"2.3 Gohm/s\"\n\
         [load]\nfile = \"{stem}-load.s1p\"\nsecond_file = \"{stem}-load-2.s1p\"\n\
         resistance = \"49\"\n\
         [through]\nfile = \"{stem}-through.s2p\"\ndelay = \"45 ps\"\n\
         [isolation]\nfile = \"{stem}-isolation.s2p\"\n"
    );
    bench.write("cal.toml", text)
}

/// Real standards with their definitions are exact, and taken for ideal they are not: a 49 Ω
/// load taken for 50 Ω makes every impedance read 50/49 of itself (the exact law of imperfect
/// standards, Z' = Z·Z0/Zl where only the load is wrong; at 1 MHz the others are ideal enough
/// for shunt-through, while S21 near one in series-through also shows the through's length).
#[test]
fn a_calibration_file_knows_its_standards() {
    let bench = Workbench::new();
    for fixture in ["shunt-through", "series-through"] {
        let raw = ["--raw", "--with-standards"];
        let path = bench.measured(&scenario(KIT), fixture, "coil", &raw);
        let file = calibration_file(&bench, "coil");
        let defined = ["--calibration".to_owned(), file];
        check(&reduced(&path, fixture, &defined), 1e-9, fixture);
        let ideal = reduced(&path, fixture, &bench.standards("coil", true));
        let first = &ideal["points"][0];
        let z = coil_ohm(R_OHM, L_H, first["freq_hz"].as_f64().unwrap());
        let ratio = ohms(first) / z;
        let allowed = if fixture == "shunt-through" {
            2e-3
        } else {
            4e-3
        };
        assert!((ratio - 50.0 / 49.0).norm() < allowed, "{fixture}: {ratio}");
    }
}

/// A standard that was measured elsewhere stands instead of its definition.
#[test]
fn known_as_stands_instead_of_a_definition() {
    let bench = Workbench::new();
    let kit = "[calibration]\nmethod = \"one port\"\n\
         [calibration.open]\ncapacitance = [\"80 fF\"]\ndelay = \"30 ps\"\n";
    let raw = ["--raw", "--with-standards"];
    let path = bench.measured(&scenario(kit), "reflect", "coil", &raw);
    let open = Standard::open([80e-15, 0.0, 0.0, 0.0]).behind(OffsetLine {
        delay_s: 30e-12,
        ..OffsetLine::FLUSH
    });
    let freq_hz = read_file(&path).unwrap().frequency_hz().to_vec();
    let s = freq_hz
        .iter()
        .map(|hz| open.reflection(*hz, ReferenceImpedance::FIFTY_OHM).unwrap())
        .collect();
    let known = Sweep::new(1, &[50.0], freq_hz, s).unwrap();
    write_sweep(bench.path("known.s1p"), &known, &Options::default()).unwrap();
    let text = "version = 1\nmethod = \"one port\"\n\
        [open]\nfile = \"coil-open.s1p\"\nknown_as = \"known.s1p\"\n\
        [short]\nfile = \"coil-short.s1p\"\n[load]\nfile = \"coil-load.s1p\"\n";
    let file = bench.write("cal.toml", text);
    check(
        &reduced(&path, "reflect", &["--calibration".into(), file]),
        1e-9,
        "known_as",
    );
}

/// Every refusal of a calibration file names file and line.
#[test]
fn a_calibration_file_is_refused_with_its_line() {
    let bench = Workbench::new();
    let raw = ["--raw", "--with-standards"];
    let path = bench.measured(&scenario(""), "reflect", "coil", &raw);
    for (text, words) in [
        (
            "version = 2\n",
            ["cal.toml, line 1", "expected 1"].as_slice(),
        ),
        (
            "method = \"both directions\"\n",
            &["cal.toml", "version = 1"],
        ),
        ("version = 1\n", &["cal.toml", "no method", "one port"]),
        (
            "version = 1\nmethod = \"one prot\"\n",
            &["cal.toml, line 2", "did you mean \"one port\""],
        ),
        (
            "version = 1\nmethod = \"one port\"\n[opne]\n",
            &["cal.toml, line 3", "did you mean \"open\""],
        ),
        (
            "version = 1\nmethod = \"one port\"\n[open]\nfile = \"coil-open.s1p\"\n",
            &["cal.toml, line 2", "the short, the load"],
        ),
        (
            "version = 1\nmethod = \"one port\"\n[open]\ncapacitance = \"50 fF\"\n",
            &["cal.toml, line 3", "the open at port 1 has no file"],
        ),
        (
            "version = 1\nmethod = \"one port\"\n[open]\nfile = \"none.s1p\"\n",
            &["cal.toml, line 4", "none.s1p", "can't be read"],
        ),
        (
            "version = 1\nmethod = \"one port\"\n[open]\nfile = \"coil-open.s1p\"\n\
             delay = \"30 pF\"\n",
            &["cal.toml, line 5", "delay"],
        ),
        (
            "version = 1\nmethod = \"one port\"\n[open]\nfile = \"coil-open.s1p\"\n\
             capacitance = [\"50 fF\", \"3 F/Hz^2\"]\n",
            &["cal.toml, line 5", "term 2", "F/Hz"],
        ),
        (
            "version = 1\nmethod = \"one port\"\n[open]\nfile = \"coil-open.s1p\"\n\
             known_as = \"coil-open.s1p\"\ndelay = \"30 ps\"\n",
            &["cal.toml, line 6", "known_as and delay", "keep one"],
        ),
        ("version = 1\nmethod =\n", &["cal.toml, line 2"]),
    ] {
        let file = bench.write("cal.toml", text);
        let arguments = [
            "reduce",
            &path,
            "--fixture",
            "reflect",
            "--calibration",
            &file,
        ];
        refuses(&arguments, words);
    }
}

/// Over calibrations and noises drawn anew the ohms lie about the truth as their uncertainty
/// says: (value − truth)/u has an rms of one. Over 2·40 numbers its own scatter is 8 %, so three
/// times that is allowed.
#[test]
fn the_uncertainty_is_as_large_as_the_errors() {
    const RUNS: u64 = 40;
    let bench = Workbench::new();
    let instrument = "[instrument]\npreset = \"club bench\"\n";
    for (fixture, _) in FIXTURES {
        let mut sum = 0.0;
        for run in 0..RUNS {
            let number = (seed() * 1_000 + run).to_string();
            let more = ["--raw", "--with-standards", "--seed", &number];
            let path = bench.measured(&scenario(instrument), fixture, "coil", &more);
            let standards = bench.standards("coil", true);
            let extra = ["--instrument", "club-bench", "--at", "7 MHz"].map(str::to_owned);
            let found = reduced(&path, fixture, &[standards, extra.to_vec()].concat());
            let point = &found["points"][0];
            let z = coil_ohm(R_OHM, L_H, point["freq_hz"].as_f64().unwrap());
            let miss = ohms(point) - z;
            let u = |key: &str| point[key].as_f64().unwrap();
            sum += (miss.re / u("u_r_ohm")).powi(2) + (miss.im / u("u_x_ohm")).powi(2);
        }
        let rms = (sum / (2.0 * RUNS as f64)).sqrt();
        assert!(
            (0.76..1.24).contains(&rms),
            "{fixture}: rms of (value − truth)/u is {rms}; seed {}",
            seed()
        );
    }
}

/// The load moves every reflect impedance by −2·δL of itself: with nothing but a load of rms
/// 0.01, u(R) = u(X) = 2·0.01·|Z|/√2 (design of the budget; references on imperfect standards).
#[test]
fn a_load_alone_gives_a_constant_share() {
    let bench = Workbench::new();
    let path = bench.measured(&scenario(""), "reflect", "coil", &[]);
    let zero = "open = 0\nshort = 0\nthrough_tracking = 0\ncrosstalk = 0\nload_match = 0\n\
        reflect_floor = 1e-15\nthrough_floor = 1e-15\ntrace_magnitude = 0\ntrace_phase = \"0 deg\"\n\
        display_magnitude = 0\ndisplay_phase = \"0 deg\"\nreconnect = 0\n";
    let text = format!("version = 1\n[instrument]\nname = \"mine\"\nload = 0.01\n{zero}");
    let instrument = bench.write("mine.toml", text);
    let found = reduced(&path, "reflect", &["--instrument".into(), instrument]);
    assert_eq!(found["instrument"], "mine");
    for point in found["points"].as_array().unwrap() {
        let size = ohms(point).norm();
        for key in ["u_r_ohm", "u_x_ohm"] {
            let u = point[key].as_f64().unwrap();
            let expected = 2.0 * 0.01 * size / 2f64.sqrt();
            assert!(
                (u / expected - 1.0).abs() < 1e-9,
                "{u}, expected {expected}"
            );
        }
    }
}

/// Near the pole the linear uncertainty is replaced by the exact region: reflect 0.9 with
/// σ = 0.03 per component has the disc about 2120.289 Ω of radius 1593.695 Ω (computed from the
/// closed form with numpy, references 1.4 item 4).
#[test]
fn near_the_pole_the_region_is_given() {
    let bench = Workbench::new();
    let path = bench.write("near.s1p", "# MHz RI R 50\n10 0.9 0\n20 0.2 0\n");
    let zero = "load = 0\nopen = 0\nshort = 0\nthrough_tracking = 0\ncrosstalk = 0\n\
        load_match = 0\nthrough_floor = 1e-15\ntrace_magnitude = 0\ntrace_phase = \"0 deg\"\n\
        display_magnitude = 0\ndisplay_phase = \"0 deg\"\nreconnect = 0\n";
    // The floor is the rms of both components together. The file was corrected by a load, an open
    // and a short that were read with the same noise: at Γ they enter by 1 − Γ², Γ(Γ + 1)/2 and
    // Γ(Γ − 1)/2, the parabolas through the three known points.
    let gamma = 0.9f64;
    let of_standards = [
        1.0 - gamma * gamma,
        0.5 * gamma * (gamma + 1.0),
        0.5 * gamma * (gamma - 1.0),
    ];
    let readings = 1.0 + of_standards.map(|a| a * a).iter().sum::<f64>();
    let floor = 0.03 * (2.0 / readings).sqrt();
    let text = format!("version = 1\n[instrument]\nreflect_floor = {floor:e}\n{zero}");
    let instrument = bench.write("noisy.toml", text);
    let arguments = ["--instrument".to_owned(), instrument];
    let found = reduced(&path, "reflect", &arguments);
    let near = &found["points"][0];
    let region = &near["region"];
    assert_eq!(region["side"], "inside");
    let is = |value: &Value, expected: f64| {
        let found = value.as_f64().unwrap();
        assert!(
            (found - expected).abs() < 1e-2,
            "{found}, expected {expected}"
        );
    };
    is(&region["r_ohm"], 2120.289);
    is(&region["radius_ohm"], 1593.695);
    is(&near["u_r_ohm"], 300.0);
    assert_eq!(near["trust"], "region-only");
    let far = &found["points"][1];
    assert_eq!(far["trust"], "linear");
    assert!(far["region"].is_null());
}

/// A matched line of one-way delay τ before the part turns S11 by −2ωτ; --extend takes it out.
#[test]
fn the_plane_moves() {
    let bench = Workbench::new();
    let tau_s = 120e-12;
    let mut text = String::from("# Hz RI R 50\n");
    for k in 1..=12 {
        let freq_hz = 20e6 * f64::from(k);
        let z = coil_ohm(R_OHM, 30e-9, freq_hz);
        let gamma = (z - 50.0) / (z + 50.0);
        let seen = gamma * Complex64::from_polar(1.0, -2.0 * TAU * freq_hz * tau_s);
        text += &format!("{freq_hz} {:e} {:e}\n", seen.re, seen.im);
    }
    let path = bench.write("line.s1p", text);
    let found = reduced(&path, "reflect", &["--extend".into(), "120 ps".into()]);
    for point in found["points"].as_array().unwrap() {
        let z = coil_ohm(R_OHM, 30e-9, point["freq_hz"].as_f64().unwrap());
        assert!((ohms(point) - z).norm() < 1e-9 * z.norm());
    }
}

/// The empty gap of a series fixture taken out: what is read is the part beside the gap.
#[test]
fn blanks_are_taken_out() {
    let bench = Workbench::new();
    let (mut with, mut without) = (
        String::from("# Hz RI R 50\n"),
        String::from("# Hz RI R 50\n"),
    );
    for k in 1..=12 {
        let freq_hz = 5e6 * f64::from(k);
        let z = coil_ohm(R_OHM, L_H, freq_hz);
        let gap = 1.0 / Complex64::new(0.0, TAU * freq_hz * 0.3e-12);
        for (text, seen) in [(&mut with, z * gap / (z + gap)), (&mut without, gap)] {
            let s21 = 100.0 / (seen + 100.0);
            let s11 = seen / (seen + 100.0);
            *text += &format!(
                "{freq_hz} {0:e} {1:e} {2:e} {3:e} {2:e} {3:e} {0:e} {1:e}\n",
                s11.re, s11.im, s21.re, s21.im
            );
        }
    }
    let part = bench.write("part.s2p", with);
    let blank = bench.write("empty.s2p", without);
    let found = reduced(&part, "series-through", &["--blank".into(), blank.clone()]);
    for point in found["points"].as_array().unwrap() {
        let z = coil_ohm(R_OHM, L_H, point["freq_hz"].as_f64().unwrap());
        assert!((ohms(point) - z).norm() < 1e-9 * z.norm());
    }
    // What may be left of the correction is uncertainty, by its share.
    let u = |left: &str| {
        let more = [
            "--blank",
            &blank,
            "--instrument",
            "laboratory",
            "--blank-left",
            left,
        ];
        let found = reduced(&part, "series-through", &more.map(str::to_owned));
        found["points"][11]["u_x_ohm"].as_f64().unwrap()
    };
    assert!(u("50 %") > 2.0 * u("0 %"), "{} {}", u("50 %"), u("0 %"));
    let base = ["reduce", &part, "--fixture", "series-through"];
    refuses(
        &[&base[..], &["--blank", &blank, "--blank", &blank]].concat(),
        &["part.s2p", "one blank", "found 2"],
    );
    let text = bench
        .read("empty.s2p")
        .replace("\n60000000 ", "\n59900000 ");
    let other_grid = bench.write("other-grid.s2p", text);
    refuses(
        &[&base[..], &["--blank", &other_grid]].concat(),
        &[
            "the empty gap",
            "other-grid.s2p",
            "was not measured at",
            "60",
        ],
    );
}

#[test]
fn what_does_not_fit_names_the_file() {
    let bench = Workbench::new();
    let raw = ["--raw", "--with-standards"];
    let path = bench.measured(&scenario(""), "series-through", "coil", &raw);
    let standards = bench.standards("coil", true);
    let without = |flag: &str| -> Vec<String> {
        let goes_with = |one: &str| flag == "--thru" && one == "--isolation";
        standards
            .chunks(2)
            .filter(|pair| pair[0] != flag && !goes_with(&pair[0]))
            .flatten()
            .cloned()
            .collect()
    };
    let base = ["reduce", &path, "--fixture", "series-through"];
    let run = |more: &[String], words: &[&str]| {
        refuses(&[&base, strings(more).as_slice()].concat(), words);
    };
    run(&without("--load"), &["--load is missing", "--calibration"]);
    run(
        &without("--thru"),
        &["series-through needs a through", "--thru"],
    );
    run(
        &["--thru".into(), bench.path("coil-through.s2p")],
        &["--open and --short and --load"],
    );

    let other = |name: &str, content: &str, words: &[&str]| {
        let path = bench.write(name, content);
        let mut changed = without("--load");
        changed.extend(["--load".into(), path]);
        run(&changed, words);
    };
    other(
        "load-short.s1p",
        "# MHz RI R 50\n1 0 0\n2 0 0\n",
        &[
            "coil.s2p",
            "the load at port 1",
            "load-short.s1p",
            "was not measured at",
        ],
    );
    let text = bench.read("coil-load.s1p").replace("R 50", "R 75");
    other(
        "load-75.s1p",
        &text,
        &["the load at port 1", "load-75.s1p", "75 Ω", "50 Ω"],
    );
    let mut changed = without("--thru");
    changed.extend(["--thru".into(), bench.path("coil-load.s1p")]);
    run(&changed, &["the through", "coil-load.s1p", "two ports"]);
    let same = bench.path("coil-open.s1p");
    let mut changed = without("--short");
    changed.extend(["--short".into(), same.clone(), "--short".into(), same]);
    run(&changed, &["read the same", "the open", "the short"]);
}

#[test]
fn arguments_that_contradict_are_refused() {
    let bench = Workbench::new();
    let path = bench.measured(&scenario(""), "reflect", "coil", &[]);
    let base = ["reduce", &path, "--fixture", "reflect"];
    let run = |more: &[&str], words: &[&str]| {
        refuses(&[&base, more].concat(), words);
    };
    run(&["--extend", "1 ps,2 ps,3 ps"], &["3 delays", "two"]);
    run(&["--extend", "3 mm"], &["length"]);
    run(&["--extend", "120,5 ps"], &["\"120\"", "no unit", "point"]);
    run(&["--extend", "120 ps,80"], &["\"80\"", "no unit"]);
    run(&["--blank-left", "200 %"], &["0 to 100 %"]);
    run(&["--instrument", "handhold"], &["handheld"]);
    run(&["--model", "capacitator"], &["did you mean \"capacitor\""]);
    run(
        &["--open", "-", "--short", "-", "--load", &path],
        &["only once"],
    );
    let cal = bench.write("cal.toml", "version = 1\n");
    run(
        &["--calibration", &cal, "--open", &path],
        &["--calibration", "--open"],
    );
    refuses(
        &["reduce", &path, "--fixture", "reflect,shunt-through"],
        &["2 fixtures for 1 file"],
    );
}

/// A circuit that is asked for and does not fit is refused in words; the choice by itself says
/// what the part begins as.
#[test]
fn circuits_are_chosen_or_refused_in_words() {
    let bench = Workbench::new();
    let text = scenario("").replace("points = 12", "points = 201");
    let text = text.replace(
        "series_resistance",
        "parallel_capacitance = \"40 pF\"\nseries_resistance",
    );
    let path = bench.measured(&text, "series-through", "choke", &[]);
    let found = reduced(&path, "series-through", &["--model".into(), "auto".into()]);
    let values = &found["values"];
    assert_eq!(values["model"], "inductor", "{values}");
    let why = values["why"].as_str().unwrap();
    assert!(why.contains("begins as a coil"), "{why}");
    let henry = values["values"]
        .as_array()
        .unwrap()
        .iter()
        .find(|value| value["quantity"] == "L")
        .unwrap();
    assert!((henry["value"].as_f64().unwrap() / L_H - 1.0).abs() < 1e-6);
    // 1/(2π√(LC)), to first order in the loss.
    let srf_hz = values["self_resonance_hz"].as_f64().unwrap();
    let expected = 1.0 / (TAU * (L_H * 40e-12).sqrt());
    assert!((srf_hz / expected - 1.0).abs() < 2e-3, "{srf_hz}");
    let change = values["change_of_kind"].as_str().unwrap();
    assert!(change.contains("no coil"), "{change}");

    let asked = jig(&[
        "reduce",
        &path,
        "--fixture",
        "series-through",
        "--model",
        "capacitor",
    ]);
    assert_eq!(asked.code, ExitCode::SUCCESS);
    assert!(asked.out.contains("the part is a coil"), "{}", asked.out);
    assert!(!asked.out.contains("C ="), "{}", asked.out);
}
