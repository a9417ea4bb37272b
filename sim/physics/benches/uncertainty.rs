//! Readout, map and Monte Carlo, timed beside a numpy twin of the same algebra.
//!
//! `cargo bench -p jigwise-physics --bench uncertainty`. The twin runs with the interpreter in
//! JIGWISE_PYTHON, else `python3`; without numpy the ratios are left out and said so.

use std::hint::black_box;
use std::io::{self, Write};
use std::time::Instant;

use jigwise_physics::*;

const SEED: u64 = 20_260_117;
const DEVICES: usize = 10_000;

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    let cores = std::thread::available_parallelism().map_or(1, |n| n.get());
    writeln!(out, "{cores} cores, seed {SEED}")?;
    for (name, instrument) in Instrument::PRESETS {
        readout(&mut out, name, &instrument)?;
    }
    map(&mut out)
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

/// One readout: all three fixtures, changes both ways, regions, verdicts, the two best.
fn readout(out: &mut impl Write, name: &str, instrument: &Instrument) -> io::Result<()> {
    const ROUNDS: usize = 21;
    let devices = devices();
    let nudge = Nudge::default();
    let budget = Budget::new(instrument, ReferenceImpedance::FIFTY_OHM, 0).expect("preset");
    let one = |device| budget.appraise(black_box(device), nudge, Coverage::P95);
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

fn map(out: &mut impl Write) -> io::Result<()> {
    let area = ChartArea::whole(512);
    let mut best = vec![None; 512 * 512];
    let budget = Budget::new(&Instrument::CLUB_BENCH, ReferenceImpedance::FIFTY_OHM, 0).unwrap();
    let merits = Merits::of(&budget);
    let mut rounds = Vec::new();
    for _ in 0..50 {
        let start = Instant::now();
        merits.best_on_chart(&area, black_box(&mut best)).unwrap();
        rounds.push(start.elapsed().as_secs_f64());
    }
    rounds.sort_unstable_by(f64::total_cmp);
    writeln!(out, "map: {:.3} ms", rounds[25] * 1e3)
}
