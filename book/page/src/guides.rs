//! The examples of the guides to uncertainty, worked with this program.

use jigwise_bench::{
    Complex64, Covariance, Coverage, Draws, MonteCarlo, fixed, grouped, without_zeros,
};
use jigwise_quantity::significant;
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::markup::{row, table};

/// Trials of a Monte Carlo run in the book: enough for the digits that are shown.
const TRIALS: usize = 200_000;
const SEED: u64 = 22;

/// V in volts, I in milliamperes, φ in radians: one set a line.
type Sets = Vec<[f64; 3]>;

/// `simultaneous`, then voltage, current and phase, one set a line: R and X of one part from
/// repeated sets, as in annex H.2 of the GUM.
pub(crate) fn simultaneous(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected simultaneous and nothing more, with sets below")?;
    let sets = sets(block)?;
    let (mean, c) = mean_and_covariance(&sets);
    let (z, first) = propagated(mean, &c);
    let mut apart = c;
    for (j, row) in apart.iter_mut().enumerate() {
        for (k, entry) in row.iter_mut().enumerate() {
            if j != k {
                *entry = 0.0;
            }
        }
    }
    let (_, without) = propagated(mean, &apart);
    let each: Vec<Complex64> = sets.iter().map(|set| impedance(*set).0).collect();
    let Some((z_second, second)) = Covariance::of_mean(&each) else {
        return Err(block.error("expected two sets or more"));
    };
    let inputs = table(
        "The readings: five sets, each of voltage, current and phase at one moment",
        &["Set", "V / V", "I / mA", "φ / rad"],
        &given(&sets, mean, &c),
    );
    let results = table(
        "R, X and their uncertainty u (k = 1) by three ways",
        &["Way", "R / Ω", "u(R)", "X / Ω", "u(X)", "r(R, X)"],
        &[
            result("Means first, with their correlation", z, first),
            result("One Z for each set, then the mean", z_second, second),
            result("Means first, correlation left out: wrong", z, without),
        ],
    );
    Ok(html! { (inputs) (results) })
}

fn sets(block: &Block<'_>) -> Result<Sets, BlockError> {
    let mut sets = Sets::new();
    for (index, line) in block.lines() {
        let numbers: Result<Vec<f64>, _> = line.split(',').map(|n| n.trim().parse()).collect();
        let set = numbers.ok().and_then(|set| <[f64; 3]>::try_from(set).ok());
        let set = set
            .filter(|set| set[0] > 0.0 && set[1] > 0.0)
            .ok_or_else(|| {
                block.body_error(
                    index,
                    "expected V, I in mA and the phase in radians, with commas",
                )
            })?;
        sets.push(set);
    }
    match sets.len() {
        0 | 1 => Err(block.error("expected two sets or more, one a line")),
        _ => Ok(sets),
    }
}

fn mean_and_covariance(sets: &Sets) -> ([f64; 3], [[f64; 3]; 3]) {
    let n = sets.len() as f64;
    let mean: [f64; 3] = std::array::from_fn(|k| sets.iter().map(|set| set[k]).sum::<f64>() / n);
    let product = |j: usize, k: usize| {
        let sum: f64 = sets
            .iter()
            .map(|set| (set[j] - mean[j]) * (set[k] - mean[k]))
            .sum();
        sum / (n * (n - 1.0))
    };
    (
        mean,
        std::array::from_fn(|j| std::array::from_fn(|k| product(j, k))),
    )
}

/// Z = (V/I)·e^(jφ) in ohms, and its derivatives by V, I in mA, φ.
fn impedance([v, milliampere, phase]: [f64; 3]) -> (Complex64, [Complex64; 3]) {
    let z = Complex64::from_polar(1e3 * v / milliampere, phase);
    (z, [z / v, -z / milliampere, z * Complex64::I])
}

fn propagated(mean: [f64; 3], covariance: &[[f64; 3]; 3]) -> (Complex64, Covariance) {
    let (z, derivatives) = impedance(mean);
    (z, Covariance::of_real_inputs(&derivatives, covariance))
}

fn given(sets: &Sets, mean: [f64; 3], c: &[[f64; 3]; 3]) -> Vec<Markup> {
    let decimals = [3, 3, 4];
    let cells = |values: [f64; 3], more: usize| {
        let shown: Vec<String> = values
            .into_iter()
            .zip(decimals)
            .map(|(value, digits)| fixed(value, digits + more))
            .collect();
        shown
    };
    let mut rows: Vec<Markup> = sets
        .iter()
        .enumerate()
        .map(|(index, set)| row(&(index + 1).to_string(), &cells(*set, 0)))
        .collect();
    rows.push(row("Mean", &cells(mean, 1)));
    let u: [f64; 3] = std::array::from_fn(|k| c[k][k].sqrt());
    rows.push(row("u of the mean", &u.map(|u| significant(u, 2))));
    rows
}

fn result(way: &str, z: Complex64, c: Covariance) -> Markup {
    row(
        way,
        &[
            fixed(z.re, 3),
            fixed(c.re.sqrt(), 3),
            fixed(z.im, 3),
            fixed(c.im.sqrt(), 3),
            fixed(c.correlation(), 3),
        ],
    )
}

/// `power-loss`, then x1 one a line: |Γ|² of a small reflection by the GUM and by Monte Carlo, as in
/// JCGM 101, 9.4, with u = 0.005 in each direction.
pub(crate) fn power_loss(block: &Block<'_>) -> Result<Markup, BlockError> {
    const U: f64 = 0.005;
    const MILLIONTHS: f64 = 1e6;
    block.no_words("expected power-loss and nothing more, with x1 below")?;
    let mut rows = Vec::new();
    for (index, line) in block.lines() {
        let x: f64 = line
            .parse()
            .map_err(|_| block.body_error(index, "expected the real part of Γ, as in 0.010"))?;
        let (mean, u) = (x * x, 2.0 * x.abs() * U);
        let monte_carlo = MonteCarlo {
            coverage: Coverage::P95,
            seed: SEED,
            ..MonteCarlo::default()
        };
        let drawn = monte_carlo.run_fixed(TRIALS, |draws: &mut Draws| {
            [(x + U * draws.normal()).powi(2) + (U * draws.normal()).powi(2)]
        });
        let seen = drawn.quantities[0];
        let whole = |value: f64| fixed(MILLIONTHS * value, 0);
        rows.push(row(
            &without_zeros(&fixed(x, 3)),
            &[
                whole(mean),
                format!("{} to {}", whole(mean - 1.96 * u), whole(mean + 1.96 * u)),
                whole(x * x + 2.0 * U * U),
                format!("{} to {}", whole(seen.shortest.0), whole(seen.shortest.1)),
            ],
        ));
    }
    Ok(table(
        &format!(
            "|Γ|² in millionths for Γ = x + 0j with u = 0.005 in each direction; {} draws, \
             seed {SEED}",
            grouped(TRIALS as f64)
        ),
        &[
            "x",
            "GUM: |Γ|²",
            "GUM: 95 %",
            "True mean",
            "Monte Carlo: shortest 95 %",
        ],
        &rows,
    ))
}
