//! A million points in ohms, with their uncertainty, timed beside a numpy twin of the same algebra.
//!
//! `cargo bench -p jigwise-reduce --bench reduce`. The twin runs with the interpreter in
//! JIGWISE_PYTHON, else `python3`, on one core; without numpy the ratios are left out and said so.
//! Ours works on all cores and on readings in memory. The ratio is that of the time on cores, all of
//! ours added up, so that other work on the machine doesn't count.

use std::hint::black_box;
use std::io::{self, Write};
use std::process::Command;
use std::sync::Arc;
use std::time::Instant;

use jigwise_bench::{Bands, Budget, Complex64, Fixture, Immittance, Sweep};
use jigwise_physics::{Cause, DiscImage, Instrument, Method, ReferenceImpedance};
use jigwise_reduce::{Ensemble, PartPoint, Recipe, ReduceError, Reducer, StandardSweeps};

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;
const ROUNDS: usize = 5;
const MILLION: usize = 1_000_000;
const WITH_STANDARDS: usize = 200_000;

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    writeln!(out, "{cores} cores; median of {ROUNDS}")?;
    let budget = Budget::new(&Instrument::CLUB_BENCH, Z0, 0).expect("preset");
    let twin = Twin::run(&mut out, &budget)?;
    for fixture in Fixture::ALL {
        let sweep = sweep(fixture, MILLION);
        for (name, budget) in [("without", None), ("with", Some(budget))] {
            let recipe = Recipe {
                budget: budget.map(Bands::from),
                ..Recipe::default()
            };
            let told = match fixture {
                Fixture::Reflect if budget.is_some() => twin.of("instrument"),
                _ => None,
            };
            let name = format!("{fixture:?}, {name} an instrument");
            report(&mut out, &name, &sweep, fixture, &recipe, told)?;
        }
    }
    let part = sweep(Fixture::Reflect, WITH_STANDARDS);
    let mut standards = StandardSweeps::ideal(Method::OnePort, Z0);
    let all = |s11: f64| {
        let s = vec![Complex64::new(s11, 0.0); WITH_STANDARDS];
        Some(Sweep::new(1, &[50.0], part.frequency_hz().to_vec(), s).expect("a sweep"))
    };
    standards.reflections[0].open = all(0.9);
    standards.reflections[0].short = all(-0.95);
    standards.reflections[0].load = all(0.02);
    let recipe = Recipe {
        standards: Some(Arc::new(standards)),
        budget: Some(budget.into()),
        ..Recipe::default()
    };
    let name = "Reflect, open, short and load corrected here";
    let told = twin.of("standards");
    report(&mut out, name, &part, Fixture::Reflect, &recipe, told)
}

fn report(
    out: &mut impl Write,
    name: &str,
    sweep: &Sweep,
    fixture: Fixture,
    recipe: &Recipe,
    twin: Option<(f64, f64)>,
) -> io::Result<()> {
    let reducer = Reducer::new(sweep, fixture, recipe).expect("fits");
    let ensemble = Ensemble::new(vec![reducer]).expect("one");
    let mut seconds = [0.0; ROUNDS];
    let mut checked = 0.0;
    let on_cores = seconds_on_cores();
    for seconds in &mut seconds {
        let start = Instant::now();
        checked = 0.0;
        ensemble
            .each(
                |point| {
                    checked += uncertain_ohm(point);
                    Ok::<(), ReduceError>(())
                },
                |_| {},
            )
            .expect("reduces");
        black_box(checked);
        *seconds = start.elapsed().as_secs_f64();
    }
    let on_cores = seconds_on_cores()
        .zip(on_cores)
        .map(|(end, start)| (end - start) / ROUNDS as f64);
    seconds.sort_unstable_by(f64::total_cmp);
    let (points, median) = (sweep.len(), seconds[ROUNDS / 2]);
    write!(
        out,
        "{name}: {points} points in {median:.3} s, {:.0} ns a point",
        1e9 * median / points as f64
    )?;
    match twin {
        Some((seconds, theirs)) => writeln!(
            out,
            "; on cores {:.3} s, numpy {seconds:.3} s, ratio {:.1}; sums differ by {:.0e} of them",
            on_cores.unwrap_or(median),
            seconds / on_cores.unwrap_or(median),
            (checked / theirs - 1.0).abs()
        ),
        None => writeln!(out),
    }
}

/// u(R), u(X) and the radius of the 95 % region, added: what the twin adds too.
fn uncertain_ohm(point: &PartPoint) -> f64 {
    let known = point.best().and_then(|best| best.uncertainty);
    known.map_or(0.0, |known| {
        let radius_ohm = match known.region {
            Some(DiscImage::Inside { radius, .. } | DiscImage::Outside { radius, .. }) => radius,
            _ => 0.0,
        };
        known.total.re.sqrt() + known.total.im.sqrt() + radius_ohm
    })
}

/// What all threads have spent on cores, in ticks of 10 ms; `None` where the system doesn't say.
fn seconds_on_cores() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    // The name of the program, in brackets, may hold blanks.
    let (_, rest) = text.rsplit_once(')')?;
    let ticks = rest.split_whitespace().skip(11).take(2);
    let ticks: Option<Vec<f64>> = ticks.map(|word| word.parse().ok()).collect();
    Some(ticks?.iter().sum::<f64>() * 0.01)
}

/// What the numpy twin printed: a name, seconds and a sum per line.
struct Twin(Vec<(String, f64, f64)>);

impl Twin {
    fn run(out: &mut impl Write, budget: &Budget) -> io::Result<Self> {
        let python = std::env::var("JIGWISE_PYTHON").unwrap_or_else(|_| "python3".into());
        let causes = [
            Cause::Load,
            Cause::Open,
            Cause::Short,
            Cause::NoiseFloor,
            Cause::TraceMagnitude,
            Cause::TracePhase,
        ];
        let ran = Command::new(&python)
            .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/benches/twin.py"))
            .args([MILLION, WITH_STANDARDS].map(|points| points.to_string()))
            .args(causes.map(|cause| budget.sigma(cause, Fixture::Reflect).to_string()))
            .output();
        let Some(ran) = ran.ok().filter(|ran| ran.status.success()) else {
            writeln!(
                out,
                "no twin: {python} with numpy did not run; set JIGWISE_PYTHON to one that has it"
            )?;
            return Ok(Self(Vec::new()));
        };
        let line = |line: &str| {
            let mut words = line.split_whitespace();
            let name = words.next()?.to_owned();
            Some((
                name,
                words.next()?.parse().ok()?,
                words.next()?.parse().ok()?,
            ))
        };
        let told = String::from_utf8_lossy(&ran.stdout);
        Ok(Self(told.lines().filter_map(line).collect()))
    }

    fn of(&self, name: &str) -> Option<(f64, f64)> {
        let found = self.0.iter().find(|(line, ..)| line == name);
        found.map(|(_, seconds, sum)| (*seconds, *sum))
    }
}

/// A coil with losses.
fn sweep(fixture: Fixture, points: usize) -> Sweep {
    let freq_hz: Vec<f64> = (1..=points).map(|k| 1e6 + 30.0 * k as f64).collect();
    let s = freq_hz.iter().flat_map(|freq_hz| {
        let z = Complex64::new(3.0, 2e-6 * std::f64::consts::TAU * freq_hz);
        let part = Immittance::from_impedance(z).expect("finite");
        let reading = |fixture: Fixture| fixture.reading(part, Z0).value().expect("passive");
        let back = fixture.port_reflection(part, Z0).value().expect("passive");
        match fixture {
            Fixture::Reflect => vec![reading(fixture)],
            _ => vec![back, reading(fixture), reading(fixture), back],
        }
    });
    let ports = if fixture == Fixture::Reflect { 1 } else { 2 };
    Sweep::new(ports, &[50.0], freq_hz.clone(), s.collect()).expect("a sweep")
}
