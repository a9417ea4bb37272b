//! What an analyzer makes of a part behind a line, or with an open that was taken for ideal.

use std::f64::consts::TAU;

use jigwise_bench::{
    Bench, Complex64, Readout, SPEED_OF_LIGHT_M_PER_S, Termination, complex_ohm, engineering,
    fixed, plain_complex, significant,
};

use super::DIGITS;
use crate::task::Task;

/// The steps; empty where the ohms are off for another reason.
pub(super) fn steps(task: &Task, bench: &Bench, readout: &Readout) -> Vec<String> {
    behind_a_line(task, bench)
        .or_else(|| with_an_open(task, bench, readout))
        .unwrap_or_default()
}

fn behind_a_line(task: &Task, bench: &Bench) -> Option<Vec<String>> {
    let line = task.scenario().fixtures.strays.before;
    if line.length_m == 0.0 {
        return None;
    }
    let freq_hz = task.scenario().readout_hz()?;
    let z0 = task.scenario().reference.ohm();
    let z = bench.device().impedance()?;
    let wavelength_m = line.velocity_factor * SPEED_OF_LIGHT_M_PER_S / freq_hz;
    let turn_deg = -720.0 * line.length_m / wavelength_m;
    let gamma = (z - z0) / (z + z0);
    let turned = gamma * Complex64::from_polar(1.0, turn_deg.to_radians());
    let metre = |value| engineering(value, "m", DIGITS);
    Some(vec![
        format!(
            "Of the part itself Γ = (Z − Z0)/(Z + Z0) = {}: the size {} at {}°.",
            plain_complex(gamma, DIGITS),
            significant(gamma.norm(), DIGITS),
            fixed(gamma.arg().to_degrees(), 2)
        ),
        format!(
            "A wavelength in the cable is λ = v·c/f = {}. The wave goes there and back, so the cable \
             turns Γ by −720°·{} / {} = {}°.",
            metre(wavelength_m),
            metre(line.length_m),
            metre(wavelength_m),
            fixed(turn_deg, 2)
        ),
        format!(
            "The size stays, and the angle becomes {}°. As one complex number that is {}.",
            fixed(turned.arg().to_degrees(), 2),
            plain_complex(turned, DIGITS)
        ),
        format!(
            "Back to ohms: Z0·(1 + Γ)/(1 − Γ) = {}·({}) / ({}).",
            engineering(z0, "Ω", DIGITS),
            plain_complex(1.0 + turned, DIGITS),
            plain_complex(1.0 - turned, DIGITS)
        ),
    ])
}

/// Z' = Z·(Z0 − Zo)/(Z − Zo), Zo the open as it is.
fn with_an_open(task: &Task, bench: &Bench, readout: &Readout) -> Option<Vec<String>> {
    let plan = task.scenario().calibration.as_ref()?;
    let Termination::Open { capacitance } = plan.standards.reflections.open.termination else {
        return None;
    };
    let omega = TAU * readout.freq_hz?;
    let z0 = Complex64::from(readout.reference.ohm());
    let z = bench.device().impedance()?;
    let open = Complex64::new(0.0, -1.0 / (omega * capacitance[0]));
    let ohm = |z| complex_ohm(z, DIGITS);
    Some(vec![
        format!(
            "The open is a capacitance, Zo = −j/(2π·f·C) = {}. With a right short and load the \
             analyzer shows Z·(Z0 − Zo)/(Z − Zo).",
            ohm(open)
        ),
        format!(
            "Z0 − Zo = {}, and Z − Zo = {}.",
            ohm(z0 - open),
            ohm(z - open)
        ),
        format!(
            "Their quotient is {}. Multiply it by {}.",
            plain_complex((z0 - open) / (z - open), DIGITS),
            ohm(z)
        ),
    ])
}
