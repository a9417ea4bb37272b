//! What people with a folder of sweeps expect of `jig reduce`: a line for each part, a stretch of
//! the sweep, standards at other frequencies, a calibration file from `jig sweep`, a report that can
//! be made again.

use std::process::ExitCode;

use jigwise_tests::jig::{jig, json, refuses};
use jigwise_tests::workbench::{CLUB_BENCH, Workbench};

fn coil(microhenry: &str) -> String {
    format!(
        "version = 1\nseed = 5\n[device]\nkind = \"inductor\"\ninductance = \"{microhenry} uH\"\n\
         series_resistance = \"1.5 ohm\"\n[sweep]\nfrom = \"1 MHz\"\nto = \"10 MHz\"\npoints = 51\n\
         {CLUB_BENCH}"
    )
}

/// Three files of which one is no sweep.
fn folder() -> (Workbench, String) {
    let bench = Workbench::new();
    std::fs::create_dir(bench.path("sweeps")).unwrap();
    bench.measured(&coil("2.2"), "series-through", "sweeps/a", &[]);
    bench.measured(&coil("4.7"), "series-through", "sweeps/b", &[]);
    bench.write("sweeps/notes.txt", "not a sweep");
    let sweeps = bench.path("sweeps");
    (bench, sweeps)
}

const SERIES: [&str; 2] = ["--fixture", "series-through"];

#[test]
fn a_folder_is_a_line_for_each_part() {
    let (_bench, sweeps) = folder();
    let arguments = [
        &["reduce", &sweeps, "--instrument", "club-bench"],
        &SERIES[..],
    ]
    .concat();
    let found = jig(&arguments);
    assert_eq!(found.code, ExitCode::SUCCESS, "{}", found.err);
    let lines: Vec<&str> = found.out.lines().collect();
    assert!(lines[0].starts_with("File"), "{}", found.out);
    for (line, name) in lines[1..].iter().zip(["a.s2p", "b.s2p"]) {
        assert!(line.contains(name) && line.contains("inductor"), "{line}");
        assert!(
            line.contains("L (") && line.contains("µH") && line.contains('±'),
            "{line}"
        );
    }
    let found = json(&arguments);
    let parts = found["parts"].as_array().unwrap();
    assert_eq!(parts.len(), 2);
    for (part, henry) in parts.iter().zip([2.2e-6, 4.7e-6]) {
        assert_eq!(part["kind"], "inductor");
        let l = &part["values"]["values"][0];
        assert_eq!(
            (l["quantity"].as_str(), l["unit"].as_str()),
            (Some("L"), Some("H"))
        );
        let (value, u) = (l["value"].as_f64().unwrap(), l["u"].as_f64().unwrap());
        assert!((value - henry).abs() < 3.0 * u, "{value} {u}");
    }
    let found = jig(&[&arguments[..], &["--csv"]].concat());
    let mut csv = found.out.lines();
    let heading: Vec<&str> = csv.next().unwrap().split(',').collect();
    assert!(
        heading.contains(&"l_h") && heading.contains(&"u_l_h"),
        "{heading:?}"
    );
    assert_eq!(csv.count(), 2);
}

/// One bad file has its line, the others theirs, and the exit code tells.
#[test]
fn a_file_that_cant_be_read_does_not_stop_the_others() {
    let (bench, sweeps) = folder();
    bench.write("sweeps/broken.s2p", "# MHz RI R 50\n1 0.1\n");
    let found = jig(&[&["reduce", &sweeps], &SERIES[..]].concat());
    assert_eq!(found.code, ExitCode::from(2));
    let line = |name: &str| {
        let mut lines = found.out.lines();
        lines.find(|line| line.contains(name)).unwrap().to_owned()
    };
    assert!(line("broken.s2p").contains("not read"), "{}", found.out);
    assert!(line("a.s2p").contains("inductor"), "{}", found.out);
    let empty = bench.path("none");
    std::fs::create_dir(&empty).unwrap();
    refuses(
        &[&["reduce", &empty], &SERIES[..]].concat(),
        &["no sweep is in this folder", ".s2p"],
    );
    // No report is written of the others either.
    let out = bench.path("out");
    refuses(
        &[&["reduce", &sweeps, "--out", &out], &SERIES[..]].concat(),
        &["broken.s2p", "no report"],
    );
    assert!(!std::path::Path::new(&out).exists());
}

#[test]
fn the_rest_of_a_sweep_is_left_out() {
    let bench = Workbench::new();
    let path = bench.measured(&coil("2.2"), "series-through", "a", &[]);
    let base = [&["reduce", &path], &SERIES[..]].concat();
    let more = ["--from", "2 MHz", "--to", "3M"];
    let found = json(&[&base[..], &more].concat());
    let points = found["points"].as_array().unwrap();
    let hz = |at: usize| points[at]["freq_hz"].as_f64().unwrap();
    assert!(hz(0) >= 2e6 && hz(points.len() - 1) <= 3e6 && points.len() > 3);
    refuses(
        &[&base[..], &["--from", "20M"]].concat(),
        &["no point is left", "10.00"],
    );
    refuses(
        &[&base[..], &["--from", "3M", "--to", "2M"]].concat(),
        &["exchange them"],
    );
}

#[test]
fn a_frequency_without_its_unit_is_refused_with_what_was_meant() {
    let bench = Workbench::new();
    let path = bench.measured(&coil("2.2"), "series-through", "a", &[]);
    let base = [&["reduce", &path], &SERIES[..]].concat();
    refuses(
        &[&base[..], &["--at", "7.1"]].concat(),
        &["neither a prefix nor a unit", "7.1 MHz"],
    );
    refuses(
        &[&base[..], &["--to", "7100000"]].concat(),
        &["write 7.1 MHz if"],
    );
}

#[test]
fn options_that_do_nothing_are_refused_with_the_reason() {
    let bench = Workbench::new();
    let path = bench.measured(&coil("2.2"), "series-through", "a", &[]);
    let base = [&["reduce", &path], &SERIES[..]].concat();
    for (more, words) in [
        (
            &["--csv", "--model", "auto"][..],
            "--csv lists points alone",
        ),
        (
            &["--connections", "3"],
            "without --instrument there is none",
        ),
        (&["--blank-left", "5 %"], "there is no --blank"),
        (
            &["--port", "1"],
            "--port chooses the port of a part in reflect",
        ),
        (&["--replace"], "--out"),
        (&["--note", "x"], "--out"),
    ] {
        refuses(&[&base[..], more].concat(), &[words]);
    }
}

/// The calibration file of `jig sweep --with-standards` gives what the options give.
#[test]
fn a_simulated_sweep_brings_its_calibration_file() {
    let bench = Workbench::new();
    let text = coil("2.2")
        + "[calibration]\nmethod = \"both directions\"\n[calibration.open]\ncapacitance = \
           [\"60 fF\"]\n[calibration.load]\nresistance = \"51\"\n";
    for fixture in ["series-through", "reflect"] {
        let path = bench.measured(&text, fixture, fixture, &["--raw", "--with-standards"]);
        let file = bench.path(&format!("{fixture}-cal.toml"));
        let found = json(&[
            "reduce",
            &path,
            "--fixture",
            fixture,
            "--calibration",
            &file,
            "--instrument",
            "club-bench",
        ]);
        for point in found["points"].as_array().unwrap() {
            let hz = point["freq_hz"].as_f64().unwrap();
            let x = point["x_ohm"].as_f64().unwrap();
            let u = point["u_x_ohm"].as_f64().unwrap();
            // 2·π·f·L, any textbook; standards taken for what they are not are far beyond this.
            let expected = std::f64::consts::TAU * hz * 2.2e-6;
            assert!(
                (x - expected).abs() < 4.0 * u,
                "{fixture}: {hz} {x} {expected}"
            );
        }
    }
}

/// Standards at other frequencies than the part: found between their points, with the doubt in u.
#[test]
fn standards_between_whose_points_the_part_lies_are_interpolated() {
    let bench = Workbench::new();
    let raw = ["--raw", "--with-standards"];
    let part = bench.measured(&coil("2.2"), "series-through", "part", &raw);
    let same = bench.path("part-cal.toml");
    let dense = coil("2.2").replace("points = 51", "points = 77");
    bench.measured(&dense, "series-through", "other", &raw);
    let other = bench.path("other-cal.toml");
    let reduce = |calibration: &str| {
        let more = ["--calibration", calibration, "--instrument", "club-bench"];
        jigwise_tests::jig::json(&[&["reduce", &part], &SERIES[..], &more].concat())
    };
    let (exact, between) = (reduce(&same), reduce(&other));
    let told = between["warnings"].as_array().unwrap();
    let is_told = told
        .iter()
        .any(|one| one["text"].as_str().unwrap().contains("found between"));
    assert!(is_told, "{told:?}");
    let pairs = exact["points"].as_array().unwrap().iter();
    for (a, b) in pairs.zip(between["points"].as_array().unwrap()) {
        let of = |point: &serde_json::Value, key: &str| point[key].as_f64().unwrap();
        let off = (of(a, "x_ohm") - of(b, "x_ohm")).abs();
        assert!(off < 4.0 * of(b, "u_x_ohm"), "{off} {b}");
    }
    // The doubt is on top of what the same standards leave at their own points.
    let sum = |found: &serde_json::Value| -> f64 {
        let points = found["points"].as_array().unwrap().iter();
        points.map(|point| point["u_x_ohm"].as_f64().unwrap()).sum()
    };
    assert!(
        sum(&between) > sum(&exact),
        "{} {}",
        sum(&between),
        sum(&exact)
    );
    let coarse = coil("2.2").replace("points = 51", "points = 3");
    bench.measured(&coarse, "series-through", "coarse", &raw);
    let few = bench.path("coarse-cal.toml");
    let narrow = coil("2.2").replace("\"1 MHz\"", "\"2 MHz\"");
    bench.measured(&narrow, "series-through", "narrow", &raw);
    let short = bench.path("narrow-cal.toml");
    for (calibration, words) in [
        (&few, "was not measured at 1"),
        (&short, "was not measured at 1"),
    ] {
        refuses(
            &[
                &["reduce", &part, "--calibration", calibration],
                &SERIES[..],
            ]
            .concat(),
            &[words],
        );
    }
}

/// The digests are those of `sha256sum`, by the library's own test; here they follow the files.
#[test]
fn a_report_says_how_to_make_it_again() {
    let bench = Workbench::new();
    let raw = ["--raw", "--with-standards"];
    let part = bench.measured(&coil("2.2"), "series-through", "part", &raw);
    let calibration = bench.path("part-cal.toml");
    let page = |more: &[&str]| {
        let out = bench.path("out");
        let own = [
            "reduce",
            &part,
            "--calibration",
            &calibration,
            "--out",
            &out,
            "--replace",
        ];
        let done = jig(&[&own, &SERIES[..], more].concat());
        assert_eq!(done.code, ExitCode::SUCCESS, "{}", done.err);
        bench.read("out/report.html")
    };
    let more = [
        "--instrument",
        "club-bench",
        "--connections",
        "3",
        "--operator",
        "A. Member",
        "--serial",
        "0042",
        "--note",
        "Soldered & cold.",
        "--at",
        "7.1 MHz",
        "--at",
        "2M",
    ];
    let text = page(&more);
    for words in [
        "jig reduce part.s2p --calibration part-cal.toml",
        "3 times after the calibration",
        "A. Member",
        "0042",
        "Soldered &amp; cold.",
        "At 7.1",
        "At 2\u{202f}MHz",
        "last changed 20",
        concat!("Jigwise ", env!("CARGO_PKG_VERSION")),
        "part-open.s1p",
        "the calibration file",
    ] {
        assert!(text.contains(words), "{words}");
    }
    assert!(
        !text.contains(&bench.path("")),
        "a folder of the user's is told"
    );
    let digests = |text: &str| text.matches("SHA-256 <code>").count();
    // Part, nine raw sweeps of standards but for the switch terms' own, and the file itself.
    assert!(digests(&text) >= 10, "{}", digests(&text));
    std::fs::write(&part, bench.read("part.s2p") + "! another\n").unwrap();
    assert_ne!(page(&more), text, "another file, the same digest");
}

/// No two values of one quantity on a page, and no line where nothing was measured.
#[test]
fn a_page_has_one_resonance_and_the_model_in_every_plot() {
    let bench = Workbench::new();
    let text = coil("10").replace("\"10 MHz\"", "\"60 MHz\"").replace(
        "series_resistance = \"1.5 ohm\"",
        "series_resistance = \"1.5 ohm\"\nparallel_capacitance = \"2 pF\"",
    );
    let part = bench.measured(&text, "series-through", "coil", &[]);
    let out = bench.path("out");
    let more = ["--instrument", "club-bench", "--out", &out];
    let done = jig(&[&["reduce", &part], &SERIES[..], &more].concat());
    assert_eq!(done.code, ExitCode::SUCCESS, "{}", done.err);
    let page = bench.read("out/report.html");
    // 1/(2π·√(L·C)) of 10 µH and 2 pF is 35.59 MHz, any textbook.
    let told: std::collections::BTreeSet<&str> = page
        .match_indices("MHz")
        .filter_map(|(at, _)| {
            let before = page[..at].trim_end_matches('\u{202f}');
            let start = before.rfind(|c: char| !(c.is_ascii_digit() || ".± ()".contains(c)))?;
            let number = before[start..].trim_matches(|c: char| !c.is_ascii_digit() && c != '.');
            (number.starts_with("35.") || number.starts_with("36.")).then_some(number)
        })
        .collect();
    let values: Vec<&&str> = told.iter().filter(|number| number.contains('±')).collect();
    assert_eq!(values.len(), 1, "{told:?}");
    assert_eq!(
        page.matches("The thin line is a coil").count(),
        4 + 4,
        "captions and descriptions"
    );
    for title in [
        "|Z|, Ω",
        "Phase of the impedance, °",
        "Resistance R, Ω",
        "Reactance X, Ω",
    ] {
        assert!(page.contains(title), "{title}");
    }
    assert_eq!(page.matches(">frequency</text>").count(), 4);
}

/// What is known of R is an ohm or so: it is not told in milliohms, and a resistor is no capacitor.
#[test]
fn digits_follow_their_uncertainty() {
    let bench = Workbench::new();
    let text = "version = 1\nseed = 3\n[device]\nkind = \"resistor\"\nresistance = \"50.1\"\n[sweep]\n\
         from = \"1 MHz\"\nto = \"10 MHz\"\npoints = 11\n";
    let noisy = format!("{text}[instrument]\npreset = \"handheld\"\n");
    let part = bench.measured(&noisy, "reflect", "load", &[]);
    let base = ["reduce", &part, "--fixture", "reflect"];
    let found = jig(&[&base[..], &["--instrument", "handheld"]].concat());
    let rows: Vec<&str> = found
        .out
        .lines()
        .filter(|line| line.contains("MHz"))
        .collect();
    assert_eq!(rows.len(), 11, "{}", found.out);
    for row in rows {
        for word in ["nF", "µF", "MF", "fΩ", "fH"] {
            assert!(!row.contains(word), "{row}");
        }
        assert!(row.contains("resistor"), "{row}");
    }
    // A perfect analyzer leaves rounding in X, which is no part either.
    let perfect = bench.measured(text, "reflect", "perfect", &[]);
    let found = jig(&[
        "reduce",
        &perfect,
        "--fixture",
        "reflect",
        "--model",
        "auto",
    ]);
    assert!(found.out.contains("   0\u{202f}Ω"), "{}", found.out);
    for word in ["MF", "fΩ", "nΩ", "yH", "0e-", "1e-"] {
        assert!(!found.out.contains(word), "{word}: {}", found.out);
    }
}

/// Where the blank can't correct a point no line goes across: two lines and not one, each drawn as
/// a hair line with the fixture's dashes on it.
#[test]
fn no_line_crosses_what_was_left_out() {
    use jigwise_bench::Complex64;
    use jigwise_bench::scene::{Ink, Mark};
    use jigwise_physics::Fixture;
    use jigwise_reduce::report::{Gatherer, figures};
    use jigwise_reduce::{Ensemble, Recipe, ReduceError, Reducer};
    use jigwise_touchstone::Sweep;

    let freq_hz: Vec<f64> = (1..=20).map(|k| 1e6 * f64::from(k)).collect();
    let sweep = |s21: &dyn Fn(usize) -> f64| {
        let zero = Complex64::ZERO;
        let s = (0..20).flat_map(|k| {
            let s21 = Complex64::from(s21(k));
            [zero, s21, s21, zero]
        });
        Sweep::new(2, &[50.0], freq_hz.clone(), s.collect()).unwrap()
    };
    let part = sweep(&|_| 0.5);
    // A gap that passes everything is a short: nothing can be taken off there.
    let blank = sweep(&|k| if (8..11).contains(&k) { 1.0 } else { 1e-4 });
    let recipe = Recipe {
        blanks: vec![blank],
        ..Recipe::default()
    };
    let reducer = Reducer::new(&part, Fixture::SeriesThrough, &recipe).unwrap();
    let ensemble = Ensemble::new(vec![reducer]).unwrap();
    let mut gatherer = Gatherer::new(&ensemble);
    ensemble
        .each::<ReduceError>(
            |point| {
                gatherer.take(point);
                Ok(())
            },
            |_| {},
        )
        .unwrap();
    let gathered = gatherer.finish();
    assert_eq!(gathered.points, 17);
    let of_curve = |mark: &&Mark| match mark {
        Mark::Line { stroke, .. } => matches!(stroke.ink, Ink::Fixture(_)),
        _ => false,
    };
    let figure = &figures(&gathered, None)[0];
    assert_eq!(figure.scene.marks.iter().filter(of_curve).count(), 4);
}
