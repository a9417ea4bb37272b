//! Raw readings smoothed over frequency.
//!
//! A straight line through nine neighbouring points is read at the middle one. It counts where it
//! keeps within five standard deviations of the noise of the point's own reading; otherwise the
//! readings turn too fast from point to point, and the reading itself counts. Of its noise a
//! ninth is left, which is what matters: a number that is to judge residuals must not hold them.

use jigwise_physics::{Budget, Complex64, Fixture};
use jigwise_touchstone::Sweep;

/// Points of a line.
const WINDOW: usize = 9;

/// How far the line may be from the reading, in standard deviations of its noise.
const MAX_DISTANCE_IN_SIGMA: f64 = 5.0;

/// Smooths raw readings at one frequency.
pub(crate) struct Smooth<'a> {
    budget: &'a Budget,
    freq_hz: f64,
}

impl<'a> Smooth<'a> {
    pub(crate) fn new(budget: &'a Budget, freq_hz: f64) -> Self {
        Self { budget, freq_hz }
    }

    /// S(to, from) of point `k` of a sweep, smoothed where it can be.
    pub(crate) fn reading(&self, sweep: &Sweep, k: usize, to: usize, from: usize) -> Complex64 {
        let own = sweep.s(k, to, from);
        if sweep.len() < WINDOW {
            return own;
        }
        let first = k.saturating_sub(WINDOW / 2).min(sweep.len() - WINDOW);
        let window = first..first + WINDOW;
        let offset = |k: usize| sweep.frequency_hz()[k] - self.freq_hz;
        let n = WINDOW as f64;
        let centre = window.clone().map(offset).sum::<f64>() / n;
        let mean = window
            .clone()
            .map(|k| sweep.s(k, to, from))
            .sum::<Complex64>()
            / n;
        let (mut along, mut square) = (Complex64::ZERO, 0.0);
        for k in window {
            let x = offset(k) - centre;
            along += sweep.s(k, to, from) * x;
            square += x * x;
        }
        let smoothed = mean - along / square * centre;
        let kind = if to == from {
            Fixture::Reflect
        } else {
            Fixture::SeriesThrough
        };
        let sigma = self.budget.noise_of(own, kind).trace().sqrt();
        if (smoothed - own).norm() <= MAX_DISTANCE_IN_SIGMA * sigma {
            smoothed
        } else {
            own
        }
    }
}
