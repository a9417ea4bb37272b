//! What is written reads back: every bit in real and imaginary parts, whatever unit, version
//! and number of ports; and a file is replaced whole or not at all.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::process::{Command, Stdio};
use std::time::Duration;

use jigwise_jig::write_sweep;
use jigwise_tests::seed::{for_all, seed};
use jigwise_tests::touchstone::{c, read};
use jigwise_touchstone::{
    Format, NoisePoint, Options, Sweep, SweepError, Unit, Version, WriteError, read_file,
    read_text, write_text, write_to,
};
use num_complex::Complex64;
use proptest::prelude::*;

fn finite() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -2.0..2.0,
        1 => any::<f64>().prop_filter("finite", |x| x.is_finite()),
        1 => prop::sample::select(vec![0.0, -0.0, 1.0, -1.0, 5e-324, f64::MAX, f64::MIN_POSITIVE]),
    ]
}

fn complex() -> impl Strategy<Value = Complex64> {
    (finite(), finite()).prop_map(|(re, im)| c(re, im))
}

fn references(ports: usize) -> impl Strategy<Value = Vec<f64>> {
    prop_oneof![
        Just(vec![50.0; ports]),
        prop::collection::vec(1e-3..1e4, ports),
    ]
}

fn sweeps() -> impl Strategy<Value = Sweep> {
    (1_usize..=6, 1_usize..=4)
        .prop_flat_map(|(ports, points)| {
            (
                references(ports),
                prop::collection::vec(0.0..1e11, points),
                prop::collection::vec(complex(), points * ports * ports),
                prop::collection::vec("[ -~]{0,20}", 0..3),
            )
        })
        .prop_map(|(references, mut frequency_hz, mut s, comments)| {
            frequency_hz.sort_by(f64::total_cmp);
            frequency_hz.dedup();
            let ports = references.len();
            s.truncate(frequency_hz.len() * ports * ports);
            Sweep::new(ports, &references, frequency_hz, s)
                .unwrap()
                .with_comments(comments.iter().map(|text| text.trim_end()))
        })
}

fn options() -> impl Strategy<Value = Options> {
    (
        prop::sample::select(vec![Version::One, Version::Two, Version::TwoOne]),
        prop::sample::select(vec![Unit::Hz, Unit::KHz, Unit::MHz, Unit::GHz]),
    )
        .prop_map(|(version, unit)| Options {
            version,
            unit,
            format: Format::Real,
        })
}

fn name(sweep: &Sweep, options: &Options) -> String {
    match options.version {
        Version::One => format!("part.s{}p", sweep.ports()),
        _ => "part.ts".to_owned(),
    }
}

fn bits(sweep: &Sweep) -> Vec<u64> {
    let mut bits: Vec<u64> = sweep.frequency_hz().iter().map(|f| f.to_bits()).collect();
    for k in 0..sweep.len() {
        for to in 1..=sweep.ports() {
            for from in 1..=sweep.ports() {
                let s = sweep.s(k, to, from);
                bits.extend([s.re.to_bits(), s.im.to_bits()]);
            }
        }
    }
    bits.extend(sweep.references_ohm().iter().map(|ohm| ohm.to_bits()));
    bits
}

/// Real and imaginary parts come back to the last bit in every version and unit, comments too.
#[test]
fn every_bit_comes_back() {
    for_all(&(sweeps(), options()), |(sweep, options)| {
        let text = write_text(&sweep, &options).unwrap();
        let back = read_text(text.as_bytes(), &name(&sweep, &options));
        let back = back.map_err(|error| TestCaseError::fail(format!("{error}\n{text}")))?;
        prop_assert_eq!(bits(&back), bits(&sweep), "{}", text);
        prop_assert_eq!(back.comments(), sweep.comments());
        prop_assert!(text.is_ascii() && !text.contains('\r'));
        Ok(())
    });
}

/// Polar forms come back within a few roundings: the angle in degrees is the coarsest, π·ε.
#[test]
fn polar_forms_come_back_nearly() {
    for_all(&(sweeps(), options()), |(sweep, mut options)| {
        for format in [Format::Magnitude, Format::Decibel] {
            options.format = format;
            let text = write_text(&sweep, &options).unwrap();
            let back = read_text(text.as_bytes(), &name(&sweep, &options));
            // A magnitude near the largest double has no square or no neighbour above.
            let Ok(back) = back else {
                let large = (0..sweep.len()).any(|k| {
                    (1..=sweep.ports()).any(|to| {
                        (1..=sweep.ports()).any(|from| sweep.s(k, to, from).norm() > 1e307)
                    })
                });
                prop_assert!(large, "{}", text);
                continue;
            };
            for k in 0..sweep.len() {
                let (a, b) = (back.s(k, 1, 1), sweep.s(k, 1, 1));
                // 20·log10 of a tiny number is large, so its last digit weighs more.
                let decades = b.norm().log10().abs().min(330.0);
                let allowed = (8.0 + 2.0 * decades) * f64::EPSILON * b.norm() + 1e-323;
                prop_assert!((a - b).norm() <= allowed, "{a} for {b} in {format:?}");
            }
        }
        Ok(())
    });
}

fn amplifier() -> Sweep {
    let s = vec![c(0.1, 0.2), c(0.0, 0.0), c(5.0, -1.0), c(0.3, 0.0)];
    let point = |freq_hz: f64| NoisePoint {
        freq_hz,
        least_figure_db: 0.75,
        source_reflection: c(0.5, 0.0),
        resistance_ohm: 20.0,
    };
    Sweep::new(2, &[50.0, 75.0], vec![1e9], s)
        .unwrap()
        .with_noise(vec![point(0.5e9), point(2e9)])
        .unwrap()
        .with_comments(["an amplifier,\nR 10 kΩ − 3 µH ± 1°", "雪"])
}

#[test]
fn the_text_is_what_the_standard_asks() {
    let sweep = amplifier();
    let one = write_text(&sweep, &Options::default()).unwrap();
    assert_eq!(
        one,
        "! an amplifier,\n! R 10 kOhm - 3 uH +/- 1deg\n! ?\n# Hz S RI R 50 75\n\
         1000000000 0.1 0.2 5 -1 0 0 0.3 0\n500000000 0.75 0.5 0 0.4\n\
         2000000000 0.75 0.5 0 0.4\n"
    );
    let two = write_text(
        &sweep,
        &Options {
            version: Version::TwoOne,
            unit: Unit::GHz,
            ..Options::default()
        },
    )
    .unwrap();
    assert_eq!(
        two,
        "! an amplifier,\n! R 10 kOhm - 3 uH +/- 1deg\n! ?\n[Version] 2.1\n# GHz S RI\n\
         [Number of Ports] 2\n[Two-Port Data Order] 12_21\n[Number of Frequencies] 1\n\
         [Number of Noise Frequencies] 2\n[Reference] 50 75\n[Network Data]\n\
         1 0.1 0.2 0 0 5 -1 0.3 0\n[Noise Data]\n0.5 0.75 0.5 0 20\n2 0.75 0.5 0 20\n[End]\n"
    );
    assert_eq!(read("a.s2p", &one), sweep);
    assert_eq!(read("a.ts", &two), sweep);
    let nothing = Sweep::new(1, &[50.0], vec![0.0], vec![c(0.0, 0.0)]).unwrap();
    let decibels = Options {
        format: Format::Decibel,
        ..Options::default()
    };
    let text = write_text(&nothing, &decibels).unwrap();
    assert_eq!(text, "# Hz S DB R 50\n0 -9999 0\n");
    assert_eq!(read("a.s1p", &text), nothing);
}

#[test]
fn what_no_file_can_hold_is_refused() {
    let one = |frequency_hz: Vec<f64>| {
        let s = vec![c(0.0, 0.0); frequency_hz.len()];
        Sweep::new(1, &[50.0], frequency_hz, s)
    };
    for wrong in [vec![2.0, 1.0], vec![1.0, 1.0], vec![-1.0], vec![f64::NAN]] {
        let error = one(wrong).unwrap_err();
        assert!(matches!(error, SweepError::Frequency { .. }), "{error}");
    }
    assert_eq!(one(vec![]), Err(SweepError::NoPoints));
    let s = vec![c(f64::INFINITY, 0.0)];
    let infinite = Sweep::new(1, &[50.0], vec![1.0], s);
    assert_eq!(infinite, Err(SweepError::NotFinite { index: 0 }));
    assert!(Sweep::new(0, &[50.0], vec![1.0], vec![]).is_err());
    assert!(Sweep::new(2, &[50.0; 3], vec![1.0], vec![c(0.0, 0.0); 4]).is_err());
    assert!(Sweep::new(1, &[0.0], vec![1.0], vec![c(0.0, 0.0)]).is_err());
    let late = NoisePoint {
        freq_hz: 2e9,
        ..amplifier().noise()[0]
    };
    let late = amplifier().with_noise(vec![late]).unwrap();
    let error = write_text(&late, &Options::default()).unwrap_err();
    assert!(error.to_string().contains("version 2"), "{error}");
    let mixed = "[Version] 2.0\n# Hz S RI\n[Number of Ports] 1\n[Number of Frequencies] 1\n\
                 [Mixed-Mode Order] S1\n[Network Data]\n1 0 0\n[End]\n";
    let error = write_text(&read("a.ts", mixed), &Options::default()).unwrap_err();
    assert!(
        matches!(error, WriteError::MixedModeNeedsVersionTwo),
        "{error}"
    );
    let folder = tempfile::tempdir().unwrap();
    for wrong in ["a.s1p", "a.txt", "a"] {
        let path = folder.path().join(wrong);
        let error = write_sweep(&path, &amplifier(), &Options::default()).unwrap_err();
        assert!(error.to_string().contains(".s2p"), "{error}");
        assert!(!path.exists());
    }
    let nowhere = folder.path().join("none/a.s2p");
    let error = write_sweep(&nowhere, &amplifier(), &Options::default()).unwrap_err();
    assert!(
        error.is_io() && error.to_string().contains("none"),
        "{error}"
    );
}

/// An output that takes `left` bytes and then no more, as a full disk does.
struct Full {
    left: usize,
}

impl Write for Full {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let taken = bytes.len().min(self.left);
        self.left -= taken;
        if taken == 0 {
            return Err(io::Error::other("full"));
        }
        Ok(taken)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_full_disk_is_reported_wherever_it_fills() {
    let sweep = amplifier();
    let length = write_text(&sweep, &Options::default()).unwrap().len();
    for left in 0..length {
        let error = write_to(&mut Full { left }, &sweep, &Options::default()).unwrap_err();
        assert!(error.to_string().contains("full"), "{error}");
    }
    write_to(&mut Full { left: length }, &sweep, &Options::default()).unwrap();
}

/// Names the file that a child process writes again and again; see the test below.
const CHILD: &str = "JIGWISE_WRITES_UNTIL_KILLED";

fn long(value: f64) -> Sweep {
    let frequency_hz = (1..=20_000).map(f64::from).collect();
    Sweep::new(1, &[50.0], frequency_hz, vec![c(value, value); 20_000]).unwrap()
}

/// Not a test of itself: the child of the next one. It says a line when it begins, then writes
/// two sweeps by turns until it is killed.
#[test]
fn child_that_writes_until_killed() {
    let Some(path) = std::env::var_os(CHILD) else {
        return;
    };
    let sweeps = [long(0.25), long(0.75)];
    let mut err = io::stderr();
    writeln!(err, "writing").unwrap();
    loop {
        for sweep in &sweeps {
            write_sweep(&path, sweep, &Options::default()).unwrap();
        }
    }
}

/// A process killed at any moment of a write leaves a whole file, the old or the new one.
#[test]
fn a_kill_leaves_a_whole_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("coil.s1p");
    let sweeps = [long(0.25), long(0.75)];
    write_sweep(&path, &sweeps[0], &Options::default()).unwrap();
    let mut unfinished = 0;
    for round in 0..12 {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args([
                "--exact",
                "touchstone_writing::child_that_writes_until_killed",
                "--nocapture",
            ])
            .env(CHILD, &path)
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut begun = String::new();
        let mut said = BufReader::new(child.stderr.take().unwrap());
        said.read_line(&mut begun).unwrap();
        let wait_us = 700 * round + seed() % 1_000;
        std::thread::sleep(Duration::from_micros(wait_us));
        child.kill().unwrap();
        assert!(!child.wait().unwrap().success());
        let mut rest = String::new();
        said.read_to_string(&mut rest).unwrap();
        assert_eq!((begun.as_str(), rest.as_str()), ("writing\n", ""));
        let found = read_file(&path).unwrap();
        assert!(
            sweeps.contains(&found),
            "round {round}: neither old nor new"
        );
        for entry in std::fs::read_dir(folder.path()).unwrap() {
            let beside = entry.unwrap().path();
            if beside != path {
                unfinished += 1;
                std::fs::remove_dir_all(beside).unwrap();
            }
        }
    }
    // Without a kill that hit a write the test would have shown nothing.
    assert!(unfinished > 0, "no kill came in the middle of a write");
}
