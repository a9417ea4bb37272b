//! A million points in ohms, with their uncertainty.
//!
//! `cargo bench -p jigwise-bench --bench reduce`.

use std::hint::black_box;
use std::io::{self, Write};
use std::sync::Arc;
use std::time::Instant;

use jigwise_bench::{Budget, Complex64, Fixture, Immittance, Sweep};
use jigwise_physics::{Instrument, Method, ReferenceImpedance};
use jigwise_reduce::{Ensemble, Recipe, ReduceError, Reducer, StandardSweeps};

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;
const ROUNDS: usize = 5;

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    writeln!(out, "{cores} cores; best of {ROUNDS}")?;
    let budget = Budget::new(&Instrument::CLUB_BENCH, Z0, 0).expect("preset");
    let million = 1_000_000;
    for fixture in Fixture::ALL {
        let sweep = sweep(fixture, million);
        for (name, budget) in [("without", None), ("with", Some(budget))] {
            let recipe = Recipe {
                budget,
                ..Recipe::default()
            };
            let reducer = Reducer::new(&sweep, fixture, &recipe).expect("fits");
            let ensemble = Ensemble::new(vec![reducer], recipe.budget.as_ref()).expect("one");
            report(
                &mut out,
                &format!("{fixture:?}, {name} an instrument"),
                million,
                &ensemble,
            )?;
        }
    }
    let points = 20_000;
    let part = sweep(Fixture::Reflect, points);
    let mut standards = StandardSweeps::ideal(Method::OnePort, Z0);
    let all = |s11: f64| {
        let s = vec![Complex64::new(s11, 0.0); points];
        Some(Sweep::new(1, &[50.0], part.frequency_hz().to_vec(), s).expect("a sweep"))
    };
    standards.reflections[0].open = all(0.9);
    standards.reflections[0].short = all(-0.95);
    standards.reflections[0].load = all(0.02);
    let recipe = Recipe {
        standards: Some(Arc::new(standards)),
        budget: Some(budget),
        ..Recipe::default()
    };
    let reducer = Reducer::new(&part, Fixture::Reflect, &recipe).expect("fits");
    let ensemble = Ensemble::new(vec![reducer], recipe.budget.as_ref()).expect("one");
    report(
        &mut out,
        "Reflect, open, short and load corrected here",
        points,
        &ensemble,
    )
}

fn report(
    out: &mut impl Write,
    name: &str,
    points: usize,
    ensemble: &Ensemble<'_>,
) -> io::Result<()> {
    let mut best = f64::INFINITY;
    for _ in 0..ROUNDS {
        let start = Instant::now();
        let mut sum = 0.0;
        ensemble
            .each(
                |point| {
                    sum += point.uncertainty_ohm().map_or(0.0, |(r, x)| r + x);
                    Ok::<(), ReduceError>(())
                },
                |_| {},
            )
            .expect("reduces");
        black_box(sum);
        best = best.min(start.elapsed().as_secs_f64());
    }
    writeln!(
        out,
        "{name}: {points} points in {:.3} s, {:.0} ns a point",
        best,
        1e9 * best / points as f64
    )
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
