//! Start of a line: where its reflection turns evenly with frequency.
//!
//! Seen from its own Zc a line with an open or a short at the end reflects ±e^(−2γl): the phase
//! falls by 4π·f·τ. From any other reference it turns in steps. So Zc is the reference that
//! makes the phase a straight line through the phase of the end, and ln|Γ| the loss.

use std::f64::consts::{PI, TAU};

use num_complex::Complex64;

use super::{ExtractError, ImpedanceSweep};
use crate::{LineEnd, Stub};

pub(super) fn stub_start(sweep: &ImpedanceSweep, end: LineEnd) -> Result<Stub, ExtractError> {
    /// References tried, from 0.5 Ω to 5 kΩ.
    const TRIED: usize = 161;
    let at_zero = match end {
        LineEnd::Open => 0.0,
        LineEnd::Short => PI,
    };
    let top = sweep.span_hz().1;
    let mut best: Option<(f64, Stub)> = None;
    for k in 0..TRIED {
        let zc_ohm = 0.5 * 1e4f64.powf(k as f64 / (TRIED - 1) as f64);
        let reflections: Vec<Complex64> = sweep
            .z_ohm()
            .iter()
            .map(|z| (z - zc_ohm) / (z + zc_ohm))
            .collect();
        let phases = unwrapped(&reflections, at_zero);
        let logs: Vec<f64> = reflections
            .iter()
            .map(|s| s.norm().max(1e-9).ln())
            .collect();
        let sum = |f: &dyn Fn(f64, f64, f64) -> f64| -> f64 {
            let points = sweep.freq_hz().iter().zip(&phases).zip(&logs);
            points.map(|((&hz, &a), &ln)| f(hz, a, ln)).sum()
        };
        // phase = at_zero − 4π·τ·f, ln|Γ| = −2·a·√(f/f0), one unknown each.
        let delay_s = -sum(&|hz, a, _| hz * (a - at_zero)) / (2.0 * TAU * sum(&|hz, _, _| hz * hz));
        let root = |hz: f64| (hz / top).sqrt();
        let loss_np = -0.5 * sum(&|hz, _, ln| ln * root(hz)) / sum(&|hz, _, _| root(hz) * root(hz));
        // Against what there is to explain: a reference far from Zc sees hardly any turn.
        let miss = sum(&|hz, a, ln| {
            (a - at_zero + 2.0 * TAU * delay_s * hz).powi(2)
                + (ln + 2.0 * loss_np * root(hz)).powi(2)
        }) / sum(&|_, a, ln| (a - at_zero).powi(2) + ln * ln);
        if !(delay_s > 0.0 && best.is_none_or(|(least, _)| miss < least)) {
            continue;
        }
        let stub = Stub {
            zc_ohm,
            delay_s,
            loss_np,
            loss_at_hz: top,
            end,
        };
        best = Some((miss, stub));
    }
    let step_hz = sweep
        .freq_hz()
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .fold(0.0, f64::max);
    let (_, stub) = best.ok_or(ExtractError::TooCoarse { step_hz })?;
    // Half a circle between points can't be told from the other half.
    if 2.0 * TAU * stub.delay_s * step_hz > 0.9 * PI {
        return Err(ExtractError::TooCoarse { step_hz });
    }
    Ok(stub)
}

/// Phases without jumps of a circle; the first within half a circle of `at_zero`.
fn unwrapped(values: &[Complex64], at_zero: f64) -> Vec<f64> {
    let mut last = at_zero;
    values
        .iter()
        .map(|value| {
            let turn = value.arg() - last;
            last += turn - TAU * (turn / TAU).round();
            last
        })
        .collect()
}
