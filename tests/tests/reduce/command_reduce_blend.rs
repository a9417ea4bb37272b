//! `jig reduce` of one part in several fixtures.

use std::collections::HashSet;
use std::process::ExitCode;

use jigwise_tests::answers::{KEYS, ohms};
use jigwise_tests::jig::{jig, json, refuses};
use jigwise_tests::workbench::{CLUB_BENCH, FIXTURES, Workbench};
use serde_json::Value;

/// An invented resistor of 470 Ω on an instrument, all residuals drawn from one seed.
fn scenario(ohm: &str, instrument: &str) -> String {
    format!(
        "version = 1\nseed = 11\n[device]\nkind = \"resistor\"\nresistance = \"{ohm}\"\n[sweep]\n\
         from = \"1 MHz\"\nto = \"30 MHz\"\npoints = 15\n{instrument}"
    )
}

const ALL: &str = "reflect,shunt-through,series-through";

fn three(bench: &Workbench, text: &str) -> Vec<String> {
    FIXTURES
        .into_iter()
        .map(|(fixture, _)| bench.measured(text, fixture, &format!("r-{fixture}"), &[]))
        .collect()
}

fn arguments<'a>(paths: &'a [String], fixtures: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let mut arguments = vec!["reduce"];
    arguments.extend(paths.iter().map(String::as_str));
    arguments.extend(["--fixture", fixtures]);
    arguments.extend(more);
    arguments
}

#[test]
fn three_fixtures_are_blended_at_every_frequency() {
    let bench = Workbench::new();
    let paths = three(&bench, &scenario("470", CLUB_BENCH));
    let found = json(&arguments(&paths, ALL, &["--instrument", "club-bench"]));
    assert_eq!(found["fixtures"].as_array().unwrap().len(), 3);
    assert!(found.get("fixture").is_none());
    let points = found["points"].as_array().unwrap();
    assert_eq!(points.len(), 15);
    let single = json(&arguments(
        &paths[2..],
        "series-through",
        &["--instrument", "club-bench"],
    ));
    for (point, alone) in points.iter().zip(single["points"].as_array().unwrap()) {
        let u = |point: &Value, key: &str| point[key].as_f64().unwrap();
        let miss = ohms(point) - 470.0;
        assert!(miss.re.abs() < 4.0 * u(point, "u_r_ohm"), "{point}");
        assert!(miss.im.abs() < 4.0 * u(point, "u_x_ohm"), "{point}");
        assert!(
            u(point, "u_r_ohm") <= u(alone, "u_r_ohm") * 1.001,
            "a blend knows no less than one of its readings: {point} {alone}"
        );
        assert!(point["p"].as_f64().unwrap() > 0.001);
        assert!(point["not_blended"].is_null());
        assert_eq!(point["used"].as_array().unwrap().len(), 3);
        // The club bench's crossover for value is near 181 Ω.
        assert_eq!(point["fixture"], "series-through");
    }
}

/// Without an instrument nothing tells how to weigh readings, so one is chosen: where an equal
/// relative error does least. For a resistor reflect ties series-through at SWR 1 + √6, that is
/// 172.474 Ω (closed form).
#[test]
fn without_an_instrument_one_is_chosen() {
    let bench = Workbench::new();
    for (ohm, fixture) in [
        ("170", "reflect"),
        ("175", "series-through"),
        ("5", "shunt-through"),
    ] {
        let paths = three(&bench, &scenario(ohm, ""));
        let found = json(&arguments(&paths, ALL, &[]));
        for point in found["points"].as_array().unwrap() {
            assert_eq!(point["fixture"], fixture, "{ohm} Ω");
            assert!(point["p"].is_null());
            let expected: f64 = ohm.parse().unwrap();
            assert!((ohms(point) - expected).norm() < 1e-9 * expected);
        }
    }
}

/// A part swept without any error of an instrument, as a file would be that was typed.
fn exact(bench: &Workbench, device: &str, fixture: &str, stem: &str) -> String {
    let text = format!(
        "version = 1\n[device]\n{device}\n[sweep]\nfrom = \"1 MHz\"\nto = \"100 MHz\"\n\
         points = 201\n"
    );
    bench.measured(&text, fixture, stem, &[])
}

fn resistor(ohm: &str) -> String {
    format!("kind = \"resistor\"\nresistance = \"{ohm}\"")
}

const TWO: &str = "reflect,series-through";

/// Asserts that `jig reduce` gives both fixtures apart, in every form, and no value of a circuit.
fn contradict(bench: &Workbench, paths: &[String], of_each: [&str; 2]) {
    let more = ["--instrument", "handheld", "--model", "auto"];
    let found = jig(&arguments(paths, TWO, &more));
    assert_eq!(found.code, ExitCode::FAILURE, "{}", found.err);
    let first = found.out.lines().next().unwrap();
    assert!(first.contains("contradict each other, p "), "{first}");
    for value in of_each {
        assert!(found.out.contains(value), "no {value} in {}", found.out);
    }
    // Two tables, and no value of a circuit.
    assert_eq!(found.out.matches("Frequency").count(), 2, "{}", found.out);
    for symbol in ["R = ", "C = ", "\u{b1}", "Described"] {
        assert!(!found.out.contains(symbol), "{}", found.out);
    }
    let json = jig(&arguments(paths, TWO, &[&more[..], &["--json"]].concat()));
    assert_eq!(json.code, ExitCode::FAILURE);
    let json: Value = serde_json::from_str(&json.out).unwrap();
    assert!(json["agreement"]["p"].as_f64().unwrap() < 0.001);
    assert_eq!(json["agreement"]["contradiction"], true);
    assert!(json.get("points").is_none() && json.get("values").is_none());
    let apart = json["apart"].as_array().unwrap();
    let named: Vec<&str> = apart
        .iter()
        .map(|one| one["fixture"].as_str().unwrap())
        .collect();
    assert_eq!(named, ["reflect", "series-through"]);
    for one in apart {
        assert_eq!(one["points"].as_array().unwrap().len(), 201);
        assert!(one.get("values").is_none());
    }
    let csv = jig(&arguments(
        paths,
        TWO,
        &["--instrument", "handheld", "--csv"],
    ));
    assert_eq!(csv.code, ExitCode::FAILURE);
    assert_eq!(csv.out.lines().count(), 1 + 2 * 201);
    assert!(csv.err.contains("contradict each other"), "{}", csv.err);
    let out = bench.path("apart");
    let folder = jig(&arguments(
        paths,
        TWO,
        &[&more[..], &["--out", &out]].concat(),
    ));
    assert_eq!(folder.code, ExitCode::FAILURE);
    for fixture in ["reflect", "series-through"] {
        let page = bench.read(&format!("apart/{fixture}/report.html"));
        assert!(page.contains("contradict each other"), "{page}");
        assert!(!page.contains("Described as"), "{page}");
    }
}

/// Two parts given for one. Their difference of 20 % is a constant over the sweep, which the
/// noise of 201 points must not hide.
#[test]
fn contradictions_are_not_blended() {
    let bench = Workbench::new();
    let paths = [
        exact(&bench, &resistor("100"), "reflect", "a"),
        exact(&bench, &resistor("120"), "series-through", "b"),
    ];
    contradict(&bench, &paths, ["100", "120"]);
}

/// A capacitor of 10 pF that reflect hardly tells from an open at the low end, against 50 Ω.
#[test]
fn a_small_capacitor_is_no_resistor() {
    let bench = Workbench::new();
    let capacitor = "kind = \"capacitor\"\ncapacitance = \"10 pF\"";
    let paths = [
        exact(&bench, capacitor, "reflect", "a"),
        exact(&bench, &resistor("50"), "series-through", "b"),
    ];
    contradict(&bench, &paths, ["159", "50"]);
}

/// Between 0.05 and 0.001 the sweeps are blended, and the first line warns.
#[test]
fn a_doubtful_blend_says_so_first() {
    let bench = Workbench::new();
    let reflect = exact(&bench, &resistor("100"), "reflect", "a");
    let mut seen = HashSet::new();
    for ohm in 100..120 {
        let series = exact(&bench, &resistor(&ohm.to_string()), "series-through", "b");
        let paths = [reflect.clone(), series];
        let more = ["--instrument", "handheld"];
        let found = jig(&arguments(&paths, TWO, &more));
        let first = found.out.lines().next().unwrap();
        if found.code == ExitCode::FAILURE {
            seen.insert("contradiction");
            continue;
        }
        let p = json(&arguments(&paths, TWO, &more))["agreement"]["p"]
            .as_f64()
            .unwrap();
        assert!(p >= 0.001);
        let warns = first.contains("agree poorly");
        assert_eq!(warns, p < 0.05, "{first}");
        let csv = jig(&arguments(&paths, TWO, &[&more[..], &["--csv"]].concat()));
        assert_eq!(csv.err.contains("agree poorly"), warns, "{}", csv.err);
        seen.insert(if warns { "doubtful" } else { "agreement" });
    }
    assert_eq!(seen.len(), 3, "{seen:?}");
}

/// What the blanks may leave is in the blend.
#[test]
fn the_share_left_by_blanks_counts_in_a_blend() {
    let bench = Workbench::new();
    let text = scenario(
        "2k",
        &format!("[strays]\ngap = \"0.3 pF\"\npin = \"0.5 pF\"\n{CLUB_BENCH}"),
    );
    let paths: Vec<String> = ["reflect", "series-through"]
        .iter()
        .map(|fixture| {
            bench.measured(
                &text,
                fixture,
                &format!("r-{fixture}"),
                &["--raw", "--with-standards"],
            )
        })
        .collect();
    let standards = bench.standards("r-series-through", true);
    let blanks = [
        "r-reflect-empty.s1p",
        "r-reflect-shorted.s1p",
        "r-series-through-empty.s2p",
    ];
    let blanks = blanks.map(|name| bench.path(name));
    let u_at = |left: &str| {
        let mut all = arguments(
            &paths,
            TWO,
            &["--instrument", "club-bench", "--blank-left", left],
        );
        for blank in &blanks {
            all.extend(["--blank", blank]);
        }
        all.extend(standards.iter().map(String::as_str));
        let found = json(&all);
        let last = found["points"].as_array().unwrap().last().unwrap().clone();
        assert!(last["not_blended"].is_null(), "{last}");
        last["u_x_ohm"].as_f64().unwrap()
    };
    let (little, much) = (u_at("15"), u_at("50"));
    assert!(much > 1.2 * little, "{little} and {much}");
}

#[test]
fn sweeps_that_do_not_belong_together_are_refused() {
    let bench = Workbench::new();
    let paths = three(&bench, &scenario("470", ""));
    refuses(
        &arguments(&paths[1..], "series-through,series-through", &[]),
        &[
            "two sweeps are in series-through",
            "one sweep for each fixture",
        ],
    );
    let short = bench.write("few.s1p", "# MHz RI R 50\n1 0.1 0\n30 0.1 0\n");
    let with = [paths[1].clone(), short];
    refuses(
        &arguments(&with, "shunt-through,reflect", &[]),
        &["few.s1p", "was not measured at", "frequencies of the first"],
    );
    let text = bench.read("r-reflect.s1p").replace("R 50", "R 75");
    let other = bench.write("other.s1p", text);
    refuses(
        &arguments(&[paths[1].clone(), other], "shunt-through,reflect", &[]),
        &["other.s1p", "75 Ω", "50 Ω"],
    );
    refuses(
        &arguments(
            &paths[1..],
            "shunt-through,series-through",
            &["--blank", &paths[1]],
        ),
        &["1 blank for 2 fixtures", "expected 2"],
    );
}

/// One fixture for several files: each is a part of its own.
#[test]
fn several_parts_are_listed_and_each_has_its_report() {
    let bench = Workbench::new();
    let one = bench.measured(&scenario("470", ""), "series-through", "one", &[]);
    let two = bench.measured(&scenario("100", ""), "series-through", "two", &[]);
    let out = bench.path("out");
    let paths = [one, two];
    let done = jig(&arguments(&paths, "series-through", &["--out", &out]));
    assert_eq!(done.code, ExitCode::SUCCESS, "{}", done.err);
    for (name, line) in ["one.s2p", "two.s2p"].iter().zip(done.out.lines().skip(1)) {
        assert!(line.contains(name) && line.contains("resistor"), "{line}");
    }
    for part in ["one", "two"] {
        assert!(
            bench
                .read(&format!("out/{part}/report.html"))
                .contains("</html>")
        );
    }
    let twice = [paths[0].clone(), paths[0].clone()];
    refuses(
        &arguments(&twice, "series-through", &["--out", &out]),
        &["two parts would go to"],
    );
}

/// The columns of one fixture come first and in their order; behind them stands what a blend adds.
#[test]
fn csv_of_a_blend_has_a_name_for_every_cell() {
    let bench = Workbench::new();
    let paths = three(&bench, &scenario("470", CLUB_BENCH));
    let rows = |paths: &[String], fixtures: &str, more: &[&str]| -> Vec<Vec<String>> {
        let found = jig(&arguments(paths, fixtures, &[more, &["--csv"]].concat()));
        assert_eq!(found.code, ExitCode::SUCCESS, "{}", found.err);
        let cells = |line: &str| line.split(',').map(str::to_owned).collect();
        found.out.lines().map(cells).collect()
    };
    let instrument = ["--instrument", "club-bench"];
    let bare = rows(&paths[2..], "series-through", &[]);
    let single = rows(&paths[2..], "series-through", &instrument);
    let blend = rows(&paths, ALL, &instrument);
    for table in [&bare, &single, &blend] {
        let names = &table[0];
        assert!(names.iter().all(|name| !name.is_empty()), "{names:?}");
        assert_eq!(HashSet::<&String>::from_iter(names).len(), names.len());
        assert_eq!(table.len(), 1 + 15);
        assert!(
            table.iter().all(|row| row.len() == names.len()),
            "{names:?}"
        );
    }
    let added = blend[0].strip_prefix(single[0].as_slice()).unwrap();
    assert_eq!(added, ["fixture", "chi_square", "p", "used", "not_blended"]);
    let uncertain = single[0].strip_prefix(bare[0].as_slice()).unwrap();
    assert!(uncertain.iter().any(|name| name == "u_r_ohm"));
    let used = blend[0].iter().position(|name| name == "used").unwrap();
    for row in &blend[1..] {
        assert!(KEYS.iter().any(|key| row[used].contains(key)), "{row:?}");
    }
}
