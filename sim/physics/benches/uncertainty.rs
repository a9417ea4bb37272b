//! Readout, map and Monte Carlo, timed beside a numpy twin of the same algebra.
//!
//! `cargo bench -p jigwise-physics --bench uncertainty`. The twin runs with the interpreter in
//! JIGWISE_PYTHON, else `python3`; without numpy the ratios are left out and said so.

use std::hint::black_box;
use std::io::{self, Write};
use std::process::Command;
use std::time::Instant;

use jigwise_physics::*;

const SEED: u64 = 20_260_117;
const DEVICES: usize = 10_000;

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    let cores = std::thread::available_parallelism().map_or(1, |n| n.get());
    writeln!(out, "{cores} cores, seed {SEED}")?;
    for (name, instrument) in Instrument::PRESETS {
        let ideal = Budget::new(&instrument, ReferenceImpedance::FIFTY_OHM, 0).expect("preset");
        let on_bench = on_bench(&ideal);
        readout(&mut out, name, &ideal, Asked::Appraisal)?;
        readout(
            &mut out,
            &format!("{name} with strays"),
            &on_bench,
            Asked::Appraisal,
        )?;
        let with_bars = format!("{name} with strays and the intervals of |Z|");
        readout(&mut out, &with_bars, &on_bench, Asked::Intervals)?;
    }
    let twin = Twin::run(&mut out)?;
    map(&mut out, &twin)?;
    monte_carlo(&mut out, &twin, cores)
}

fn devices() -> Vec<Immittance> {
    let mut draws = Draws::new(SEED);
    (0..DEVICES)
        .map(|_| {
            let size = 10f64.powf(-3.0 + 9.0 * draws.uniform());
            let angle = (draws.uniform() - 0.5) * std::f64::consts::PI;
            Immittance::from_impedance(Complex64::from_polar(size, angle)).expect("finite")
        })
        .collect()
}

/// Strays that are taken out but for 15 % of each, after a calibration without a load match.
fn on_bench(ideal: &Budget) -> Budget {
    const AT_HZ: f64 = 30e6;
    let strays = Strays {
        before: Line {
            length_m: 0.02,
            velocity_factor: 0.7,
            ..Line::NONE
        },
        ..Strays::TYPICAL
    };
    let terms = RawAnalyzer::new(1).terms(AT_HZ);
    ideal
        .in_fixtures(&strays, AT_HZ, 0.15)
        .and_then(|budget| {
            budget.after_calibration(&CalibrationMade::good(Method::OnePortAndThrough, terms))
        })
        .expect("a bench")
}

/// What a readout is asked for.
#[derive(Clone, Copy)]
enum Asked {
    /// All three fixtures, changes both ways, regions, verdicts, the two best.
    Appraisal,
    /// The same with the intervals of |Z|.
    Intervals,
}

fn readout(out: &mut impl Write, name: &str, budget: &Budget, asked: Asked) -> io::Result<()> {
    const ROUNDS: usize = 21;
    let devices = devices();
    let nudge = Nudge::default();
    let maps = Fixture::ALL.map(|fixture| budget.map(fixture));
    let one = |device| {
        let device = black_box(device);
        let intervals = match asked {
            Asked::Appraisal => [None; 3],
            Asked::Intervals => Fixture::ALL.map(|fixture| {
                let scatter = budget.reading_covariance(fixture, device)?;
                modulus_interval(&maps[fixture as usize], device, device, scatter)
            }),
        };
        (budget.appraise(device, nudge, Coverage::P95), intervals)
    };
    // Device after device, so that no branch is learnt by heart; of several rounds the median
    // of each device, so that an interrupt is not taken for the code.
    let mut rounds = vec![[0.0; ROUNDS]; DEVICES];
    for round in 0..ROUNDS {
        for (times, &device) in rounds.iter_mut().zip(&devices) {
            let start = Instant::now();
            black_box(one(device));
            times[round] = start.elapsed().as_secs_f64();
        }
    }
    let mut per_device: Vec<f64> = rounds
        .into_iter()
        .map(|mut times| {
            times.sort_unstable_by(f64::total_cmp);
            times[ROUNDS / 2]
        })
        .collect();
    per_device.sort_unstable_by(f64::total_cmp);
    let microseconds = |q: f64| per_device[(q * (DEVICES - 1) as f64) as usize] * 1e6;
    let counted = allocation_counter::measure(|| {
        for &device in &devices {
            black_box(one(device));
        }
    });
    writeln!(
        out,
        "readout, {name}: median {:.2} µs, p99 {:.2} µs, worst {:.2} µs, {} allocations in {DEVICES}",
        microseconds(0.5),
        microseconds(0.99),
        microseconds(1.0),
        counted.count_total
    )
}

fn median_of(rounds: usize, mut work: impl FnMut()) -> f64 {
    let mut seconds: Vec<f64> = (0..rounds)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64()
        })
        .collect();
    seconds.sort_unstable_by(f64::total_cmp);
    seconds[rounds / 2]
}

/// Best fixture over the chart, 512², all causes of the club bench.
fn map(out: &mut impl Write, twin: &Twin) -> io::Result<()> {
    const SIDE: usize = 512;
    let area = ChartArea::whole(SIDE);
    let mut best = vec![None; SIDE * SIDE];
    let ideal = club_bench();
    let mut with_strays = || {
        let merits = Merits::of(&on_bench(&ideal));
        merits
            .best_on_chart(&area, black_box(&mut best))
            .expect("buffer fits");
    };
    let seconds = median_of(51, &mut with_strays);
    writeln!(
        out,
        "best-fixture map {SIDE}² with strays: {:.3} ms",
        seconds * 1e3
    )?;
    let merits = Merits::of(&ideal);
    let mut fill = || {
        merits
            .best_on_chart(&area, black_box(&mut best))
            .expect("buffer fits");
    };
    let seconds = median_of(51, &mut fill);
    let counted = allocation_counter::measure(&mut fill);
    writeln!(
        out,
        "best-fixture map {SIDE}²: {:.3} ms, {} allocations{}",
        seconds * 1e3,
        counted.count_total,
        twin.ratio("map", seconds)
    )?;
    let counts = Fixture::ALL
        .map(|fixture| best.iter().filter(|pixel| **pixel == Some(fixture)).count() as f64);
    writeln!(
        out,
        "  pixels per fixture {counts:?}, twin {:?}",
        twin.values("map_counts")
    )
}

fn club_bench() -> Budget {
    Budget::new(&Instrument::CLUB_BENCH, ReferenceImpedance::FIFTY_OHM, 0).expect("preset")
}

/// Noisy standards through a raw one-port, the calibration solved, a part corrected and
/// inverted: 14 draws per trial, R and X with their 95 % intervals.
fn one_port_trial(draws: &mut Draws) -> [f64; 2] {
    let c = Complex64::new;
    let (e00, e11, tracking) = (c(0.05, -0.03), c(0.10, 0.08), c(0.704761, -0.591365));
    let circular = |draws: &mut Draws, sigma: f64| c(draws.normal(), draws.normal()) * sigma;
    let raw = |draws: &mut Draws, gamma: Complex64| {
        e00 + tracking * gamma / (1.0 - e11 * gamma) + circular(draws, 2e-4)
    };
    let standard = |draws: &mut Draws, gamma: f64, sigma: f64| {
        let gamma = gamma + circular(draws, sigma);
        raw(draws, gamma)
    };
    let open = standard(draws, 1.0, 5e-3);
    let short = standard(draws, -1.0, 5e-3);
    let load = standard(draws, 0.0, 4e-3);
    let part = raw(draws, c(0.3, 0.4));
    let (up, down) = (open - load, load - short);
    let source = (up - down) / (up + down);
    let gain = up * (1.0 - source);
    let moved = part - load;
    let gamma = moved / (gain + source * moved);
    let z = 50.0 * (1.0 + gamma) / (1.0 - gamma);
    [z.re, z.im]
}

fn monte_carlo(out: &mut impl Write, twin: &Twin, cores: usize) -> io::Result<()> {
    const TRIALS: usize = 1_000_000;
    for threads in [1, 2] {
        if threads > cores {
            continue;
        }
        let settings = MonteCarlo {
            seed: SEED,
            threads,
            ..MonteCarlo::default()
        };
        let run = || settings.run_fixed(TRIALS, one_port_trial);
        let seconds = median_of(7, || {
            black_box(run());
        });
        writeln!(
            out,
            "Monte Carlo {TRIALS}, {threads} thread(s): {:.1} ms{}",
            seconds * 1e3,
            twin.ratio("monte_carlo", seconds)
        )?;
        for (name, q) in ["r", "x"].into_iter().zip(run().quantities) {
            let told = q.deviation.expect("finite variance");
            let (low, high) = q.symmetric;
            writeln!(
                out,
                "  {name}: {:.4} u {:.4}, {low:.4} {:.4} {high:.4}; twin {:?}",
                told.mean,
                told.u,
                q.median,
                twin.values(name)
            )?;
        }
    }
    Ok(())
}

/// What the numpy twin printed: a name and numbers per line.
struct Twin(Vec<(String, Vec<f64>)>);

impl Twin {
    fn run(out: &mut impl Write) -> io::Result<Self> {
        let python = std::env::var("JIGWISE_PYTHON").unwrap_or_else(|_| "python3".into());
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/twin.py");
        let forms = Merits::of(&club_bench()).coefficients();
        let output = Command::new(&python)
            .arg(script)
            .args(forms.iter().flatten().map(f64::to_string))
            .output();
        match output {
            Ok(output) if output.status.success() => Ok(Self(
                String::from_utf8_lossy(&output.stdout)
                    .lines()
                    .filter_map(|line| {
                        let mut words = line.split_whitespace();
                        let name = words.next()?.to_owned();
                        Some((name, words.filter_map(|word| word.parse().ok()).collect()))
                    })
                    .collect(),
            )),
            _ => {
                writeln!(
                    out,
                    "no twin: {python} with numpy did not run; set JIGWISE_PYTHON to one that has it"
                )?;
                Ok(Self(Vec::new()))
            }
        }
    }

    fn values(&self, name: &str) -> &[f64] {
        self.0
            .iter()
            .find(|(line, _)| line == name)
            .map_or(&[], |(_, values)| values)
    }

    fn ratio(&self, name: &str, seconds: f64) -> String {
        self.values(name).first().map_or(String::new(), |twin| {
            format!("; numpy {:.1} ms, ratio {:.1}", twin * 1e3, twin / seconds)
        })
    }
}
