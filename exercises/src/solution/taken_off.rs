//! What is known to lie around a part is taken off the ohms of the reading, step by step.

use std::f64::consts::TAU;

use jigwise_bench::{Complex64, Fixture, Immittance, complex_ohm, engineering, significant};

use super::DIGITS;
use crate::solve::Surround;
use crate::task::Task;

/// How near the steps have to come to what is right, as a share.
const NEAR: f64 = 1e-9;

/// The steps, and the ohms that are left; `None` where nothing is known to be around the part.
pub(super) fn steps(task: &Task, z: Complex64) -> Option<(Vec<String>, Complex64)> {
    let surround = Surround::of(task.scenario())?;
    // A value with its ± is that of the whole part, with what lies across it.
    if task.asks().is_claim() && matches!(surround, Surround::Across(_)) {
        return None;
    }
    let back = Immittance::from_impedance(z).ok()?;
    let left = surround.taken_off(task.fixture(), back)?.impedance()?;
    let found = worked(task, &surround, z)
        .filter(|(_, by_hand)| (by_hand - left).norm() <= NEAR * left.norm());
    let steps = match found {
        Some((steps, _)) => steps,
        // Several things lie around the part, and no short sum takes them off.
        None => vec![format!(
            "Without what is known to be around the part that leaves {}.",
            complex_ohm(left, DIGITS)
        )],
    };
    Some((steps, left))
}

/// One thing taken off by hand, with what is left then.
fn worked(task: &Task, surround: &Surround, z: Complex64) -> Option<(Vec<String>, Complex64)> {
    match surround {
        Surround::Scale(factor) => {
            let left = z / factor;
            let step = format!(
                "The analyzer calls the load Z0, so all its ohms are Z0/load = {} times the true ones. \
                 Divide by that: {}.",
                significant(*factor, DIGITS),
                complex_ohm(left, DIGITS)
            );
            Some((vec![step], left))
        }
        Surround::Across(siemens) => Some(from_across(z, *siemens)),
        Surround::Strays {
            strays, freq_hz, ..
        } => {
            let omega = TAU * freq_hz;
            match task.fixture() {
                Fixture::SeriesThrough if strays.gap_f > 0.0 => {
                    Some(from_across(z, omega * strays.gap_f))
                }
                Fixture::ShuntThrough if strays.contact_ohm > 0.0 => {
                    Some(from_series(z, strays.contact_ohm.into(), "The contact"))
                }
                Fixture::ShuntThrough if strays.ground_h > 0.0 => {
                    let ground = Complex64::new(0.0, omega * strays.ground_h);
                    Some(from_series(z, ground, "The way to ground"))
                }
                _ => None,
            }
        }
    }
}

fn from_series(z: Complex64, around: Complex64, what: &str) -> (Vec<String>, Complex64) {
    let left = z - around;
    let step = format!(
        "{what} has {} and lies in series. Subtract it: {}.",
        complex_ohm(around, DIGITS),
        complex_ohm(left, DIGITS)
    );
    (vec![step], left)
}

fn from_across(z: Complex64, siemens: f64) -> (Vec<String>, Complex64) {
    let both = z.inv();
    let alone = both - Complex64::new(0.0, siemens);
    let left = alone.inv();
    let shown = |value: f64| engineering(value, "S", DIGITS);
    let steps = vec![
        format!(
            "What lies side by side adds as 1/Z = G + jB. Of the ohms above, G = R/(R² + X²) is {} \
             and B = −X/(R² + X²) is {}.",
            shown(both.re),
            shown(both.im)
        ),
        format!(
            "The capacitance across the part has 2π·f·C = {}. Subtract it from B: {}.",
            shown(siemens),
            shown(alone.im)
        ),
        format!(
            "Turn it back: R = G/(G² + B²) and X = −B/(G² + B²) make {}.",
            complex_ohm(left, DIGITS)
        ),
    ];
    (steps, left)
}
