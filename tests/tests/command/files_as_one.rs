//! Nothing of the user's is lost: files and reports appear as one or not at all, whatever ends the
//! run. Signals, a full file system and two runs at once are real, in processes of their own.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitCode, Stdio};
use std::time::{Duration, Instant};

use jigwise_tests::folder::names_in;
use jigwise_tests::jig::{jig, refuses};

/// The arguments that a child process runs `jig` with, parted by [`PARTED_BY`].
const CHILD: &str = "JIGWISE_JIG_CHILD";
const PARTED_BY: char = '\u{1f}';
/// Longer than any of this takes on a slow machine.
const PATIENCE: Duration = Duration::from_secs(120);
const REPORT: [&str; 8] = [
    "fixtures.svg",
    "impedance.s1p",
    "magnitude.svg",
    "phase.svg",
    "points.csv",
    "reactance.svg",
    "report.html",
    "resistance.svg",
];

const COIL: &str = "version = 1\n[device]\nkind = \"inductor\"\ninductance = \"2.2 uH\"\n\
     series_resistance = \"0.3 ohm\"\n[sweep]\nfrom = \"1 MHz\"\nto = \"10 MHz\"\npoints = 11\n\
     [instrument]\npreset = \"handheld\"\n";

/// Not a test of itself: what the tests below start as a process, with the handler of signals that
/// the command's `main` installs.
#[test]
fn child_that_runs_jig() {
    let Ok(arguments) = std::env::var(CHILD) else {
        return;
    };
    jigwise_bench::shell::clean_up_when_stopped("jig");
    let arguments = arguments.split(PARTED_BY);
    let code = jigwise_jig::run(
        std::iter::once("jig").chain(arguments),
        &mut std::io::stdout(),
        &mut std::io::stderr(),
    );
    let code = if code == ExitCode::SUCCESS { 0 } else { 2 };
    std::process::exit(code);
}

fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args([
            "--exact",
            "files_as_one::child_that_runs_jig",
            "--nocapture",
        ])
        .env(CHILD, arguments.join(&PARTED_BY.to_string()))
        .stdout(Stdio::null())
        .stderr(Stdio::piped());
    command
}

fn text(path: &Path) -> String {
    path.to_str().unwrap().to_owned()
}

/// A folder with a scenario and a sweep that takes a while to reduce with raw standards.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("coil.toml"), COIL).unwrap();
        Self { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn name(&self, name: &str) -> String {
        text(&self.path(name))
    }

    /// A two-port file of many points.
    fn long(&self, points: usize) -> String {
        let path = self.path("long.s2p");
        let mut file = std::io::BufWriter::new(fs::File::create(&path).unwrap());
        writeln!(file, "# Hz S RI R 50").unwrap();
        for k in 0..points {
            let hz = 1_000_000 + 100 * k;
            let x = 0.2 + 0.6 * k as f64 / points as f64;
            writeln!(
                file,
                "{hz} {} {x} {} {} {} {} {} {x}",
                1.0 - x,
                x,
                -x,
                x,
                -x,
                1.0 - x
            )
            .unwrap();
        }
        file.flush().unwrap();
        text(&path)
    }

    fn sweep(&self, more: &[&str]) -> jigwise_tests::jig::Outcome {
        let (scenario, out) = (self.name("coil.toml"), self.name("part.s2p"));
        let own = [
            "sweep",
            &scenario,
            "--fixture",
            "series-through",
            "--out",
            &out,
        ];
        jig(&[&own, more].concat())
    }
}

#[test]
fn a_sweep_takes_no_others_place_unless_it_is_told_to() {
    let bench = Bench::new();
    assert_eq!(bench.sweep(&[]).code, ExitCode::SUCCESS);
    let first = fs::read(bench.path("part.s2p")).unwrap();
    let again = bench.sweep(&["--seed", "7"]);
    assert_eq!(again.code, ExitCode::from(2));
    assert!(again.err.contains("is there already"), "{}", again.err);
    assert!(again.err.contains("--replace"), "{}", again.err);
    assert_eq!(fs::read(bench.path("part.s2p")).unwrap(), first);
    assert_eq!(
        bench.sweep(&["--seed", "7", "--replace"]).code,
        ExitCode::SUCCESS
    );
    assert_ne!(fs::read(bench.path("part.s2p")).unwrap(), first);
    assert_eq!(names_in(bench.folder.path()), ["coil.toml", "part.s2p"]);
}

/// One file of the set that is there keeps all of them away.
#[test]
fn standards_are_written_all_or_none() {
    let bench = Bench::new();
    fs::write(bench.path("part-load.s1p"), "mine").unwrap();
    let refused = bench.sweep(&["--raw", "--with-standards"]);
    assert_eq!(refused.code, ExitCode::from(2));
    assert!(refused.err.contains("part-load.s1p"), "{}", refused.err);
    assert_eq!(
        names_in(bench.folder.path()),
        ["coil.toml", "part-load.s1p"]
    );
    assert_eq!(
        fs::read_to_string(bench.path("part-load.s1p")).unwrap(),
        "mine"
    );
}

#[test]
fn a_report_takes_no_others_place_unless_it_is_told_to() {
    let bench = Bench::new();
    bench.sweep(&[]);
    let (part, out) = (bench.name("part.s2p"), bench.name("report"));
    let reduce = [
        "reduce",
        &part,
        "--fixture",
        "series-through",
        "--out",
        &out,
    ];
    assert_eq!(jig(&reduce).code, ExitCode::SUCCESS);
    assert_eq!(names_in(&bench.path("report")), REPORT);
    let again = jig(&reduce);
    assert_eq!(again.code, ExitCode::from(2));
    assert!(again.err.contains("is there already"), "{}", again.err);
    let replace = [&reduce[..], &["--replace"]].concat();
    assert_eq!(jig(&replace).code, ExitCode::SUCCESS);
    assert_eq!(names_in(&bench.path("report")), REPORT);
    // What no report writes is not thrown away with the old one.
    fs::write(bench.path("report/notes.txt"), "mine").unwrap();
    let refused = jig(&replace);
    assert_eq!(refused.code, ExitCode::from(2));
    assert!(refused.err.contains("notes.txt"), "{}", refused.err);
    assert_eq!(
        fs::read_to_string(bench.path("report/notes.txt")).unwrap(),
        "mine"
    );
    assert_eq!(
        names_in(bench.folder.path()),
        ["coil.toml", "part.s2p", "report"]
    );
}

/// Paths are those of the folder in which the user stands.
#[test]
fn relative_paths_begin_where_the_user_stands() {
    let bench = Bench::new();
    let sweep = [
        "sweep",
        "coil.toml",
        "--fixture",
        "series-through",
        "--out",
        "part.s2p",
    ];
    let reduce = [
        "reduce",
        "part.s2p",
        "--fixture",
        "series-through",
        "--out",
        "report",
    ];
    for arguments in [&sweep[..], &reduce] {
        let status = command(arguments)
            .current_dir(bench.folder.path())
            .status()
            .unwrap();
        assert!(status.success(), "{arguments:?}");
    }
    assert_eq!(
        names_in(bench.folder.path()),
        ["coil.toml", "part.s2p", "report"]
    );
    refuses(
        &[
            "reduce",
            &bench.name("part.s2p"),
            "--fixture",
            "series-through",
            "--out",
            ".",
        ],
        &["names no folder of its own", "./report"],
    );
}

/// Waits until a run has begun to write beside `folder`.
fn wait_for_mark(folder: &Path, child: &mut Child) {
    let began = Instant::now();
    while !names_in(folder).iter().any(|name| name.ends_with(".part")) {
        assert!(began.elapsed() < PATIENCE, "nothing was begun");
        assert!(child.try_wait().unwrap().is_none(), "it ended first");
        std::thread::sleep(Duration::from_millis(1));
    }
}

#[cfg(unix)]
fn send(signal: &str, child: &Child) {
    let done = Command::new("kill")
        .args([signal, &child.id().to_string()])
        .status();
    assert!(done.unwrap().success());
}

/// Ctrl-C and a request to stop: nothing half written is left, and an old report stays as it was.
#[test]
#[cfg(unix)]
fn a_run_that_is_stopped_cleans_up() {
    for signal in ["-INT", "-TERM"] {
        let bench = Bench::new();
        let (long, out) = (bench.long(150_000), bench.name("report"));
        fs::create_dir(&out).unwrap();
        fs::write(bench.path("report/report.html"), "old").unwrap();
        let mut child = command(&[
            "reduce",
            &long,
            "--fixture",
            "series-through",
            "--out",
            &out,
            "--replace",
        ])
        .spawn()
        .unwrap();
        wait_for_mark(bench.folder.path(), &mut child);
        send(signal, &child);
        let ended = child.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&ended.stderr);
        assert_eq!(ended.status.code(), Some(130), "{signal}: {said}");
        assert!(said.contains("stopped"), "{said}");
        assert_eq!(
            names_in(bench.folder.path()),
            ["coil.toml", "long.s2p", "report"]
        );
        let old = fs::read_to_string(bench.path("report/report.html")).unwrap();
        assert_eq!(old, "old");
    }
}

/// What can't be caught leaves one marked folder, which the next run removes.
#[test]
#[cfg(unix)]
fn a_run_that_is_killed_leaves_one_folder_and_the_next_run_removes_it() {
    let bench = Bench::new();
    let (long, out) = (bench.long(150_000), bench.name("report"));
    let reduce = [
        "reduce",
        &long,
        "--fixture",
        "series-through",
        "--out",
        &out,
    ];
    let mut child = command(&reduce).spawn().unwrap();
    wait_for_mark(bench.folder.path(), &mut child);
    child.kill().unwrap();
    child.wait().unwrap();
    let left = names_in(bench.folder.path());
    let marked = left.iter().filter(|name| name.ends_with(".part")).count();
    assert_eq!((marked, left.len()), (1, 3), "{left:?}");
    assert_eq!(
        jig(&[&reduce[..], &["--to", "1.1M"]].concat()).code,
        ExitCode::SUCCESS
    );
    assert_eq!(
        names_in(bench.folder.path()),
        ["coil.toml", "long.s2p", "report"]
    );
    assert_eq!(names_in(&bench.path("report")), REPORT);
}

/// Of two runs into one folder one is refused, and the report is that of the other.
#[test]
fn of_two_runs_at_once_one_is_refused() {
    let bench = Bench::new();
    let (long, out) = (bench.long(20_000), bench.name("report"));
    let run = |to: &str| {
        command(&[
            "reduce",
            &long,
            "--fixture",
            "series-through",
            "--out",
            &out,
            "--to",
            to,
        ])
        .spawn()
        .unwrap()
    };
    let both = ["2.5M", "2.9M"].map(run);
    let ended = both.map(|child| child.wait_with_output().unwrap());
    let done = ended.iter().filter(|ended| ended.status.success()).count();
    let said = ended.map(|ended| String::from_utf8_lossy(&ended.stderr).into_owned());
    assert_eq!(done, 1, "{said:?}");
    assert!(
        said.iter().any(|said| said.contains("is there already")),
        "{said:?}"
    );
    assert_eq!(
        names_in(bench.folder.path()),
        ["coil.toml", "long.s2p", "report"]
    );
    assert_eq!(names_in(&bench.path("report")), REPORT);
    // All files are of the same run: the table has as many points as the sweep.
    let csv = fs::read_to_string(bench.path("report/points.csv")).unwrap();
    let s1p = fs::read_to_string(bench.path("report/impedance.s1p")).unwrap();
    let records = s1p.lines().filter(|line| !line.starts_with(['!', '#']));
    assert_eq!(csv.lines().count() - 1, records.count());
}

/// A file system of 200 kB in a name space of its own, where the machine allows one.
#[test]
#[cfg(target_os = "linux")]
fn a_full_disk_leaves_nothing_and_is_told() {
    let bench = Bench::new();
    let long = bench.long(5_000);
    let small = bench.path("small");
    fs::create_dir(&small).unwrap();
    let script = "mount -t tmpfs -o size=200k tmpfs \"$0\" || exit 77\n\
         \"$@\"; code=$?; ls -A \"$0\" >&2; exit $code";
    let out = text(&small.join("report"));
    let child = command(&[
        "reduce",
        &long,
        "--fixture",
        "series-through",
        "--out",
        &out,
    ]);
    let ended = Command::new("unshare")
        .args(["--map-root-user", "--mount", "sh", "-c", script])
        .arg(&small)
        .arg(child.get_program())
        .args(child.get_args())
        .envs(
            child
                .get_envs()
                .filter_map(|(key, value)| Some((key, value?))),
        )
        .output();
    let ended = match ended {
        Ok(ended) if ended.status.code() != Some(77) && !refused_by_system(&ended.stderr) => ended,
        _ => {
            assert!(
                std::env::var_os("JIGWISE_REQUIRE_DATA").is_none(),
                "no file system of its own can be mounted here"
            );
            return;
        }
    };
    let said = String::from_utf8_lossy(&ended.stderr).into_owned();
    assert_eq!(ended.status.code(), Some(2), "{said}");
    assert!(said.contains("the disk is full"), "{said}");
    assert!(said.contains("report"), "{said}");
    // The folder's listing comes last, and is empty.
    assert!(said.trim_end().ends_with("write elsewhere"), "{said}");
}

#[cfg(target_os = "linux")]
fn refused_by_system(stderr: &[u8]) -> bool {
    String::from_utf8_lossy(stderr).contains("unshare")
}
