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

/// Two parts given for one: the blend is refused at every frequency, counted, and the best
/// fixture's own value stands.
#[test]
fn contradictions_are_not_blended() {
    let bench = Workbench::new();
    let reflect = bench.measured(&scenario("470", CLUB_BENCH), "reflect", "a", &[]);
    let series = bench.measured(&scenario("700", CLUB_BENCH), "series-through", "b", &[]);
    let paths = [reflect, series];
    let fixtures = "reflect,series-through";
    let more = ["--instrument", "club-bench"];
    let found = json(&arguments(&paths, fixtures, &more));
    for point in found["points"].as_array().unwrap() {
        let why = point["not_blended"].as_str().unwrap();
        assert!(why.contains("contradict"), "{why}");
        assert!((ohms(point) - 700.0).norm() < 70.0);
    }
    let out = bench.path("out");
    let with_out = arguments(&paths, fixtures, &[&more[..], &["--out", &out]].concat());
    assert_eq!(jig(&with_out).code, ExitCode::SUCCESS);
    let page = bench.read("out/report.html");
    assert!(page.contains("Not blended at 15 of 15 points"), "{page}");
    assert!(page.contains("contradict each other"));
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
        &["1 blanks for 2 fixtures", "expected 2"],
    );
    refuses(
        &arguments(&paths[1..], "series-through", &["--json"]),
        &["several parts", "--out"],
    );
}

/// One fixture for several files: each is a part of its own.
#[test]
fn several_parts_are_reduced_one_after_the_other() {
    let bench = Workbench::new();
    let one = bench.measured(&scenario("470", ""), "series-through", "one", &[]);
    let two = bench.measured(&scenario("100", ""), "series-through", "two", &[]);
    let out = bench.path("out");
    let paths = [one, two];
    let done = jig(&arguments(&paths, "series-through", &["--out", &out]));
    assert_eq!(done.code, ExitCode::SUCCESS, "{}", done.err);
    assert!(done.out.contains("one.s2p") && done.out.contains("two.s2p"));
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
