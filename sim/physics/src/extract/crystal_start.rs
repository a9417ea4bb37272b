//! Start of a crystal: its resonance seen in the conductance.
//!
//! The conductance peaks at fs, where it is 1/R1, and has half of that at the ends of the width
//! R1/(2π·L1). With ωC0, seen far from resonance, taken away, the motional reactance is a
//! straight line 4π·L1·(f − fs) there.

use std::f64::consts::TAU;
use std::ops::RangeInclusive;

use num_complex::Complex64;

use super::curve::{Curve, Start, linear, linear_at, log};
use super::form::Form;
use super::{ExtractError, ImpedanceSweep, MIN_POINTS_IN_WIDTH};

pub(super) fn crystal_start(sweep: &ImpedanceSweep) -> Result<Vec<Start>, ExtractError> {
    let curve = Curve::admittance(sweep);
    let (peak, points) = resonance(sweep, &curve)?;
    let last = sweep.points() - 1;
    let freq_hz = sweep.freq_hz();
    // The motional susceptance is nearly odd about fs, so the ends share it out.
    let per_omega = |k: usize| curve.w[k].im / curve.omega[k];
    let distance = |k: usize| (freq_hz[k] - freq_hz[peak]).abs();
    let weight = |k: usize| distance(k) * distance(last - k) / distance(k).max(1e-300);
    let (w0, w1) = (weight(last), weight(0));
    let c0 = (per_omega(0) * w1 + per_omega(last) * w0) / (w0 + w1);
    let motional = |k: usize| (curve.w[k] - Complex64::new(0.0, curve.omega[k] * c0)).inv();
    enough_points(sweep, peak, &points, &motional)?;
    let (low, high) = (*points.start(), *points.end());
    let f0 = freq_hz[peak];
    let n = (high - low + 1) as f64;
    let mean = |f: &dyn Fn(usize) -> f64| points.clone().map(f).sum::<f64>() / n;
    let t = |k: usize| freq_hz[k] - f0;
    let (t_mean, x_mean) = (mean(&t), mean(&|k| motional(k).im));
    let slope =
        mean(&|k| (t(k) - t_mean) * (motional(k).im - x_mean)) / mean(&|k| (t(k) - t_mean).powi(2));
    let r1 = 1.0 / curve.w[peak].re;
    // Where noise hides the slope the width gives it.
    let by_width = 2.0 * r1 / (freq_hz[high] - freq_hz[low]);
    let slope = if slope > 0.0 && slope.is_finite() {
        slope
    } else {
        by_width
    };
    let fs = f0 + (t_mean - x_mean / slope).clamp(t(low), t(high));
    let l1 = slope / (2.0 * TAU);
    let c1 = 1.0 / ((TAU * fs).powi(2) * l1);
    Ok(vec![(
        Form::Crystal,
        vec![
            linear_at(fs, r1 / (2.0 * TAU * l1)),
            log(r1),
            log(c1),
            linear(c0, c1),
        ],
    )])
}

/// The peak of the conductance, and the points around it with at least half of that.
fn resonance(
    sweep: &ImpedanceSweep,
    curve: &Curve,
) -> Result<(usize, RangeInclusive<usize>), ExtractError> {
    let no_resonance = || ExtractError::NoResonance {
        span_hz: sweep.span_hz(),
        kind: sweep.first_kind().map(|(_, kind)| kind),
    };
    let last = sweep.points() - 1;
    let conductance = |k: usize| curve.w[k].re;
    let peak = (0..=last)
        .max_by(|&a, &b| conductance(a).total_cmp(&conductance(b)))
        .filter(|&peak| peak > 0 && peak < last && conductance(peak) > 0.0)
        .ok_or_else(no_resonance)?;
    let is_high = |k: &usize| conductance(*k) >= 0.5 * conductance(peak);
    // A resonance stands out from the sweep; a part without one has the same conductance
    // all over.
    if is_high(&0) || is_high(&last) {
        return Err(no_resonance());
    }
    let low = (0..peak).rev().take_while(is_high).last().unwrap_or(peak);
    let high = (peak..=last).take_while(is_high).last().unwrap_or(peak);
    Ok((peak, low..=high))
}

/// Checks that there are enough `points` in the width, R1/(2π·L1): with R1 the real part at the
/// peak and 4π·L1 the slope of the motional reactance between the neighbours of these points.
fn enough_points(
    sweep: &ImpedanceSweep,
    peak: usize,
    points: &RangeInclusive<usize>,
    motional: &dyn Fn(usize) -> Complex64,
) -> Result<(), ExtractError> {
    let found = points.clone().count();
    if found >= MIN_POINTS_IN_WIDTH {
        return Ok(());
    }
    let freq_hz = sweep.freq_hz();
    let (before, after) = (points.start() - 1, points.end() + 1);
    let apart_hz = freq_hz[after] - freq_hz[before];
    let slope = (motional(after).im - motional(before).im) / apart_hz;
    let width_hz = 2.0 * motional(peak).re / slope;
    Err(ExtractError::FewInWidth {
        found,
        needed: MIN_POINTS_IN_WIDTH,
        // Where noise hides the slope the neighbours, both below half of the peak, bound it.
        width_hz: if width_hz > 0.0 && width_hz < apart_hz {
            width_hz
        } else {
            apart_hz
        },
        step_hz: freq_hz[peak] - freq_hz[peak - 1],
    })
}
