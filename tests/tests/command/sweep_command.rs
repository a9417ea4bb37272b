//! `jig sweep`: a simulated measurement as files, read back by our reader and by the rules of
//! the format (Touchstone 1.1: comments from "!", one option line "# unit parameter form R
//! reference", then rows of 1 + 2n² numbers with the frequency rising), and what it says to bad
//! input; and what `jig read` says of a calibration gone wrong.

use std::f64::consts::TAU;
use std::fs;
use std::process::ExitCode;

use jigwise_bench::{Budget, Fixture, Immittance, Scenario, Sweep, read_file};
use jigwise_tests::folder::names_in;
use jigwise_tests::jig::{jig, json, refuses};
use num_complex::Complex64;
use tempfile::TempDir;

/// An invented coil of the junk box, 2.2 µH with 1.5 Ω, on the club's bench.
const COIL: &str = r#"version = 1
title = "Unlabelled coil from the junk box"
seed = 17
[device]
kind = "inductor"
inductance = "2.2 uH"
series_resistance = "1.5 ohm"
[sweep]
from = "1 MHz"
to = "30 MHz"
points = 11
spacing = "logarithmic"
[instrument]
preset = "club bench"
"#;

struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new(scenario: &str) -> Self {
        let bench = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        fs::write(bench.path("bench.toml"), scenario).unwrap();
        bench
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    fn sweep(&self, fixture: &str, more: &[&str]) -> String {
        let scenario = self.path("bench.toml");
        let outcome = jig(&[&["sweep", &scenario, "--fixture", fixture], more].concat());
        assert_eq!(outcome.code, ExitCode::SUCCESS, "{}", outcome.err);
        outcome.out
    }

    fn file(&self, name: &str, fixture: &str, more: &[&str]) -> Sweep {
        let path = self.path(name);
        self.sweep(fixture, &[&["--replace", "--out", &path], more].concat());
        read_file(&path).unwrap()
    }

    #[track_caller]
    fn refuses(&self, fixture: &str, more: &[&str], words: &[&str]) -> String {
        let scenario = self.path("bench.toml");
        let arguments = [&["sweep", &scenario, "--fixture", fixture], more].concat();
        refuses(&arguments, words)
    }
}

fn coil_ohm(freq_hz: f64) -> Complex64 {
    Complex64::new(1.5, TAU * freq_hz * 2.2e-6)
}

/// The ohms of a reading, from the voltage divider of each circuit.
fn ohms(fixture: &str, sweep: &Sweep, k: usize) -> Complex64 {
    match fixture {
        "reflect" => {
            let s = sweep.s(k, 1, 1);
            50.0 * (1.0 + s) / (1.0 - s)
        }
        "shunt-through" => {
            let s = sweep.s(k, 2, 1);
            25.0 * s / (1.0 - s)
        }
        _ => {
            let s = sweep.s(k, 2, 1);
            100.0 * (1.0 - s) / s
        }
    }
}

const FIXTURES: [(&str, &str); 3] = [
    ("reflect", "coil.s1p"),
    ("shunt-through", "coil.s2p"),
    ("series-through", "coil.s2p"),
];

#[test]
fn the_file_is_read_by_the_rules_and_by_our_reader() {
    for (fixture, name) in FIXTURES {
        let bench = Bench::new(COIL);
        let sweep = bench.file(name, fixture, &[]);
        let text = fs::read_to_string(bench.path(name)).unwrap();
        let (comments, rest): (Vec<&str>, Vec<&str>) =
            text.lines().partition(|line| line.starts_with('!'));
        for word in [
            "simulated by Jigwise; no instrument made them",
            "Unlabelled coil from the junk box",
            fixture,
            "club bench",
            "invented",
            "seed 17",
        ] {
            assert!(comments.concat().contains(word), "no \"{word}\" in {text}");
        }
        let mut rest = rest.into_iter().filter(|line| !line.trim().is_empty());
        assert_eq!(rest.next().unwrap().to_uppercase(), "# HZ S RI R 50");
        let rows: Vec<Vec<f64>> = rest
            .map(|line| {
                line.split_whitespace()
                    .map(|w| w.parse().unwrap())
                    .collect()
            })
            .collect();
        let ports = if fixture == "reflect" { 1 } else { 2 };
        assert_eq!((rows.len(), sweep.len(), sweep.ports()), (11, 11, ports));
        assert_eq!((rows[0][0], rows[10][0]), (1e6, 30e6));
        assert!(rows.is_sorted_by(|a, b| a[0] < b[0]));
        for (k, row) in rows.iter().enumerate() {
            assert_eq!(row.len(), 1 + 2 * ports * ports);
            assert_eq!(row[0], sweep.frequency_hz()[k]);
            assert_eq!(Complex64::new(row[1], row[2]), sweep.s(k, 1, 1));
            if ports == 2 {
                // Of two ports S21 stands before S12.
                assert_eq!(Complex64::new(row[3], row[4]), sweep.s(k, 2, 1));
                assert_eq!(Complex64::new(row[5], row[6]), sweep.s(k, 1, 2));
            }
        }
    }
}

/// Four standard uncertainties of the club bench's budget, where that is within 4 % of |Z|; the
/// invented front ends are off by more than 15 % (2 ns of cable alone turn by 0.7° for each MHz).
#[test]
fn corrected_readings_are_the_part_and_raw_ones_are_not() {
    let scenario = Scenario::from_toml(COIL, "coil").unwrap();
    let figures = scenario.instrument.unwrap().figures;
    let budget = Budget::new(&figures, scenario.reference, 0).unwrap();
    for ((fixture, name), which) in FIXTURES.into_iter().zip(Fixture::ALL) {
        let mut in_reach = 0;
        let bench = Bench::new(COIL);
        let corrected = bench.file(name, fixture, &[]);
        let raw = bench.file(name, fixture, &["--raw"]);
        assert_eq!(corrected.frequency_hz(), raw.frequency_hz());
        assert!(raw.comments().concat().contains("raw readings"));
        for (k, &freq_hz) in corrected.frequency_hz().iter().enumerate() {
            let z = coil_ohm(freq_hz);
            let part = Immittance::from_impedance(z).unwrap();
            let e = budget.figure_of_merit(which, part).unwrap();
            let off = |sweep| (ohms(fixture, sweep, k) - z).norm() / z.norm();
            assert!(
                off(&corrected) < 4.0 * e,
                "{fixture} {freq_hz}: {}",
                off(&corrected)
            );
            if e < 0.04 {
                assert!(off(&raw) > 0.15, "{fixture} {freq_hz}: {}", off(&raw));
                in_reach += 1;
            }
        }
        assert!(in_reach >= 4, "{fixture}: {in_reach}");
    }
}

#[test]
fn a_seed_is_one_measurement() {
    let bench = Bench::new(COIL);
    let first = bench.sweep("reflect", &[]);
    assert_eq!(first, bench.sweep("reflect", &[]));
    assert_eq!(first, bench.sweep("reflect", &["--seed", "17"]));
    let other = bench.sweep("reflect", &["--seed", "18"]);
    assert!(other.contains("seed 18"));
    let numbers = |text: &str| -> Vec<String> {
        let is_row = |line: &&str| !line.starts_with(['!', '#']);
        text.lines().filter(is_row).map(str::to_owned).collect()
    };
    let (first, other) = (numbers(&first), numbers(&other));
    assert_eq!(first.len(), other.len());
    assert!(first.iter().zip(&other).all(|(a, b)| a != b));
    let scenario = bench.path("bench.toml");
    let outcome = jig(&["sweep", &scenario, "--fixture", "reflect", "--seed", "18"]);
    assert!(outcome.err.contains("seed 18"), "{}", outcome.err);
}

#[test]
fn standards_and_blanks_are_files_beside_it() {
    for (fixture, name, ones, twos) in [
        (
            "reflect",
            "coil.s1p",
            &["open", "short", "load", "empty", "shorted"][..],
            &[][..],
        ),
        (
            "shunt-through",
            "coil.s2p",
            &["open", "short", "load", "open-2", "short-2", "load-2"],
            &["through", "isolation", "switch", "shorted"],
        ),
        (
            "series-through",
            "coil.s2p",
            &["open", "short", "load", "open-2", "short-2", "load-2"],
            &["through", "isolation", "switch", "empty"],
        ),
    ] {
        let bench = Bench::new(COIL);
        let part = bench.file(name, fixture, &["--raw", "--with-standards"]);
        let mut wanted = vec!["bench.toml".to_owned(), name.to_owned()];
        for (ports, words) in [(1, ones), (2, twos)] {
            for word in words {
                let name = format!("coil-{word}.s{ports}p");
                let sweep = read_file(bench.path(&name)).unwrap();
                assert_eq!(sweep.ports(), ports, "{name}");
                assert_eq!(sweep.frequency_hz(), part.frequency_hz(), "{name}");
                assert!(sweep.comments().concat().contains("seed 17"), "{name}");
                wanted.push(name);
            }
        }
        wanted.push("coil-cal.toml".to_owned());
        wanted.sort();
        assert_eq!(names_in(bench.folder.path()), wanted, "{fixture}");
    }
}

/// A corrected sweep beside raw standards asks for a correction that was made already.
#[test]
fn a_corrected_sweep_beside_standards_is_told() {
    let bench = Bench::new(COIL);
    for (more, is_told) in [
        (&["--with-standards"][..], true),
        (&["--with-standards", "--raw"], false),
    ] {
        let (scenario, out) = (bench.path("bench.toml"), bench.path("coil.s1p"));
        let own = [
            "sweep",
            &scenario,
            "--fixture",
            "reflect",
            "--replace",
            "--out",
            &out,
        ];
        let outcome = jig(&[&own, more].concat());
        assert_eq!(
            outcome.err.contains("corrected already"),
            is_told,
            "{}",
            outcome.err
        );
    }
}

fn without_sweep(more: &str) -> String {
    let (before, after) = COIL.split_once("[sweep]").unwrap();
    let (_, after) = after.split_once("[instrument]").unwrap();
    format!("{before}{more}[instrument]{after}")
}

#[test]
fn refusals_are_sentences() {
    let bench = Bench::new(COIL);
    let out = bench.path("coil.s1p");
    bench.refuses(
        "reflect",
        &["--with-standards"],
        &["--out", "files of their own"],
    );
    bench.refuses("shunt-through", &["--out", &out], &["coil.s1p", ".s2p"]);
    let two = bench.path("coil.s2p");
    bench.refuses("reflect", &["--out", &two], &["coil.s2p", ".s1p"]);
    let text = bench.path("coil.txt");
    bench.refuses("reflect", &["--out", &text], &["coil.txt", ".s1p"]);
    let left: Vec<_> = fs::read_dir(bench.folder.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "nothing but the scenario: {left:?}");

    let bench = Bench::new(&without_sweep(""));
    bench.refuses(
        "reflect",
        &[],
        &["bench.toml", "no [sweep]", "from = \"1 MHz\""],
    );
}

/// A device known only at frequencies that the sweep leaves.
#[test]
fn a_device_without_the_frequency_is_refused() {
    let table = r#"kind = "table"
frequency = ["5 MHz", "10 MHz"]
resistance = ["10", "12"]
reactance = ["30", "60"]
[sweep]"#;
    let start = COIL.find("kind").unwrap();
    let end = COIL.find("[sweep]").unwrap() + "[sweep]".len();
    let bench = Bench::new(&format!("{}{table}{}", &COIL[..start], &COIL[end..]));
    bench.refuses("reflect", &[], &["bench.toml", "MHz"]);
}

/// A flush short and an open behind a quarter wave of line both read −1: 25 ns there and back is
/// half a period at 20 MHz.
#[test]
fn standards_that_coincide_are_refused() {
    let narrow = COIL
        .replace("\"1 MHz\"", "\"20 MHz\"")
        .replace("\"30 MHz\"", "\"21 MHz\"")
        .replace("logarithmic", "even");
    let calibration = |delay: &str| {
        format!(
            "{narrow}[calibration]\nmethod = \"one port\"\n[calibration.open]\ndelay = \"{delay}\"\n"
        )
    };
    let bench = Bench::new(&calibration("12.5 ns"));
    bench.refuses(
        "reflect",
        &[],
        &["bench.toml", "open", "short", "20 MHz", "offset"],
    );
    Bench::new(&calibration("1 ns")).sweep("reflect", &[]);
}

/// 120 + j60 Ω in each fixture as `jig read` gets it back with this `[calibration]`.
fn got_back(calibration: &str) -> ([Complex64; 3], String) {
    let bench = Bench::new(&format!(
        "version = 1\n[device]\nkind = \"fixed\"\nimpedance = \"120 + j60\"\n[at]\n\
         frequency = \"14 MHz\"\n[calibration]\n{calibration}"
    ));
    let scenario = bench.path("bench.toml");
    let found = json(&["read", &scenario]);
    let ohms = |k: usize| {
        let z = &found["fixtures"][k]["impedance"];
        let part = |key: &str| z[key].as_f64().unwrap();
        Complex64::new(part("r_ohm"), part("x_ohm"))
    };
    ([0, 1, 2].map(ohms), jig(&["read", &scenario]).out)
}

const PART: Complex64 = Complex64::new(120.0, 60.0);

#[test]
fn a_good_calibration_gives_the_part_back() {
    let (ohms, text) = got_back("method = \"both directions\"\n");
    for z in ohms {
        assert!((z - PART).norm() < 1e-9, "{z}");
    }
    assert!(
        text.contains("Exact where the standards are what they are taken for."),
        "{text}"
    );
}

/// The law of imperfect standards: with the other two right, Z′ = Z·Z0/Zload in every fixture
/// (design, after the common derivation); 50/51 is 1.96 % low.
#[test]
fn a_51_ohm_load_reads_low_in_all_three() {
    let load = "method = \"both directions\"\n[calibration.load]\nresistance = \"51\"\ntaken_as = \"ideal\"\n";
    let (back, text) = got_back(load);
    for z in back {
        let low = (z / PART - 1.0) * 100.0;
        assert!((low + 1.9608).norm() < 1e-4, "{low} %");
    }
    assert!(
        text.contains("The load is not ideal and is taken for ideal."),
        "{text}"
    );

    // The same in files of a perfect instrument.
    let (before, _) = COIL.split_once("[instrument]").unwrap();
    let bench = Bench::new(&format!("{before}[calibration]\n{load}"));
    for (fixture, name) in FIXTURES {
        let sweep = bench.file(name, fixture, &[]);
        for (k, &freq_hz) in sweep.frequency_hz().iter().enumerate() {
            let low = (ohms(fixture, &sweep, k) / coil_ohm(freq_hz) - 1.0) * 100.0;
            assert!((low + 1.9608).norm() < 1e-4, "{fixture}: {low} %");
        }
    }
}

#[test]
fn a_skipped_standard_shows_in_ohms_and_words() {
    for (standard, sentence) in [
        ("open", "Not measured: open."),
        ("short", "Not measured: short."),
        ("load", "Not measured: load."),
    ] {
        let (ohms, text) = got_back(&format!(
            "method = \"both directions\"\nskipped = [\"{standard}\"]\n"
        ));
        assert!(text.contains(sentence), "{text}");
        for z in ohms {
            assert!((z - PART).norm() > 0.05 * PART.norm(), "{standard}: {z}");
        }
    }
    // The through has no say in reflect.
    let (ohms, text) = got_back("method = \"both directions\"\nskipped = [\"through\"]\n");
    assert!(text.contains("Not measured: through."), "{text}");
    assert!((ohms[0] - PART).norm() < 1e-9);
    for z in &ohms[1..] {
        assert!((z - PART).norm() > 0.05 * PART.norm(), "{z}");
    }
}

#[test]
fn another_part_instead_of_a_standard_shows() {
    // 47 Ω where the load was asked for: the law of the 51 Ω load with another number.
    let (ohms, text) =
        got_back("method = \"both directions\"\n[calibration.load]\ninstead = \"47\"\n");
    for z in ohms {
        assert!((z / PART - 50.0 / 47.0).norm() < 1e-9, "{z}");
    }
    assert!(
        text.contains("Connected where the load was asked for"),
        "{text}"
    );
}

/// Nothing connected where the short was asked for: the port has read the open twice. Without
/// noise both readings are one and nothing can be solved; with noise something comes out, told in
/// the file and nowhere near the part.
#[test]
fn an_open_instead_of_the_short_is_refused_or_plain_to_see() {
    let slip =
        "[calibration]\nmethod = \"both directions\"\n[calibration.short]\ninstead = \"open\"\n";
    let (quiet, _) = COIL.split_once("[instrument]").unwrap();
    let bench = Bench::new(&format!("{quiet}{slip}"));
    for (fixture, _) in FIXTURES {
        bench.refuses(fixture, &[], &["bench.toml", "open", "short"]);
    }
    refuses(&["read", &bench.path("bench.toml")], &["open", "short"]);

    let bench = Bench::new(&format!("{COIL}{slip}"));
    let sweep = bench.file("coil.s1p", "reflect", &[]);
    let told = sweep.comments().concat();
    assert!(
        told.contains("Connected where the short was asked for: nothing."),
        "{told}"
    );
    for (k, &freq_hz) in sweep.frequency_hz().iter().enumerate() {
        let z = coil_ohm(freq_hz);
        assert!(
            (ohms("reflect", &sweep, k) - z).norm() > 0.5 * z.norm(),
            "{freq_hz}"
        );
    }
}

#[test]
fn a_seed_that_is_no_count_is_told_in_our_words() {
    for seed in ["x", "1.5", "18446744073709551616"] {
        let words = [seed, "is no count, expected a whole number from 0"];
        refuses(
            &[
                "sweep",
                "bench.toml",
                "--fixture",
                "reflect",
                "--seed",
                seed,
            ],
            &words,
        );
    }
}
