//! Where a part lies on the chart.

use jigwise_bench::{Bench, Complex64, Device, Fixture, Immittance, Line, Scenario, Unit};

use super::surround::Surround;
use crate::slip::Slip;
use crate::task::{Asks, Task};

/// Γ of the device behind nothing but the reference plane.
fn reflection(scenario: &Scenario, z0: f64) -> Option<Complex64> {
    let z = Bench::new(scenario).ok()?.device().impedance()?;
    Some((z - z0) / (z + z0))
}

/// |Γ|, its angle or the standing wave ratio (1 + |Γ|)/(1 − |Γ|).
pub(super) fn of_reflection(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let scenario = task.scenario();
    let z0 = match slip {
        Some(Slip::Normalised) => 1.0,
        _ => scenario.reference.ohm(),
    };
    let gamma = reflection(scenario, z0)?;
    let z = Bench::new(scenario).ok()?.device().impedance()?;
    let other = |fixture: Fixture| {
        let reading = fixture.reading(Bench::new(scenario).ok()?.device(), scenario.reference);
        Some(reading.value()?.norm())
    };
    let swr = |size: f64| (1.0 + size) / (1.0 - size);
    match (task.asks(), slip) {
        (Asks::Distance, None | Some(Slip::Normalised)) => Some(gamma.norm()),
        (Asks::Distance, Some(Slip::PowerForWave)) => Some(gamma.norm_sqr()),
        (Asks::Distance, Some(Slip::OtherFixture(f))) if f != Fixture::Reflect => other(f),
        (Asks::Angle, None | Some(Slip::Normalised)) => Some(gamma.arg().to_degrees()),
        (Asks::Angle, Some(Slip::ReactanceSign)) => Some(-gamma.arg().to_degrees()),
        (Asks::Angle, Some(Slip::InRadians)) => Some(gamma.arg()),
        (Asks::Angle, Some(Slip::AngleOfImpedance)) => Some(z.arg().to_degrees()),
        (Asks::Swr, None | Some(Slip::Normalised)) => Some(swr(gamma.norm())),
        (Asks::Swr, Some(Slip::PowerForWave)) => Some(swr(gamma.norm_sqr())),
        (Asks::Swr, Some(Slip::SizeRatio)) => {
            let ratio = z.norm() / z0;
            Some(ratio.max(1.0 / ratio))
        }
        _ => None,
    }
}

/// Z0²/Z, the impedance at −Γ.
pub(super) fn opposite(task: &Task, slip: Option<Slip>) -> Option<Complex64> {
    let z0 = task.scenario().reference.ohm();
    let z = Bench::new(task.scenario()).ok()?.device().impedance()?;
    let right = z0 * z0 / z;
    match slip {
        None => Some(right),
        Some(Slip::ReactanceSign) => Some(right.conj()),
        Some(Slip::SwappedParts) => Some(Complex64::new(right.im, right.re)),
        Some(Slip::Normalised) => Some(z0 / z),
        Some(_) => None,
    }
}

/// What the fixture's formula makes of the reading, with strays and calibration in it.
pub(super) fn apparent(task: &Task, slip: Option<Slip>) -> Option<Complex64> {
    let ohms = |scenario: &Scenario| {
        let readout = Bench::new(scenario).ok()?.readout();
        let reading = readout.of(task.fixture()).reading?;
        let back = task.fixture().immittance(reading, readout.reference).ok()?;
        back.impedance()
    };
    let scenario = task.scenario();
    let with_arm = |change: &dyn Fn(&mut Line)| {
        let mut changed = scenario.clone();
        let arm = &mut changed.fixtures.strays.before;
        if arm.length_m == 0.0 {
            return None;
        }
        change(arm);
        ohms(&changed)
    };
    match slip {
        None => ohms(scenario),
        Some(Slip::PartItself) => Bench::new(scenario).ok()?.device().impedance(),
        Some(Slip::ReactanceSign) => Some(ohms(scenario)?.conj()),
        Some(Slip::OneWay) => with_arm(&|arm| arm.length_m /= 2.0),
        Some(Slip::InAir) => with_arm(&|arm| arm.velocity_factor = 1.0),
        Some(Slip::WrongWay) => {
            let device = Bench::new(scenario).ok()?.device();
            let off = Surround::of(scenario)?.taken_off(task.fixture(), device)?;
            off.impedance()
        }
        Some(_) => None,
    }
}

/// The angle of an open behind the arm, degrees.
pub(super) fn plane_angle(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let scenario = task.scenario();
    let arm = scenario.fixtures.strays.before;
    let metre_per_second = match slip {
        Some(Slip::InAir) => 1.0,
        _ => arm.velocity_factor,
    } * jigwise_bench::SPEED_OF_LIGHT_M_PER_S;
    let turns = arm.length_m * scenario.readout_hz()? / metre_per_second;
    let degrees = -720.0 * turns;
    match slip {
        None | Some(Slip::InAir) => Some(degrees),
        Some(Slip::OneWay) => Some(degrees / 2.0),
        Some(Slip::AngleSign) => Some(-degrees),
        Some(Slip::InRadians) => Some(degrees.to_radians()),
        Some(_) => None,
    }
}

/// The level of the empty fixture: an open in place of the part.
pub(super) fn blank_level(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let scenario = task.scenario();
    let empty = Scenario {
        device: Device::Open,
        ..scenario.clone()
    };
    let db = Bench::new(&empty)
        .ok()?
        .readout()
        .of(task.fixture())
        .decibels()?;
    match slip {
        None => Some(db),
        Some(Slip::TenLog) => Some(db / 2.0),
        Some(Slip::LevelSign) => Some(-db),
        Some(Slip::OnePort) => {
            let z = gap(scenario)?;
            let z0 = scenario.reference.ohm();
            Some(20.0 * (z0 / (z0 + z)).norm().log10())
        }
        Some(_) => None,
    }
}

/// Z of the empty gap, Ω.
pub(crate) fn gap(scenario: &Scenario) -> Option<Complex64> {
    let siemens = std::f64::consts::TAU * scenario.readout_hz()? * scenario.fixtures.strays.gap_f;
    Immittance::from_impedance(Complex64::new(0.0, -1.0 / siemens))
        .ok()?
        .impedance()
}

/// f = 1/(2π·R·C): where the gap's reactance is as large as the part.
pub(super) fn corner(task: &Task, slip: Option<Slip>) -> Option<f64> {
    debug_assert_eq!(task.asks().unit(), Some(Unit::Hertz));
    let scenario = task.scenario();
    let ohm = scenario.device.fixed_ohm()?.norm();
    let hz = 1.0 / (std::f64::consts::TAU * ohm * scenario.fixtures.strays.gap_f);
    match slip {
        Some(Slip::WithoutTwoPi) => Some(hz * std::f64::consts::TAU),
        slip => super::in_thousands(hz, slip, &[]),
    }
}
