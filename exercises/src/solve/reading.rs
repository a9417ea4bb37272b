//! From a reading to the part, and the level of a part.

use std::f64::consts::TAU;

use jigwise_bench::quotes::Shown;
use jigwise_bench::{
    Bench, Complex64, Equivalents, Fixture, Immittance, Readout, ReferenceImpedance, Unit,
};

use super::THOUSAND;
use super::surround::Surround;
use crate::slip::Slip;
use crate::task::{Asks, Task};

pub(super) fn level(readout: &Readout, fixture: Fixture, slip: Option<Slip>) -> Option<f64> {
    let mut device = readout.device;
    let mut reference = readout.reference;
    let mut fixture = fixture;
    match slip {
        Some(Slip::OtherFixture(other)) if other != fixture => fixture = other,
        Some(Slip::Normalised) => reference = ReferenceImpedance::new(1.0).ok()?,
        Some(Slip::PrefixTooLarge) => device = scaled(device, THOUSAND)?,
        Some(Slip::PrefixTooSmall) => device = scaled(device, 1.0 / THOUSAND)?,
        None | Some(Slip::TenLog | Slip::LevelSign) => {}
        Some(_) => return None,
    }
    let db = decibels(fixture, device, reference)?;
    Some(match slip {
        Some(Slip::TenLog) => db / 2.0,
        Some(Slip::LevelSign) => -db,
        _ => db,
    })
}

pub(super) fn from_reading(
    task: &Task,
    readout: &Readout,
    slip: Option<Slip>,
) -> Option<Complex64> {
    let mut fixture = task.fixture();
    let shown = Shown::of(&readout.of(fixture))?;
    let magnitude = match slip {
        Some(Slip::TenLog) => 10f64.powf(shown.level_db / 10.0),
        Some(Slip::LevelSign) => 10f64.powf(-shown.level_db / 20.0),
        _ => shown.magnitude(),
    };
    let angle_rad = match slip {
        Some(Slip::DegreesForRadians) => shown.angle_deg,
        _ => shown.angle_deg.to_radians(),
    };
    match slip {
        Some(Slip::OtherFixture(other)) if other == fixture => return None,
        Some(Slip::OtherFixture(other)) => fixture = other,
        _ => {}
    }
    let reading = Complex64::from_polar(magnitude, angle_rad);
    let back = fixture.immittance(reading, readout.reference).ok()?;
    let surround = Surround::of(task.scenario());
    let part = match slip {
        // Strays stay in: an answer by another fixture's formula is reported as that slip, and
        // not as two slips at once.
        Some(Slip::OtherFixture(_)) => back,
        Some(Slip::LeftIn) => surround.map(|_| back)?,
        Some(Slip::WrongWay) => surround?.put_around(fixture, back)?,
        _ => match surround {
            Some(surround) => surround.taken_off(fixture, back)?,
            None => back,
        },
    };
    let mut z = part.impedance()?;
    match slip {
        Some(Slip::ReactanceSign) => z = z.conj(),
        Some(Slip::SwappedParts) => z = Complex64::new(z.im, z.re),
        Some(Slip::Normalised) => z /= readout.reference.ohm(),
        _ => {}
    }
    let value = match task.asks() {
        Asks::Impedance => z,
        asks => Complex64::from(of_impedance(asks, z, readout.freq_hz)?),
    };
    let reactive = matches!(task.asks().unit(), Some(Unit::Farad | Unit::Henry));
    match slip {
        Some(Slip::WithoutTwoPi) => reactive.then_some(value * TAU),
        Some(Slip::PrefixTooLarge) => Some(value * THOUSAND),
        Some(Slip::PrefixTooSmall) => Some(value / THOUSAND),
        _ => Some(value),
    }
}

/// R, C or L of an impedance, as it is asked for.
pub(crate) fn of_impedance(asks: Asks, z: Complex64, freq_hz: Option<f64>) -> Option<f64> {
    match asks {
        Asks::Resistance | Asks::ResistanceClaim => Some(z.re),
        Asks::Capacitance | Asks::CapacitanceClaim => capacitance(z, freq_hz?),
        Asks::Inductance | Asks::InductanceClaim => inductance(z, freq_hz?),
        _ => None,
    }
}

/// The capacitance of a reactance; of a coil's, by the same formula, below zero.
pub(super) fn capacitance(z: Complex64, freq_hz: f64) -> Option<f64> {
    let of = |z| Equivalents::new(Immittance::from_impedance(z).ok()?, freq_hz).ok();
    of(z)?
        .series_capacitance_f()
        .or_else(|| Some(-of(z.conj())?.series_capacitance_f()?))
}

/// The inductance of a reactance; of a capacitor's, by the same formula, below zero.
pub(super) fn inductance(z: Complex64, freq_hz: f64) -> Option<f64> {
    let of = |z| Equivalents::new(Immittance::from_impedance(z).ok()?, freq_hz).ok();
    of(z)?
        .series_inductance_h()
        .or_else(|| Some(-of(z.conj())?.series_inductance_h()?))
}

fn decibels(fixture: Fixture, device: Immittance, reference: ReferenceImpedance) -> Option<f64> {
    Bench::around(device, None, reference)
        .readout()
        .of(fixture)
        .decibels()
}

fn scaled(device: Immittance, factor: f64) -> Option<Immittance> {
    Immittance::from_pair(device.v() * factor, device.i()).ok()
}
