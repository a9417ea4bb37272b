//! Propagation of distributions by drawing, with as many trials as the wanted digits need.
//!
//! Source: JCGM 101:2008, 7.9 (adaptive procedure, numerical tolerance 7.9.2), 7.7 (coverage
//! intervals).

use std::thread;

use crate::{Coverage, Draws};

/// Settings of an adaptive Monte Carlo calculation: how many digits are wanted, and when to stop.
///
/// ```
/// use jigwise_physics::{Coverage, MonteCarlo};
///
/// // Four independent N(0, 1) added: u = 2, 95 % within ±3.92 (JCGM 101, 9.2.2).
/// let sum = MonteCarlo { seed: 1, ..MonteCarlo::default() }
///     .run(|draws| [(0..4).map(|_| draws.normal()).sum()]);
/// let y = &sum.quantities[0];
/// assert!(sum.has_converged);
/// assert!((y.deviation.unwrap().u - 2.0).abs() < 0.05);
/// assert!((y.symmetric.1 - 3.92).abs() < 0.1);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonteCarlo {
    /// Probability of the intervals.
    pub coverage: Coverage,
    /// Significant digits of u that must be stable, 1 to 4.
    pub digits: u8,
    /// Number of trials after which to stop in any case.
    pub max_trials: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Threads to draw on, 1 or more. The result does not depend on it: every block has a
    /// stream of its own. More than 1 needs a platform with threads.
    pub threads: usize,
    /// False where the variance is infinite: mean and u are then neither waited for nor
    /// reported, and the intervals alone decide.
    pub variance_is_finite: bool,
}

impl Default for MonteCarlo {
    /// 95 %, two digits, at most 10 million trials, seed 0, one thread.
    fn default() -> Self {
        Self {
            coverage: Coverage::P95,
            digits: 2,
            max_trials: 10_000_000,
            seed: 0,
            threads: 1,
            variance_is_finite: true,
        }
    }
}

/// Mean and standard uncertainty of one quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deviation {
    /// Mean of the trials.
    pub mean: f64,
    /// Standard deviation of the trials.
    pub u: f64,
}

/// Mean, median and coverage intervals of one quantity over the trials, in its own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutputQuantity {
    /// Mean and u; `None` where the variance is infinite.
    pub deviation: Option<Deviation>,
    /// Median: half of the trials lie below.
    pub median: f64,
    /// Probabilistically symmetric coverage interval: equal probability lies below and above.
    pub symmetric: (f64, f64),
    /// Shortest coverage interval.
    pub shortest: (f64, f64),
}

impl OutputQuantity {
    /// Before the trials are summed up.
    const PENDING: Self = Self {
        deviation: None,
        median: f64::NAN,
        symmetric: (f64::NAN, f64::NAN),
        shortest: (f64::NAN, f64::NAN),
    };
}

/// The outcome of [`MonteCarlo::run`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonteCarloResult<const N: usize> {
    /// One entry per quantity.
    pub quantities: [OutputQuantity; N],
    /// Trials used.
    pub trials: usize,
    /// True where the numerical tolerance was met; false where `max_trials` came first.
    pub has_converged: bool,
}

/// Estimates of one block that must be stable from block to block.
#[derive(Debug, Clone, Copy, Default)]
struct Block {
    centre: f64,
    u: f64,
    low: f64,
    high: f64,
}

impl MonteCarlo {
    /// Draws blocks of trials until the result is stable (JCGM 101, 7.9): for every quantity, twice
    /// the standard error of the estimate, of u and of both ends of the symmetric interval is
    /// within the numerical tolerance.
    pub fn run<const N: usize>(
        &self,
        trial: impl Fn(&mut Draws) -> [f64; N] + Sync,
    ) -> MonteCarloResult<N> {
        let size = self.block_size();
        let mut values: [Vec<f64>; N] = std::array::from_fn(|_| Vec::new());
        let mut blocks: [Vec<Block>; N] = std::array::from_fn(|_| Vec::new());
        let mut scratch = Vec::with_capacity(size);
        let mut settled = false;
        while !settled {
            let first = blocks.first().map_or(0, Vec::len);
            let count = self.threads.max(1);
            self.draw_blocks(first, count, &mut values, &trial);
            // Block by block, so that the stop does not depend on the number of threads.
            for block in first..first + count {
                for (column, blocks) in values.iter().zip(&mut blocks) {
                    scratch.clear();
                    scratch.extend_from_slice(&column[block * size..(block + 1) * size]);
                    blocks.push(self.block(&mut scratch));
                }
                settled = blocks.iter().all(|blocks| self.is_stable(blocks));
                if settled || (block + 2) * size > self.max_trials {
                    for column in &mut values {
                        column.truncate((block + 1) * size);
                    }
                    return self.result(values, settled);
                }
            }
        }
        self.result(values, settled)
    }

    /// Draws at least `trials` trials, in whole blocks, without a test of convergence.
    pub fn run_fixed<const N: usize>(
        &self,
        trials: usize,
        trial: impl Fn(&mut Draws) -> [f64; N] + Sync,
    ) -> MonteCarloResult<N> {
        let blocks = trials.div_ceil(self.block_size()).max(1);
        let mut values: [Vec<f64>; N] = std::array::from_fn(|_| Vec::new());
        self.draw_blocks(0, blocks, &mut values, &trial);
        self.result(values, true)
    }

    fn block_size(&self) -> usize {
        let p = self.coverage.probability();
        ((100.0 / (1.0 - p)).ceil() as usize).max(10_000)
    }

    /// Appends `count` blocks from the streams `first`, `first` + 1, …
    fn draw_blocks<const N: usize>(
        &self,
        first: usize,
        count: usize,
        values: &mut [Vec<f64>; N],
        trial: &(impl Fn(&mut Draws) -> [f64; N] + Sync),
    ) {
        let size = self.block_size();
        for column in values.iter_mut() {
            column.resize((first + count) * size, 0.0);
        }
        let mut columns = values.each_mut().map(|column| &mut column[first * size..]);
        let fill = |block: usize, columns: &mut [&mut [f64]; N]| {
            let mut draws = Draws::stream(self.seed, block as u64);
            for k in 0..size {
                for (column, value) in columns.iter_mut().zip(trial(&mut draws)) {
                    column[k] = value;
                }
            }
        };
        let threads = self.threads.clamp(1, count);
        if threads == 1 {
            for block in 0..count {
                let mut part = columns
                    .each_mut()
                    .map(|column| &mut column[block * size..(block + 1) * size]);
                fill(first + block, &mut part);
            }
            return;
        }
        thread::scope(|scope| {
            let mut from = 0;
            for worker in 0..threads {
                let to = count * (worker + 1) / threads;
                let mut part = columns.each_mut().map(|column| {
                    let (own, rest) = std::mem::take(column).split_at_mut((to - from) * size);
                    *column = rest;
                    own
                });
                let fill = &fill;
                scope.spawn(move || {
                    for block in from..to {
                        let mut slice = part.each_mut().map(|column| {
                            &mut column[(block - from) * size..(block - from + 1) * size]
                        });
                        fill(first + block, &mut slice);
                    }
                });
                from = to;
            }
        });
    }

    fn result<const N: usize>(
        &self,
        mut values: [Vec<f64>; N],
        settled: bool,
    ) -> MonteCarloResult<N> {
        let trials = values.first().map_or(0, Vec::len);
        let mut quantities = [OutputQuantity::PENDING; N];
        if self.threads > 1 && N > 1 {
            thread::scope(|scope| {
                for (quantity, column) in quantities.iter_mut().zip(&mut values) {
                    scope.spawn(|| *quantity = self.summary(column));
                }
            });
        } else {
            for (quantity, column) in quantities.iter_mut().zip(&mut values) {
                *quantity = self.summary(column);
            }
        }
        MonteCarloResult {
            quantities,
            trials,
            has_converged: settled,
        }
    }

    fn block(&self, values: &mut [f64]) -> Block {
        let (low, high) = self.ends(values);
        if self.variance_is_finite {
            let Deviation { mean, u } = deviation(values);
            Block {
                centre: mean,
                u,
                low,
                high,
            }
        } else {
            let centre = quantile(values, 0.5);
            Block {
                centre,
                u: 0.25 * (high - low),
                low,
                high,
            }
        }
    }

    fn is_stable(&self, blocks: &[Block]) -> bool {
        if blocks.len() < 2 {
            return false;
        }
        let h = blocks.len() as f64;
        let mean = |of: fn(&Block) -> f64| blocks.iter().map(of).sum::<f64>() / h;
        let tolerance = numerical_tolerance(mean(|b| b.u), self.digits);
        let estimates: [fn(&Block) -> f64; 4] = [|b| b.centre, |b| b.u, |b| b.low, |b| b.high];
        estimates.into_iter().all(|of| {
            let centre = mean(of);
            let scatter: f64 = blocks.iter().map(|b| (of(b) - centre).powi(2)).sum();
            2.0 * (scatter / (h * (h - 1.0))).sqrt() <= tolerance
        })
    }

    fn ends(&self, values: &mut [f64]) -> (f64, f64) {
        let left_out = 0.5 * (1.0 - self.coverage.probability());
        (quantile(values, left_out), quantile(values, 1.0 - left_out))
    }

    fn summary(&self, values: &mut [f64]) -> OutputQuantity {
        // Before any reordering, since the order of summing is part of the result.
        let deviation = self.variance_is_finite.then(|| deviation(values));
        let p = self.coverage.probability();
        let count = values.len();
        // Every interval asked for has its ends in the tails that a wanted interval leaves out.
        let tail = count - rank(count, p);
        if 2 * tail < count {
            sort_tails(values, tail);
        } else {
            values.sort_unstable_by(f64::total_cmp);
        }
        let at = |q: f64| values[rank(count, q)];
        let left_out = 0.5 * (1.0 - p);
        OutputQuantity {
            deviation,
            median: at(0.5),
            symmetric: (at(left_out), at(1.0 - left_out)),
            shortest: shortest(values, p),
        }
    }
}

/// ½·10^l for u = c·10^l with c of `digits` digits (JCGM 101, 7.9.2). Zero u asks for nothing
/// finer than zero.
fn numerical_tolerance(u: f64, digits: u8) -> f64 {
    if u == 0.0 {
        return 0.0;
    }
    let exponent = u.log10().floor() as i32 + 1 - i32::from(digits.clamp(1, 4));
    0.5 * 10f64.powi(exponent)
}

/// Sorts the `tail` least and greatest values into place at both ends and puts the middle one in
/// the middle.
fn sort_tails(values: &mut [f64], tail: usize) {
    let count = values.len();
    values.select_nth_unstable_by(tail, f64::total_cmp);
    values[tail..].select_nth_unstable_by(count - 2 * tail, f64::total_cmp);
    values[..=tail].sort_unstable_by(f64::total_cmp);
    values[count - tail..].sort_unstable_by(f64::total_cmp);
    let middle = rank(count, 0.5) - tail;
    values[tail..count - tail].select_nth_unstable_by(middle, f64::total_cmp);
}

fn deviation(values: &[f64]) -> Deviation {
    let n = values.len() as f64;
    let mean = sum(values, |v| v) / n;
    let square = sum(values, |v| (v - mean) * (v - mean));
    Deviation {
        mean,
        u: (square / (n - 1.0)).sqrt(),
    }
}

/// Σ of(v) in eight sums side by side: quicker than one, and closer to the exact sum.
fn sum(values: &[f64], of: impl Fn(f64) -> f64) -> f64 {
    let mut sums = [0.0; 8];
    let chunks = values.chunks_exact(sums.len());
    let rest: f64 = chunks.remainder().iter().map(|&v| of(v)).sum();
    for chunk in chunks {
        for (sum, &v) in sums.iter_mut().zip(chunk) {
            *sum += of(v);
        }
    }
    sums.iter().sum::<f64>() + rest
}

fn rank(count: usize, q: f64) -> usize {
    ((q * count as f64) as usize).min(count - 1)
}

fn quantile(values: &mut [f64], q: f64) -> f64 {
    let rank = rank(values.len(), q);
    *values.select_nth_unstable_by(rank, f64::total_cmp).1
}

fn shortest(sorted: &[f64], p: f64) -> (f64, f64) {
    let span = rank(sorted.len(), p);
    sorted
        .iter()
        .zip(&sorted[span..])
        .map(|(&low, &high)| (low, high))
        .min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
        .unwrap_or((sorted[0], sorted[sorted.len() - 1]))
}
