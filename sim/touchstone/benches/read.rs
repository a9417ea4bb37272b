//! A two-port file of 10⁵ points, read beside the registry's other reader and scikit-rf.
//!
//! `cargo bench -p jigwise-touchstone --bench read`. scikit-rf runs in the interpreter that
//! JIGWISE_PYTHON names, else `python3`; without it the ratios are left out and said so.
//! Only ratios of one run count; each time is the mean on a core.

use std::hint::black_box;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use jigwise_touchstone::{Complex64, Entry, Format, Options, Records, Sweep, Unit};

const POINTS: usize = 100_000;
const ROUNDS: usize = 31;

struct Case {
    what: &'static str,
    path: PathBuf,
    last: Complex64,
}

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    let folder = tempfile::tempdir()?;
    let cases = cases(folder.path())?;
    let python = scikit_rf(&mut out, &cases)?;
    for (index, case) in cases.iter().enumerate() {
        let bytes = std::fs::read(&case.path)?;
        let megabytes = bytes.len() as f64 / 1e6;
        writeln!(out, "{}: {POINTS} points, {megabytes:.1} MB", case.what)?;
        let path = case.path.to_string_lossy();
        // By turns, so that other load meets both alike.
        let mut times = [const { Vec::new() }; 4];
        for _ in 0..ROUNDS {
            times[0].push(seconds(|| {
                let sweep = jigwise_touchstone::read_file(&case.path).expect("our own file");
                assert_eq!(sweep.s(POINTS - 1, 2, 1), case.last);
                sweep
            }));
            times[1].push(seconds(|| {
                jigwise_touchstone::read_text(&bytes, &path).expect("our own file")
            }));
            times[2].push(seconds(|| stream(&bytes, &path)));
            times[3].push(seconds(|| {
                let network = touchstone::Network::new(&*path).expect("our own file");
                assert_eq!(network.f().len(), POINTS);
                network
            }));
        }
        let [ours, text, stream, peer] = times.map(mean);
        let mut line = |who: &str, seconds: f64| {
            writeln!(
                out,
                "  {who:<38} {:>8.1} ms {:>6.0} MB/s   {:>5.1} × our time",
                seconds * 1e3,
                megabytes / seconds,
                seconds / ours
            )
        };
        line("read_file", ours)?;
        line("read_text", text)?;
        line("Records, one at a time", stream)?;
        line("touchstone 0.17", peer)?;
        match python.get(index) {
            Some((seconds, last)) => {
                line("scikit-rf", *seconds)?;
                assert!(
                    (last - case.last).norm() <= 1e-15,
                    "{last} for {}",
                    case.last
                );
            }
            None => writeln!(out, "  scikit-rf was not there: no ratio")?,
        }
    }
    Ok(())
}

/// The same sweep with the digits of an analyzer and with all digits of a double.
fn cases(folder: &Path) -> io::Result<Vec<Case>> {
    let mut cases = Vec::new();
    for (what, name, digits, options) in [
        (
            "RI, ten digits, in GHz",
            "ten.s2p",
            Some(9),
            Options {
                unit: Unit::GHz,
                ..Options::default()
            },
        ),
        (
            "RI, every digit, in Hz",
            "all.s2p",
            None,
            Options::default(),
        ),
        (
            "MA, every digit, in Hz",
            "polar.s2p",
            None,
            Options {
                format: Format::Magnitude,
                ..Options::default()
            },
        ),
    ] {
        let sweep = sweep(digits);
        let path = folder.join(name);
        let text = jigwise_touchstone::write_text(&sweep, &options).map_err(io::Error::other)?;
        std::fs::write(&path, text)?;
        let read = jigwise_touchstone::read_file(&path).map_err(io::Error::other)?;
        let last = read.s(POINTS - 1, 2, 1);
        assert!((last - sweep.s(POINTS - 1, 2, 1)).norm() < 1e-14);
        cases.push(Case { what, path, last });
    }
    Ok(cases)
}

/// A series resonance between the ports, an invented part.
fn sweep(digits: Option<usize>) -> Sweep {
    let rounded = |x: f64| match digits {
        Some(digits) => format!("{x:.digits$e}").parse().expect("a number"),
        None => x,
    };
    let mut frequency_hz = Vec::new();
    let mut s = Vec::new();
    for k in 0..POINTS {
        let freq_hz = 1e6 + 12_345.0 * k as f64;
        let w = std::f64::consts::TAU * freq_hz;
        let z = Complex64::new(3.0, w * 470e-9 - 1.0 / (w * 120e-12));
        let s21 = 100.0 / (z + 100.0);
        let s11 = 1.0 - s21;
        frequency_hz.push(freq_hz);
        s.extend([s11, s21, s21, s11].map(|v| Complex64::new(rounded(v.re), rounded(v.im))));
    }
    Sweep::new(2, &[50.0], frequency_hz, s).expect("a sweep")
}

fn stream(bytes: &[u8], name: &str) -> f64 {
    let mut records = Records::new(bytes, name).expect("our own file");
    let mut largest = 0.0;
    while let Some(entry) = records.next_entry().expect("our own file") {
        if let Entry::Point { s, .. } = entry {
            largest = f64::max(largest, s[2].re);
        }
    }
    largest
}

fn seconds<T>(work: impl FnOnce() -> T) -> f64 {
    let start = Clock::now();
    let made = black_box(work());
    let seconds = start.seconds_since();
    drop(made);
    seconds
}

/// Time on a core where the system counts it, so that waiting for a busy one doesn't count.
/// It moves in ticks of a few milliseconds: hence the mean of many rounds.
enum Clock {
    Core(u64),
    Wall(Instant),
}

impl Clock {
    fn now() -> Self {
        match nanoseconds_on_core() {
            Some(ns) => Self::Core(ns),
            None => Self::Wall(Instant::now()),
        }
    }

    fn seconds_since(&self) -> f64 {
        match self {
            Self::Core(start) => {
                let now = nanoseconds_on_core().expect("it was there before");
                (now - start) as f64 * 1e-9
            }
            Self::Wall(start) => start.elapsed().as_secs_f64(),
        }
    }
}

fn nanoseconds_on_core() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split(' ').next()?.parse().ok()
}

fn mean(seconds: Vec<f64>) -> f64 {
    seconds.iter().sum::<f64>() / seconds.len() as f64
}

/// Seconds and last S21 of each case; empty where scikit-rf is not there.
fn scikit_rf(out: &mut impl Write, cases: &[Case]) -> io::Result<Vec<(f64, Complex64)>> {
    let python = std::env::var("JIGWISE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let twin = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/twin.py");
    let ran = Command::new(&python)
        .arg(twin)
        .args(cases.iter().map(|case| &case.path))
        .output();
    let text = match ran {
        Ok(ran) if ran.status.success() => String::from_utf8_lossy(&ran.stdout).into_owned(),
        Ok(ran) => {
            let said = String::from_utf8_lossy(&ran.stderr);
            let why = said.lines().last().unwrap_or_default();
            writeln!(
                out,
                "{python} did not run scikit-rf ({why}): set JIGWISE_PYTHON"
            )?;
            return Ok(Vec::new());
        }
        Err(error) => {
            writeln!(out, "{python} did not start ({error}): set JIGWISE_PYTHON")?;
            return Ok(Vec::new());
        }
    };
    let rows = text.lines().filter_map(|line| {
        let mut words = line.split(' ').skip(1).map(|word| word.parse::<f64>().ok());
        let (seconds, _points) = (words.next()??, words.next()??);
        let last = Complex64::new(words.next()??, words.next()??);
        Some((seconds, last))
    });
    Ok(rows.collect())
}
