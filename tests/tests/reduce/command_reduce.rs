//! `jig reduce`: a measured sweep in ohms, as JSON, CSV and a table, and what it says to bad
//! input. The sweeps are made here from parts whose ohms are known; the readings put into the
//! files are written out from the voltage divider of each circuit, with 17 digits.

use std::f64::consts::TAU;
use std::fs;
use std::process::ExitCode;

use jigwise_tests::answers::answer_near;
use jigwise_tests::jig::{ClosedPipe, jig, json, refuses, run};
use num_complex::Complex64;
use serde_json::{Value, json as value};
use tempfile::TempDir;

const FREQUENCIES_HZ: [f64; 3] = [1e6, 7.1e6, 30e6];

/// An invented coil of the junk box: 2.2 µH with 1.5 Ω.
fn coil_ohm(freq_hz: f64) -> Complex64 {
    Complex64::new(1.5, TAU * freq_hz * 2.2e-6)
}

/// An invented capacitor of the junk box: 330 pF with 0.2 Ω.
fn capacitor_ohm(freq_hz: f64) -> Complex64 {
    Complex64::new(0.2, -1.0 / (TAU * freq_hz * 330e-12))
}

struct Files {
    folder: TempDir,
}

impl Files {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    fn write(&self, name: &str, content: &[u8]) -> String {
        let path = self.path(name);
        fs::write(&path, content).unwrap();
        path
    }

    /// A one-port file of a part on `z0` Ω.
    fn reflect(&self, name: &str, z0: f64, ohm: impl Fn(f64) -> Complex64) -> String {
        let mut text = format!("! invented\n# Hz S RI R {z0}\n");
        for freq_hz in FREQUENCIES_HZ {
            let z = ohm(freq_hz);
            let gamma = (z - z0) / (z + z0);
            text += &format!("{freq_hz} {:e} {:e}\n", gamma.re, gamma.im);
        }
        self.write(name, text.as_bytes())
    }

    /// A two-port file from S11 and S21, as an analyzer that measures one way leaves it:
    /// S12 and S22 are zero.
    fn through(&self, name: &str, z0: f64, s: impl Fn(f64) -> [Complex64; 2]) -> String {
        let mut text = format!("# Hz S RI R {z0}\n");
        for freq_hz in FREQUENCIES_HZ {
            let [s11, s21] = s(freq_hz);
            text += &format!(
                "{freq_hz} {:e} {:e} {:e} {:e} 0 0 0 0\n",
                s11.re, s11.im, s21.re, s21.im
            );
        }
        self.write(name, text.as_bytes())
    }
}

fn shunt(z: Complex64, z0: f64) -> [Complex64; 2] {
    let below = z * 2.0 + z0;
    [Complex64::from(-z0) / below, z * 2.0 / below]
}

fn series(z: Complex64, z0: f64) -> [Complex64; 2] {
    let below = z + 2.0 * z0;
    [z / below, Complex64::from(2.0 * z0) / below]
}

#[track_caller]
fn check_points(found: &Value, ohm: impl Fn(f64) -> Complex64) {
    let points = found["points"].as_array().unwrap();
    assert_eq!(points.len(), FREQUENCIES_HZ.len());
    for (point, freq_hz) in points.iter().zip(FREQUENCIES_HZ) {
        let z = ohm(freq_hz);
        let allowed = 1e-12 * z.norm();
        assert_eq!(point["freq_hz"], value!(freq_hz));
        answer_near(&point["r_ohm"], z.re, allowed);
        answer_near(&point["x_ohm"], z.im, allowed);
        answer_near(&point["magnitude_ohm"], z.norm(), allowed);
        answer_near(&point["phase_deg"], z.arg().to_degrees(), 1e-10);
        let omega = TAU * freq_hz;
        if z.im > 0.0 {
            answer_near(
                &point["inductance_h"],
                z.im / omega,
                1e-12 * z.norm() / omega,
            );
            assert_eq!(point["capacitance_f"], Value::Null);
        } else {
            let farad = -1.0 / (omega * z.im);
            answer_near(&point["capacitance_f"], farad, 1e-11 * farad);
            assert_eq!(point["inductance_h"], Value::Null);
        }
    }
}

#[test]
fn each_fixture_gives_the_part_back() {
    let files = Files::new();
    for z0 in [50.0, 75.0] {
        for (part, ohm) in [
            ("coil", coil_ohm as fn(f64) -> Complex64),
            ("capacitor", capacitor_ohm),
        ] {
            for (fixture, path) in [
                ("reflect", files.reflect(&format!("{part}.s1p"), z0, ohm)),
                (
                    "shunt-through",
                    files.through("shunt.s2p", z0, |f| shunt(ohm(f), z0)),
                ),
                (
                    "series-through",
                    files.through("series.s2p", z0, |f| series(ohm(f), z0)),
                ),
            ] {
                let found = json(&["reduce", &path, "--fixture", fixture]);
                assert_eq!(found["fixture"], fixture);
                assert_eq!(found["reference_ohm"], value!(z0));
                check_points(&found, ohm);
                for point in found["points"].as_array().unwrap() {
                    if fixture == "reflect" {
                        assert_eq!(point["identity"], Value::Null);
                    } else {
                        answer_near(&point["identity"], 0.0, 1e-14);
                    }
                }
            }
        }
    }
}

#[test]
fn json_has_the_fields() {
    let files = Files::new();
    let path = files.through("shunt.s2p", 50.0, |f| shunt(coil_ohm(f), 50.0));
    let found = json(&["reduce", &path, "--fixture", "shunt-through"]);
    let names = |value: &Value| -> Vec<String> {
        let mut names: Vec<_> = value.as_object().unwrap().keys().cloned().collect();
        names.sort_unstable();
        names
    };
    assert_eq!(
        names(&found),
        [
            "command",
            "files",
            "fixture",
            "points",
            "reference_ohm",
            "schema_version",
            "warnings"
        ]
    );
    for wanted in [
        "freq_hz",
        "r_ohm",
        "x_ohm",
        "magnitude_ohm",
        "phase_deg",
        "reading",
        "inductance_h",
        "capacitance_f",
        "identity",
    ] {
        assert!(found["points"][0].get(wanted).is_some(), "no {wanted}");
    }
    let [_, s21] = shunt(coil_ohm(1e6), 50.0);
    let reading = &found["points"][0]["reading"];
    assert_eq!(names(reading), ["im", "re"]);
    assert_eq!(
        reading["re"].as_f64(),
        Some(s21.re),
        "the file's own digits"
    );
    assert_eq!(
        reading["im"].as_f64(),
        Some(s21.im),
        "the file's own digits"
    );
}

/// A file reduced as the wrong fixture breaks the identity of the two S-parameters, and a
/// remark says so.
#[test]
fn the_wrong_fixture_is_noticed() {
    let files = Files::new();
    let path = files.through("series.s2p", 50.0, |f| series(coil_ohm(f), 50.0));
    let right = jig(&["reduce", &path, "--fixture", "series-through"]);
    assert!(!right.err.contains("identity"), "{}", right.err);
    let wrong = jig(&["reduce", &path, "--fixture", "shunt-through"]);
    assert_eq!(wrong.code, ExitCode::SUCCESS);
    assert!(wrong.err.contains("identity"), "{}", wrong.err);
    assert!(wrong.err.contains("wrong fixture"), "{}", wrong.err);

    let found = json(&["reduce", &path, "--fixture", "shunt-through"]);
    let [s11, s21] = series(coil_ohm(30e6), 50.0);
    let miss = (s21 - s11 - 1.0).norm();
    answer_near(&found["points"][2]["identity"], miss, 1e-14);
}

#[test]
fn open_short_and_frequency_zero_have_words_for_what_is_missing() {
    let files = Files::new();
    let path = files.write(
        "ends.s1p",
        b"# MHz RI\n0 0.5 0.1\n1 1 0\n2 -1 0\n3 1.001 0\n",
    );
    let found = json(&["reduce", &path, "--fixture", "reflect"]);
    let points = found["points"].as_array().unwrap();
    assert_eq!(points[0]["inductance_h"], Value::Null);
    assert_eq!(points[0]["capacitance_f"], Value::Null);
    assert!(points[0]["r_ohm"].is_number());
    for field in ["r_ohm", "x_ohm", "magnitude_ohm", "phase_deg"] {
        assert_eq!(points[1][field], Value::Null, "{field} of an open");
    }
    assert_eq!(points[1]["open"], true);
    assert_eq!(points[2]["open"], false);
    assert_eq!(points[2]["r_ohm"], value!(0.0));
    assert_eq!(points[2]["phase_deg"], Value::Null, "a short has no phase");
    answer_near(&points[3]["r_ohm"], -100_050.0, 1e-6);

    let table = jig(&["reduce", &path, "--fixture", "reflect"]);
    assert_eq!(table.code, ExitCode::SUCCESS);
    assert!(table.out.contains("open"), "{}", table.out);
    assert!(table.err.contains("above one at 1 of 4"), "{}", table.err);
    assert!(table.err.contains("below zero at 1 of 4"), "{}", table.err);
}

#[test]
fn csv_holds_the_same_numbers() {
    let files = Files::new();
    let path = files.through("series.s2p", 50.0, |f| series(capacitor_ohm(f), 50.0));
    let arguments = ["reduce", &path, "--fixture", "series-through"];
    let found = jig(&[&arguments, ["--csv"].as_slice()].concat());
    assert_eq!(found.code, ExitCode::SUCCESS, "{}", found.err);
    let mut lines = found.out.lines();
    let heading: Vec<_> = lines.next().unwrap().split(',').collect();
    assert_eq!(
        heading,
        [
            "freq_hz",
            "r_ohm",
            "x_ohm",
            "magnitude_ohm",
            "phase_deg",
            "reading_re",
            "reading_im",
            "inductance_h",
            "capacitance_f",
            "identity"
        ]
    );
    let json = json(&arguments);
    let points = json["points"].as_array().unwrap();
    assert_eq!(found.out.lines().count(), 1 + points.len());
    for (line, point) in lines.zip(points) {
        for (name, cell) in heading.iter().zip(line.split(',')) {
            let same = match *name {
                "reading_re" => &point["reading"]["re"],
                "reading_im" => &point["reading"]["im"],
                name => &point[name],
            };
            match same.as_f64() {
                Some(number) => assert_eq!(cell.parse(), Ok(number), "{name}"),
                None => assert_eq!(cell, "", "{name}"),
            }
        }
    }
}

#[test]
fn the_table_names_the_part() {
    let files = Files::new();
    let path = files.reflect("coil.s1p", 50.0, coil_ohm);
    let found = jig(&["reduce", &path, "--fixture", "reflect"]);
    assert_eq!(found.code, ExitCode::SUCCESS);
    let rows = |text: &str| -> Vec<String> {
        let in_megahertz = |line: &&str| line.contains("MHz");
        text.lines()
            .filter(in_megahertz)
            .map(str::to_owned)
            .collect()
    };
    let all = rows(&found.out);
    assert_eq!(all.len(), FREQUENCIES_HZ.len(), "{}", found.out);
    for (row, frequency) in all.iter().zip(["1.0", "7.1", "30.0"]) {
        assert!(row.starts_with(frequency), "{row}");
        assert!(row.contains("2.2000\u{202f}µH"), "{row}");
    }
    let one = jig(&["reduce", &path, "--fixture", "reflect", "--at", "8M"]);
    assert_eq!(
        rows(&one.out),
        all[1..2],
        "the measured point nearest to 8 MHz"
    );
}

#[test]
fn through_fixtures_need_a_through() {
    let files = Files::new();
    let one_port = files.reflect("coil.s1p", 50.0, coil_ohm);
    for fixture in ["shunt-through", "series-through"] {
        refuses(
            &["reduce", &one_port, "--fixture", fixture],
            &["coil.s1p", fixture, "S21", ".s2p"],
        );
    }
    let reflection_only = files.through("half.s2p", 50.0, |f| {
        [shunt(coil_ohm(f), 50.0)[0], Complex64::ZERO]
    });
    refuses(
        &["reduce", &reflection_only, "--fixture", "shunt-through"],
        &["half.s2p", "S21", "zero"],
    );
    json(&["reduce", &reflection_only, "--fixture", "reflect"]);
}

#[test]
fn bad_files_are_refused_with_their_place() {
    let files = Files::new();
    let whole = fs::read(files.through("whole.s2p", 50.0, |f| shunt(coil_ohm(f), 50.0))).unwrap();
    let records: Vec<_> = whole.split_inclusive(|byte| *byte == b'\n').collect();
    let cut = [&records[..3].concat(), &records[3][..records[3].len() / 2]].concat();
    for (name, content, words) in [
        (
            "empty.s1p",
            b"".as_slice(),
            ["empty.s1p", "no data"].as_slice(),
        ),
        ("comment.s1p", b"! nothing\n", &["comment.s1p", "no data"]),
        ("cut.s2p", &cut, &["cut.s2p", "9"]),
        (
            "nan.s1p",
            b"# MHz RI\n1 nan 0\n",
            &["nan.s1p", "line 2", "finite"],
        ),
        (
            "zero.s1p",
            b"# MHz RI R 0\n1 0 0\n",
            &["zero.s1p", "line 1", "positive"],
        ),
        (
            "falling.s1p",
            b"# MHz RI\n2 0 0\n1 0 0\n",
            &["falling.s1p", "line 3", "after 2"],
        ),
        (
            "picture.s1p",
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
            &["picture.s1p", "line 1"],
        ),
    ] {
        let path = files.write(name, content);
        refuses(&["reduce", &path, "--fixture", "reflect"], words);
    }
    refuses(
        &["reduce", &files.path("none.s1p"), "--fixture", "reflect"],
        &["none.s1p", "can't be read"],
    );
    let standard = files.reflect("coil.s1p", 50.0, coil_ohm);
    refuses(
        &[
            "reduce",
            &standard,
            "--fixture",
            "reflect",
            "--blank",
            &files.path("."),
            "--blank",
            &standard,
        ],
        &["folder", ".s1p"],
    );
}

#[test]
fn bad_arguments_are_refused() {
    let files = Files::new();
    let path = files.reflect("coil.s1p", 50.0, coil_ohm);
    refuses(&["reduce", &path], &["--fixture"]);
    refuses(
        &["reduce", &path, "--fixture", "shunt"],
        &["shunt", "shunt-through", "reflect", "series-through"],
    );
    refuses(
        &["reduce", &path, "--fixture", "shunt-thru"],
        &["shunt-through"],
    );
    refuses(
        &["reduce", &path, "--fixture", "reflect", "--jsn"],
        &["--jsn", "--json"],
    );
    refuses(
        &["reduce", &path, "--fixture", "reflect", "--at", "nan"],
        &["nan"],
    );
    refuses(
        &["reduce", &path, "--fixture", "reflect", "--json", "--csv"],
        &["--csv"],
    );
    refuses(&["reduce", "--fixture", "reflect"], &["FILE"]);
}

#[test]
fn a_closed_pipe_is_no_error() {
    let files = Files::new();
    let path = files.reflect("coil.s1p", 50.0, coil_ohm);
    for form in [[].as_slice(), &["--json"], &["--csv"]] {
        let arguments = [&["reduce", &path, "--fixture", "reflect"], form].concat();
        for room in [0, 1, 100] {
            let mut err = Vec::new();
            let code = run(&arguments, &mut ClosedPipe { room }, &mut err);
            assert_eq!(code, ExitCode::SUCCESS, "{form:?}, {room} bytes");
            assert_eq!(String::from_utf8(err).unwrap(), "", "{form:?}");
        }
    }
}
