//! Start of a line: where its reflection turns evenly with frequency.
//!
//! Seen from its own Zc a line with an open or a short at the end reflects ±e^(−2γl): the phase
//! falls by 4π·f·τ. From any other reference it turns in steps. So Zc is the reference that
//! makes the phase a straight line through the phase of the end.

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
    let mut best: Option<(f64, Stub)> = None;
    for k in 0..TRIED {
        let zc_ohm = 0.5 * 1e4f64.powf(k as f64 / (TRIED - 1) as f64);
        let reflections: Vec<Complex64> = sweep
            .z_ohm()
            .iter()
            .map(|z| (z - zc_ohm) / (z + zc_ohm))
            .collect();
        let phases = unwrapped(&reflections, at_zero);
        let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
            sweep
                .freq_hz()
                .iter()
                .zip(&phases)
                .map(|(&hz, &a)| f(hz, a))
                .sum()
        };
        // a = at_zero − 4π·τ·f, one unknown.
        let delay_s = -sum(&|hz, a| hz * (a - at_zero)) / (2.0 * TAU * sum(&|hz, _| hz * hz));
        let miss = sum(&|hz, a| (a - at_zero + 2.0 * TAU * delay_s * hz).powi(2));
        if delay_s <= 0.0 || best.is_some_and(|(least, _)| miss >= least) {
            continue;
        }
        let top = sweep.span_hz().1;
        let losses = sweep.freq_hz().iter().zip(&reflections);
        let (above, below) = losses.fold((0.0, 0.0), |(above, below), (&hz, s)| {
            let root = (hz / top).sqrt();
            (
                above - 0.5 * s.norm().max(1e-6).ln() * root,
                below + root * root,
            )
        });
        let stub = Stub {
            zc_ohm,
            delay_s,
            loss_np: above / below,
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
