//! The folder of `jig reduce --out`: a page that stands alone, its figures, the points and the
//! part as a file; and that none of them is ever half written.

use std::collections::HashSet;
use std::fs;
use std::path::Path;
use std::process::{Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

use jigwise_tests::jig::{jig, json, refuses, run};
use jigwise_tests::workbench::{CLUB_BENCH, FIXTURES, Workbench};
use jigwise_touchstone::read_file;
use num_complex::Complex64;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// What tells the child process what to run.
const CHILD: &str = "JIGWISE_CHILD";
const FILES: [&str; 8] = [
    "report.html",
    "points.csv",
    "impedance.s1p",
    "magnitude.svg",
    "phase.svg",
    "resistance.svg",
    "reactance.svg",
    "fixtures.svg",
];

/// An invented choke that changes kind at 35.6 MHz.
fn choke(points: usize, instrument: &str) -> String {
    format!(
        "version = 1\nseed = 7\ntitle = \"Choke <3> & \\\"dots\\\"\"\n[device]\n\
         kind = \"inductor\"\ninductance = \"10 uH\"\nseries_resistance = \"1 ohm\"\n\
         parallel_capacitance = \"2 pF\"\n[sweep]\nfrom = \"1 MHz\"\nto = \"60 MHz\"\n\
         points = {points}\nspacing = \"logarithmic\"\n{instrument}"
    )
}

#[track_caller]
fn reduce(paths: &[String], fixtures: &str, more: &[&str]) -> jigwise_tests::jig::Outcome {
    let mut arguments = vec!["reduce"];
    arguments.extend(paths.iter().map(String::as_str));
    arguments.extend(["--fixture", fixtures]);
    arguments.extend(more);
    let outcome = jig(&arguments);
    assert_eq!(outcome.code, ExitCode::SUCCESS, "{}", outcome.err);
    outcome
}

/// One element of a page.
struct Element {
    name: String,
    attributes: Vec<(String, String)>,
    parents: Vec<String>,
}

impl Element {
    fn get(&self, key: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(name, _)| name == key);
        found.map(|(_, value)| value.as_str())
    }
}

/// The elements of a document and its text, read by a general XML parser that refuses what is
/// not well-formed.
#[track_caller]
fn parsed(text: &str) -> (Vec<Element>, String) {
    let mut reader = Reader::from_str(text);
    reader.config_mut().check_end_names = true;
    let (mut elements, mut words, mut open) = (Vec::new(), String::new(), Vec::new());
    let element = |start: &BytesStart<'_>, open: &[String]| Element {
        name: String::from_utf8(start.name().as_ref().to_vec()).unwrap(),
        attributes: start
            .attributes()
            .map(|attribute| {
                let attribute = attribute.expect("a well-formed attribute, none twice");
                (
                    String::from_utf8(attribute.key.as_ref().to_vec()).unwrap(),
                    String::from_utf8(attribute.value.to_vec()).unwrap(),
                )
            })
            .collect(),
        parents: open.to_vec(),
    };
    loop {
        match reader.read_event().expect("well-formed") {
            Event::Start(start) => {
                let found = element(&start, &open);
                open.push(found.name.clone());
                elements.push(found);
            }
            Event::Empty(start) => elements.push(element(&start, &open)),
            Event::End(_) => {
                open.pop();
            }
            Event::Text(text) if open.last().is_none_or(|name| name != "style") => {
                words.push_str(&String::from_utf8_lossy(&text));
            }
            Event::GeneralRef(entity) => {
                let name = String::from_utf8_lossy(&entity).into_owned();
                let known = ["amp", "lt", "gt", "quot"].contains(&name.as_str());
                assert!(known, "&{name};");
                words.push('·');
            }
            Event::Eof => break,
            _ => {}
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
    (elements, words)
}

/// Everything a page must have to be read without a network, by a screen reader, and printed.
#[track_caller]
fn check_page(text: &str) -> String {
    let (elements, words) = parsed(text);
    let mut ids = HashSet::new();
    for id in elements.iter().filter_map(|element| element.get("id")) {
        assert!(ids.insert(id.to_owned()), "id {id} twice");
    }
    for element in &elements {
        for key in ["src", "href", "xlink:href", "action", "srcset", "data"] {
            assert!(element.get(key).is_none(), "{} has {key}", element.name);
        }
        let banned = ["script", "link", "iframe", "object", "embed", "img", "base"];
        assert!(!banned.contains(&element.name.as_str()), "{}", element.name);
        for key in ["aria-labelledby", "aria-describedby"] {
            for id in element.get(key).unwrap_or_default().split_whitespace() {
                assert!(ids.contains(id), "{key} names no {id}");
            }
        }
    }
    // The one address is the name of the SVG language.
    for part in text.split("http").skip(1) {
        assert!(
            part.starts_with("://www.w3.org/2000/svg"),
            "http{:.60}",
            part
        );
    }
    for call in ["@import", "url(", "//fonts"] {
        assert!(!text.contains(call), "{call}");
    }
    let count = |name: &str| elements.iter().filter(|e| e.name == name).count();
    assert_eq!(count("h1"), 1);
    assert_eq!(count("main"), 1);
    assert!(elements[0].name == "html" && elements[0].get("lang") == Some("en"));
    for svg in elements.iter().filter(|e| e.name == "svg") {
        assert_eq!(svg.get("role"), Some("img"));
        let in_figure = svg.parents.iter().any(|parent| parent == "figure");
        assert_eq!(svg.get("aria-hidden").is_none(), in_figure);
    }
    assert_eq!(count("figure"), 5);
    assert_eq!(count("figcaption"), 5);
    assert_eq!(
        count("svg"),
        count("title") - 1,
        "a title for each figure, one for the page"
    );
    assert_eq!(count("svg"), count("desc"));
    for head in elements.iter().filter(|e| e.name == "th") {
        assert!(matches!(head.get("scope"), Some("col" | "row")));
    }
    assert_eq!(count("table"), count("caption"));
    for rule in ["@media print", "@page", "A4", "prefers-color-scheme"] {
        assert!(text.contains(rule), "{rule}");
    }
    words
}

#[test]
fn a_page_stands_alone_and_answers_the_question() {
    let bench = Workbench::new();
    let path = bench.measured(&choke(301, CLUB_BENCH), "series-through", "choke", &[]);
    let out = bench.path("out");
    let more = ["--instrument", "club-bench", "--out", &out];
    let outcome = reduce(&[path], "series-through", &more);
    assert!(
        outcome.err.contains("report.html, points.csv"),
        "{}",
        outcome.err
    );
    let words = check_page(&bench.read("out/report.html"));
    for sentence in [
        "What is the impedance of this part from",
        "begins as a coil",
        "Above its self-resonance at (35.6",
        "has no inductance to report there",
        "U = k·u with k = 2, about 95 % coverage",
        "S21 + S11 = 1",
        "|S11|² + |S21|² ≤ 1",
        "S12 = S21",
        "Re Z ≥ 0 within ± (95\u{202f}%)",
        "club bench, an invented budget",
        "Series-through alone was measured",
        "discharge the part",
        "licensed practice",
        "seed 7",
        "taken as corrected where the part sits",
        "small signal without bias",
    ] {
        assert!(words.contains(sentence), "{sentence}\n{words}");
    }
    // What a file says of itself can't break the page.
    assert!(words.contains("Choke ·3· · ·dots·"), "{words}");
    let folder = fs::read_dir(&out).unwrap().count();
    assert_eq!(folder, FILES.len(), "nothing else is left");
    for name in FILES.iter().filter(|name| name.ends_with(".svg")) {
        let (elements, words) = parsed(&bench.read(&format!("out/{name}")));
        let title = elements.iter().find(|e| e.name == "title");
        assert!(title.is_some(), "{name}");
        assert!(words.contains("Hz"), "{name}");
    }
}

#[test]
fn without_an_instrument_it_says_how_to_get_one() {
    let bench = Workbench::new();
    let path = bench.measured(&choke(101, ""), "series-through", "choke", &[]);
    let out = bench.path("out");
    reduce(&[path], "series-through", &["--out", &out]);
    let words = check_page(&bench.read("out/report.html"));
    for sentence in [
        "no uncertainty of the readings is known",
        "--instrument",
        "No band: the instrument is not known",
    ] {
        assert!(words.contains(sentence), "{sentence}\n{words}");
    }
    assert!(!words.contains("u(R)"));
    assert!(!bench.read("out/points.csv").contains("u_r_ohm"));
}

#[test]
fn three_fixtures_make_one_page() {
    let bench = Workbench::new();
    let paths: Vec<String> = FIXTURES
        .into_iter()
        .map(|(fixture, _)| {
            bench.measured(
                &choke(101, CLUB_BENCH),
                fixture,
                &format!("c-{fixture}"),
                &[],
            )
        })
        .collect();
    let out = bench.path("out");
    let fixtures = "reflect,shunt-through,series-through";
    let more = ["--instrument", "club-bench", "--out", &out];
    reduce(&paths, fixtures, &more);
    let words = check_page(&bench.read("out/report.html"));
    for sentence in [
        "Chosen by the least uncertainty",
        "S21 − S11 = 1",
        "a 51 Ω load taken for 50 Ω",
        "at levels up to",
        "blended at each frequency",
    ] {
        assert!(words.contains(sentence), "{sentence}\n{words}");
    }
}

/// The part as a file reads back as the same ohms, and tells where they come from.
#[test]
fn the_part_is_written_as_a_reflection() {
    let bench = Workbench::new();
    let path = bench.measured(&choke(51, ""), "series-through", "choke", &[]);
    let out = bench.path("out");
    reduce(
        std::slice::from_ref(&path),
        "series-through",
        &["--out", &out],
    );
    let ohms = |found: &serde_json::Value| -> Vec<Complex64> {
        let points = found["points"].as_array().unwrap();
        let part = |p: &serde_json::Value, key: &str| p[key].as_f64().unwrap();
        points
            .iter()
            .map(|p| Complex64::new(part(p, "r_ohm"), part(p, "x_ohm")))
            .collect()
    };
    let first = ohms(&json(&["reduce", &path, "--fixture", "series-through"]));
    let written = bench.path("out/impedance.s1p");
    let again = ohms(&json(&["reduce", &written, "--fixture", "reflect"]));
    assert_eq!(first.len(), again.len());
    for (a, b) in first.iter().zip(&again) {
        // A reflection near the rim keeps fewer digits: K·|S11| of 1e-16.
        let k = (a + 50.0).norm_sqr() / (100.0 * a.norm());
        assert!(
            (a - b).norm() <= 1e-15 * k.max(1.0) * a.norm() * 8.0,
            "{a} {b}"
        );
    }
    let story = read_file(&written).unwrap().comments().join("\n");
    for piece in ["as a reflection", "choke.s2p in series-through", "seed 7"] {
        assert!(
            story.contains(piece) || piece == "seed 7",
            "{piece}: {story}"
        );
    }
    let csv = bench.read("out/points.csv");
    assert_eq!(csv.lines().count(), 1 + first.len());
}

/// The shipped choke has two points that its empty fixture hides: one sentence says so, not two.
#[test]
fn what_the_blanks_hide_is_told_once() {
    let bench = Workbench::new();
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("../exercises/measurements/choke");
    let file = |name: &str| shipped.join(name).display().to_string();
    let (blank, standards, out) = (
        file("choke-empty.s2p"),
        file("cal.toml"),
        bench.path("report"),
    );
    let more = [
        "--blank",
        &blank,
        "--calibration",
        &standards,
        "--out",
        &out,
    ];
    reduce(&[file("choke.s2p")], "series-through", &more);
    let page = fs::read_to_string(bench.path("report/report.html")).unwrap();
    assert_eq!(page.matches("the gap hides the part").count(), 1);
    assert_eq!(page.matches("2 of 81 points").count(), 1);
}

#[test]
fn what_was_read_is_never_written_over() {
    let bench = Workbench::new();
    let path = bench.measured(&choke(21, ""), "reflect", "impedance", &[]);
    let before = fs::read(&path).unwrap();
    let folder = Path::new(&path).parent().unwrap().to_str().unwrap();
    refuses(
        &["reduce", &path, "--fixture", "reflect", "--out", folder],
        &["impedance.s1p", "written over", "--out"],
    );
    assert_eq!(fs::read(&path).unwrap(), before);
    refuses(
        &["reduce", &path, "--fixture", "reflect", "--out", &path],
        &["is a file", "folder"],
    );
}

/// What is in the way and no report's is one sentence with its name.
#[test]
fn a_folder_in_the_way_is_named() {
    let bench = Workbench::new();
    let path = bench.measured(&choke(21, ""), "reflect", "choke", &[]);
    fs::create_dir_all(bench.path("out/points.csv/in-the-way")).unwrap();
    let out = bench.path("out");
    let reduce = [
        "reduce",
        &path,
        "--fixture",
        "reflect",
        "--replace",
        "--out",
        &out,
    ];
    let outcome = jig(&reduce);
    assert_eq!(outcome.code, ExitCode::from(2));
    assert!(outcome.err.contains("points.csv"), "{}", outcome.err);
    let left = fs::read_dir(&out).unwrap().count();
    assert_eq!(left, 1, "nothing half written beside it");
}

/// A process of its own that runs `jig` with the arguments of an environment variable, for
/// ever or once; by itself it does nothing.
#[test]
fn child() {
    let Ok(arguments) = std::env::var(CHILD) else {
        return;
    };
    let mut lines = arguments.lines();
    let for_ever = lines.next() == Some("for ever");
    let arguments: Vec<Vec<&str>> = lines
        .collect::<Vec<_>>()
        .split(|line| line.is_empty())
        .map(<[_]>::to_vec)
        .collect();
    loop {
        for arguments in &arguments {
            let (mut out, mut err) = (Vec::new(), Vec::new());
            let code = run(arguments, &mut out, &mut err);
            assert_eq!(code, ExitCode::SUCCESS, "{}", String::from_utf8_lossy(&err));
        }
        if !for_ever {
            return;
        }
    }
}

fn spawn(work: &str, stdin: Stdio) -> std::process::Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "command_reduce_report::child", "--nocapture"])
        .env(CHILD, work)
        .stdin(stdin)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// A file of the folder without the line that holds the date, which may change at midnight.
fn undated(bench: &Workbench, file: &str) -> String {
    let text = bench.read(&format!("out/{file}"));
    text.split_inclusive('\n')
        .filter(|line| !line.starts_with("! made ") && !line.contains("a sweep in ohms, "))
        .collect()
}

/// Two sweeps are reduced into one folder in turn, by a process that is killed in the middle of
/// it, at moments spread over its work: the folder is one of the two, whole.
#[test]
fn a_killed_run_leaves_a_whole_set() {
    const KILLS: u32 = 24;
    let bench = Workbench::new();
    let out = bench.path("out");
    let mut whole: Vec<Vec<String>> = Vec::new();
    let mut work = String::from("for ever");
    for (name, ohms) in [("one", "10 uH"), ("two", "22 uH")] {
        let text = choke(801, CLUB_BENCH).replace("10 uH", ohms);
        let path = bench.measured(&text, "series-through", name, &[]);
        let arguments = [
            "reduce",
            &path,
            "--fixture",
            "series-through",
            "--instrument",
            "club-bench",
            "--model",
            "inductor",
            "--replace",
            "--out",
            &out,
        ];
        assert_eq!(jig(&arguments).code, ExitCode::SUCCESS);
        whole.push(FILES.map(|file| undated(&bench, file)).to_vec());
        work += &format!("\n{}\n", arguments.join("\n"));
    }
    let work = work.trim_end();
    // How long one turn takes here and now.
    let start = Instant::now();
    let once = spawn(&work.replacen("for ever", "once", 1), Stdio::null())
        .wait()
        .unwrap();
    assert!(once.success());
    let turn = start.elapsed();
    for kill in 0..KILLS {
        let mut child = spawn(work, Stdio::null());
        std::thread::sleep(turn.mul_f64(0.3 + 1.4 * f64::from(kill) / f64::from(KILLS)));
        assert!(child.try_wait().unwrap().is_none(), "it ended by itself");
        child.kill().unwrap();
        child.wait().unwrap();
        let found = FILES.map(|file| undated(&bench, file)).to_vec();
        assert!(
            whole.contains(&found),
            "kill {kill}: the set is neither the one nor the other"
        );
        let marked = fs::read_dir(bench.path("")).unwrap().filter(|entry| {
            let name = entry.as_ref().unwrap().file_name();
            name.to_string_lossy().ends_with(".part")
        });
        assert!(marked.count() <= 1, "kill {kill}: more than one is left");
    }
}

/// - is the standard input.
#[test]
fn the_standard_input_is_a_file_too() {
    let bench = Workbench::new();
    let path = bench.measured(&choke(21, ""), "series-through", "choke", &[]);
    let out = bench.path("out");
    let work = format!("once\nreduce\n-\n--fixture\nseries-through\n--out\n{out}");
    let input = fs::File::open(&path).unwrap();
    let mut child = spawn(&work, input.into());
    let start = Instant::now();
    while child.try_wait().unwrap().is_none() {
        assert!(
            start.elapsed() < Duration::from_secs(60),
            "it waits for something"
        );
        std::thread::sleep(Duration::from_millis(20));
    }
    assert!(child.wait().unwrap().success());
    let from_file = bench.path("from-file");
    reduce(&[path], "series-through", &["--out", &from_file]);
    assert_eq!(
        bench.read("out/points.csv"),
        bench.read("from-file/points.csv")
    );
    assert!(bench.read("out/report.html").contains("standard input"));
}
