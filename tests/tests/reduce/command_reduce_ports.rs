//! `jig reduce` with a reflect reading out of a two-port file, with an open and a short that were
//! exchanged, and with frequencies that were not measured.

use std::process::ExitCode;

use jigwise_tests::jig::{Outcome, jig, json, refuses};
use jigwise_tests::workbench::Workbench;
use num_complex::Complex64;

/// Rows of a two-port file, S11 S21 S12 S22, at 1 to 7 MHz.
fn two_port(s: impl Fn(f64) -> [Complex64; 4]) -> String {
    let rows = (1..8).map(|mhz| {
        let cells = s(f64::from(mhz)).map(|s| format!("{} {}", s.re, s.im));
        format!("{mhz} {}\n", cells.join(" "))
    });
    format!("# MHz S RI R 50\n{}", rows.collect::<String>())
}

const ZERO: Complex64 = Complex64::ZERO;

fn real(re: f64) -> Complex64 {
    Complex64::new(re, 0.0)
}

/// 100 Ω at port 1 and 25 Ω at port 2, nothing between them.
fn one_part_at_each_port() -> String {
    two_port(|_| [real(1.0 / 3.0), ZERO, ZERO, real(-1.0 / 3.0)])
}

fn reflect(path: &str, more: &[&str]) -> Outcome {
    jig(&[&["reduce", path, "--fixture", "reflect"], more].concat())
}

#[test]
fn the_port_of_a_reflect_reading_is_chosen() {
    let bench = Workbench::new();
    let path = bench.write("both.s2p", one_part_at_each_port());
    for (more, r_ohm) in [
        (&[][..], 100.0),
        (&["--port", "1"], 100.0),
        (&["--port", "2"], 25.0),
    ] {
        let arguments = [&["reduce", &path, "--fixture", "reflect"], more].concat();
        let found = json(&arguments)["points"][0]["r_ohm"].as_f64().unwrap();
        assert!((found - r_ohm).abs() < 1e-9, "{more:?}: {found}");
    }
    let one = bench.write("one.s1p", "# MHz S RI R 50\n1 0.5 0\n");
    let arguments = ["reduce", &one, "--fixture", "reflect", "--port", "2"];
    refuses(&arguments, &["one.s1p", "one port", ".s2p"]);
    let arguments = [
        "reduce",
        &path,
        "--fixture",
        "series-through",
        "--port",
        "2",
    ];
    refuses(&arguments, &["--port", "reflect"]);
}

/// The standards at port 2 correct a reading at port 2. Each port with its own error box,
/// m = e00 + e·Γ/(1 − e11·Γ), by hand.
#[test]
fn the_standards_of_the_chosen_port_are_used() {
    let bench = Workbench::new();
    let boxes = [[0.05, 0.9, 0.1], [-0.08, 0.7, 0.2]];
    let raw = |port: usize, gamma: f64| {
        let [e00, e, e11] = boxes[port];
        real(e00 + e * gamma / (1.0 - e11 * gamma))
    };
    let file = |name: &str, gammas: [f64; 2]| {
        let text = two_port(|_| [raw(0, gammas[0]), ZERO, ZERO, raw(1, gammas[1])]);
        bench.write(name, text)
    };
    let open = file("open.s2p", [1.0; 2]);
    let short = file("short.s2p", [-1.0; 2]);
    let load = file("load.s2p", [0.0; 2]);
    let part = file("part.s2p", [1.0 / 3.0, -1.0 / 3.0]);
    let standards = ["--open", &open, "--short", &short, "--load", &load];
    for (port, r_ohm) in [("1", 100.0), ("2", 25.0)] {
        let arguments = ["reduce", &part, "--fixture", "reflect", "--port", port];
        let found = json(&[&arguments[..], &standards].concat());
        let found = found["points"][3]["r_ohm"].as_f64().unwrap();
        assert!((found - r_ohm).abs() < 1e-9, "port {port}: {found}");
    }
    let one_port = bench.write("open.s1p", "# MHz S RI R 50\n1 0.5 0\n");
    let arguments = ["reduce", &part, "--fixture", "reflect", "--port", "2"];
    let standards = ["--open", &one_port, "--short", &short, "--load", &load];
    refuses(
        &[&arguments[..], &standards].concat(),
        &["the open", "port 2"],
    );
}

#[test]
fn a_reflection_that_was_not_measured_gives_no_ohms() {
    let bench = Workbench::new();
    let text = two_port(|_| [ZERO, real(0.5), real(0.5), real(0.3)]);
    let path = bench.write("only-s21.s2p", text);
    let arguments = ["reduce", &path, "--fixture", "reflect"];
    refuses(&arguments, &["S11", "zero at every frequency", "--port 2"]);
    let text = two_port(|_| [real(0.3), real(0.5), real(0.5), ZERO]);
    let path = bench.write("only-s11.s2p", text);
    let arguments = ["reduce", &path, "--fixture", "reflect", "--port", "2"];
    refuses(&arguments, &["S22", "zero at every frequency"]);
}

/// 100 Ω in each through fixture by the readings of design §1: series S21 = 2·Z0/(Z + 2·Z0) and
/// S11 = 1 − S21, shunt S21 = 2·Z/(2·Z + Z0) and S11 = S21 − 1.
#[test]
fn a_file_of_a_through_fixture_read_as_reflect_is_told() {
    let bench = Workbench::new();
    for (fixture, s21, s11) in [("series-through", 0.5, 0.5), ("shunt-through", 0.8, -0.2)] {
        let text = two_port(|_| [real(s11), real(s21), real(s21), real(s11)]);
        let path = bench.write("through.s2p", text);
        for port in ["1", "2"] {
            let told = reflect(&path, &["--port", port]).err;
            assert!(
                told.contains(&format!("looks like one of {fixture}")),
                "{fixture}, {port}: {told}"
            );
        }
    }
    let path = bench.write("both.s2p", one_part_at_each_port());
    assert_eq!(reflect(&path, &[]).err, "");
    // What leaks from port to port while the part hangs at one of them.
    let leak = two_port(|_| [real(0.999), real(0.004), real(0.004), real(0.01)]);
    let path = bench.write("leak.s2p", leak);
    assert_eq!(reflect(&path, &[]).err, "");
}

/// With open and short exchanged the correction gives −Γ, and Z0²/Z passes for the part. By
/// hand: the raw readings above are a Möbius map of Γ that −Γ with −e and −e11 gives too.
#[test]
fn an_exchanged_open_and_short_is_told_as_far_as_it_can_be() {
    let bench = Workbench::new();
    let raw = |gamma: f64| 0.05 + 0.9 * gamma / (1.0 - 0.1 * gamma);
    let file = |name: &str, gamma: f64| {
        let raw = raw(gamma);
        bench.write(name, format!("# MHz S RI R 50\n1 {raw} 0\n2 {raw} 0\n"))
    };
    let open = file("open.s1p", 1.0);
    let short = file("short.s1p", -1.0);
    let load = file("load.s1p", 0.0);
    let part = file("part.s1p", 0.6);
    let report = bench.path("report");
    for ([open, short], r_ohm) in [([&open, &short], "200.00"), ([&short, &open], "12.500")] {
        let more = ["--open", open, "--short", short, "--load", &load];
        let found = reflect(
            &part,
            &[&more[..], &["--replace", "--out", &report]].concat(),
        );
        assert_eq!(found.code, ExitCode::SUCCESS);
        assert!(found.out.contains(r_ohm), "{}", found.out);
        for text in [found.err, bench.read("report/report.html")] {
            assert!(text.contains("Z0²/Z"), "{text}");
            assert!(text.contains("known resistor far from Z0"), "{text}");
        }
    }
}

/// In a through fixture the identity S21 + S11 = 1 breaks: S11 changes its sign, S21 stays.
#[test]
fn the_identity_tells_an_exchanged_open_and_short() {
    let bench = Workbench::new();
    // Ports without errors: the raw readings of ideal standards are their definitions.
    let all = |name: &str, s: [f64; 4]| bench.write(name, two_port(|_| s.map(real)));
    let open = all("open.s2p", [1.0, 0.0, 0.0, 1.0]);
    let short = all("short.s2p", [-1.0, 0.0, 0.0, -1.0]);
    let load = all("load.s2p", [0.0, 1e-9, 1e-9, 0.0]);
    let thru = all("thru.s2p", [0.0, 1.0, 1.0, 0.0]);
    let part = all("part.s2p", [0.5; 4]);
    for ([open, short], is_told) in [([&open, &short], false), ([&short, &open], true)] {
        let more = [
            "--open", open, "--short", short, "--load", &load, "--thru", &thru,
        ];
        let arguments = ["reduce", &part, "--fixture", "series-through"];
        let told = jig(&[&arguments[..], &more].concat()).err;
        assert_eq!(
            told.contains("open and short were exchanged"),
            is_told,
            "{told}"
        );
    }
}

#[test]
fn a_frequency_outside_the_sweep_is_refused() {
    let bench = Workbench::new();
    let path = bench.write("both.s2p", one_part_at_each_port());
    for asked in ["40M", "999k"] {
        for more in [&[][..], &["--json"], &["--csv"], &["--at", "3M"]] {
            let arguments = ["reduce", &path, "--fixture", "reflect", "--at", asked];
            let told = refuses(
                &[&arguments[..], more].concat(),
                &["both.s2p", "was not measured", "sweep runs from"],
            );
            let told = told.replace('\u{202f}', " ");
            assert!(told.contains("from 1.000 MHz to 7.000 MHz"), "{told}");
        }
    }
}

#[test]
fn a_frequency_beside_the_measured_ones_is_told_with_both() {
    let bench = Workbench::new();
    let path = bench.write("both.s2p", one_part_at_each_port());
    for (asked, is_told) in [
        ("3.2M", true),
        ("3.002M", false),
        ("3M", false),
        ("7M", false),
    ] {
        for more in [&[][..], &["--json"], &["--csv"]] {
            let found = reflect(&path, &[&["--at", asked], more].concat());
            assert_eq!(found.code, ExitCode::SUCCESS, "{}", found.err);
            let both = [found.out, found.err].concat().replace('\u{202f}', " ");
            let told = "3.20000 MHz was asked for; the nearest measured point is 3.00000 MHz";
            assert_eq!(both.contains(told), is_told, "{asked}: {both}");
        }
    }
}
