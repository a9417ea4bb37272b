//! What follows from a part's own figures.

use std::f64::consts::TAU;

use jigwise_bench::quotes::Shown;
use jigwise_bench::{Device, Fixture, Part, Readout, SPEED_OF_LIGHT_M_PER_S};

use super::in_thousands;
use crate::slip::Slip;
use crate::task::Task;

/// The length of the arm from the angle of an open at its end: the wave goes there and back, so
/// −φ/360° = 2·l·f/(v·c).
pub(super) fn length(task: &Task, readout: &Readout, slip: Option<Slip>) -> Option<f64> {
    let shown = Shown::of(&readout.of(Fixture::Reflect))?;
    let line = task.scenario().fixtures.strays.before;
    let metre_per_second = SPEED_OF_LIGHT_M_PER_S
        * match slip {
            Some(Slip::InAir) => 1.0,
            _ => line.velocity_factor,
        };
    let ways = match slip {
        Some(Slip::OneWay) => 1.0,
        _ => 2.0,
    };
    let metre = -shown.angle_deg / 360.0 * metre_per_second / readout.freq_hz? / ways;
    in_thousands(metre, slip, &[Slip::InAir, Slip::OneWay])
}

/// 1/(2π√(LC)) of a part and what comes with it.
pub(super) fn self_resonance(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let Device::Part(part) = task.scenario().device else {
        return None;
    };
    let hz = match part {
        Part::Capacitor(part) => part.self_resonance_hz()?,
        Part::Inductor(part) => part.self_resonance_hz()?,
        _ => return None,
    };
    match slip {
        Some(Slip::WithoutTwoPi) => Some(hz * TAU),
        slip => in_thousands(hz, slip, &[]),
    }
}

/// Q = fs/Δf·(R1 + 2·Z0)/R1 of a crystal, Δf its width in series-through.
pub(super) fn quality(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let Device::Part(Part::Crystal(crystal)) = task.scenario().device else {
        return None;
    };
    let z0 = task.scenario().reference.ohm();
    let r1 = crystal.motional_resistance_ohm;
    let loaded = crystal.series_resonance_hz / crystal.width_hz(2.0 * z0);
    match slip {
        None => Some(loaded * (r1 + 2.0 * z0) / r1),
        Some(Slip::OnePort) => Some(loaded * (r1 + z0) / r1),
        Some(Slip::Loaded) => Some(loaded),
        Some(_) => None,
    }
}
