//! What is right, and what each slip would have given, by the same steps.

use std::f64::consts::TAU;

use jigwise_bench::change::{self, level_move};
use jigwise_bench::quotes::Shown;
use jigwise_bench::{
    Bench, Complex64, Device, Equivalents, Fixture, Immittance, Part, Readout, ReferenceImpedance,
    SEEN_SIGMA, SPEED_OF_LIGHT_M_PER_S, Verdict,
};

use crate::slip::Slip;
use crate::surround::Surround;
use crate::task::{Asks, Task};

const THOUSAND: f64 = 1_000.0;

/// The value of a task that asks for one, as it comes out right (`None`) or with a slip.
/// A plain number is a complex one without j. `None` where the slip can't be made here.
pub(crate) fn value(task: &Task, slip: Option<Slip>) -> Option<Complex64> {
    let readout = Bench::new(task.scenario()).ok()?.readout();
    match task.asks() {
        Asks::Level => level(&readout, task.fixture(), slip).map(Complex64::from),
        Asks::Fixture | Asks::FixtureThatSees | Asks::Limit | Asks::Formula => None,
        Asks::Averages => averages(task, slip).map(Complex64::from),
        Asks::Change => least_change(task, slip).map(Complex64::from),
        Asks::Length => length(task, &readout, slip).map(Complex64::from),
        Asks::SelfResonance => self_resonance(task, slip).map(Complex64::from),
        Asks::Quality => quality(task, slip).map(Complex64::from),
        _ => from_reading(task, &readout, slip),
    }
}

fn level(readout: &Readout, fixture: Fixture, slip: Option<Slip>) -> Option<f64> {
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

fn from_reading(task: &Task, readout: &Readout, slip: Option<Slip>) -> Option<Complex64> {
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
        Asks::Resistance => Complex64::from(z.re),
        Asks::Capacitance => Complex64::from(capacitance(z, readout.freq_hz?)?),
        Asks::Inductance => Complex64::from(inductance(z, readout.freq_hz?)?),
        _ => return None,
    };
    let reactive = matches!(task.asks(), Asks::Capacitance | Asks::Inductance);
    match slip {
        Some(Slip::WithoutTwoPi) => reactive.then_some(value * TAU),
        Some(Slip::PrefixTooLarge) => Some(value * THOUSAND),
        Some(Slip::PrefixTooSmall) => Some(value / THOUSAND),
        _ => Some(value),
    }
}

/// The length of the arm from the angle of an open at its end: the wave goes there and back, so
/// −φ/360° = 2·l·f/(v·c).
fn length(task: &Task, readout: &Readout, slip: Option<Slip>) -> Option<f64> {
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
fn self_resonance(task: &Task, slip: Option<Slip>) -> Option<f64> {
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
fn quality(task: &Task, slip: Option<Slip>) -> Option<f64> {
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

/// `value`, or a thousand times off; `None` for a slip that is neither that nor `done` already.
fn in_thousands(value: f64, slip: Option<Slip>, done: &[Slip]) -> Option<f64> {
    match slip {
        None => Some(value),
        Some(slip) if done.contains(&slip) => Some(value),
        Some(Slip::PrefixTooLarge) => Some(value * THOUSAND),
        Some(Slip::PrefixTooSmall) => Some(value / THOUSAND),
        Some(_) => None,
    }
}

/// The averages that take the separation d to 2√2: (2√2/d)², in whole readings.
fn averages(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let bench = Bench::new(task.scenario()).ok()?;
    let d = bench
        .readout()
        .appraisal_of(task.fixture())?
        .separation_sigma?;
    match slip {
        None => change::averages(&bench, task.fixture()),
        Some(Slip::OneSigma) => Some(d.powi(-2).ceil()),
        Some(Slip::WithoutSquare) => Some((SEEN_SIGMA / d).ceil()),
        Some(_) => None,
    }
}

/// The smallest change that shows, percent of |Z|. A slip may hide that the reading is no
/// straight line, or stop at one σ.
fn least_change(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let bench = Bench::new(task.scenario()).ok()?;
    let fixture = task.fixture();
    let share = match slip {
        None => {
            let readout = bench.readout();
            change::asked(readout.appraisal_of(fixture)?, bench.nudge())?.value()?
        }
        Some(Slip::Proportion) => change::in_proportion(&bench, fixture)?,
        Some(Slip::OneSigma) => moved_by(&bench, fixture, 1.0)?,
        Some(_) => return None,
    };
    Some(100.0 * share)
}

/// The change of |Z| that moves the reading by `count` σ along the way of the nudge.
fn moved_by(bench: &Bench, fixture: Fixture, count: f64) -> Option<f64> {
    let reference = bench.budget()?.reference();
    let reading = |device| fixture.reading(device, reference).value();
    let before = reading(bench.device())?;
    let way = reading(bench.nudge().applied_to(bench.device()))? - before;
    let moved = before + way / way.norm() * count * change::scatter(bench, fixture)?;
    let z = fixture.immittance(moved, reference).ok()?.impedance()?;
    Some(z.norm() / bench.device().impedance()?.norm() - 1.0)
}

/// The only fixture that sees the nudge; `None` where none or several do.
pub(crate) fn fixture_that_sees(readout: &Readout) -> Option<Fixture> {
    let mut seeing = readout
        .appraisal?
        .fixtures
        .into_iter()
        .filter(|seen| seen.verdict == Verdict::Sees);
    let only = seeing.next()?;
    seeing.next().is_none().then_some(only.fixture)
}

/// The capacitance of a reactance; of a coil's, by the same formula, below zero.
fn capacitance(z: Complex64, freq_hz: f64) -> Option<f64> {
    let of = |z| Equivalents::new(Immittance::from_impedance(z).ok()?, freq_hz).ok();
    of(z)?
        .series_capacitance_f()
        .or_else(|| Some(-of(z.conj())?.series_capacitance_f()?))
}

/// The inductance of a reactance; of a capacitor's, by the same formula, below zero.
fn inductance(z: Complex64, freq_hz: f64) -> Option<f64> {
    let of = |z| Equivalents::new(Immittance::from_impedance(z).ok()?, freq_hz).ok();
    of(z)?
        .series_inductance_h()
        .or_else(|| Some(-of(z.conj())?.series_inductance_h()?))
}

/// The fixture in which the level moves most when the device grows by a tenth.
pub(crate) fn fixture_that_moves_most(readout: &Readout) -> Option<Fixture> {
    Fixture::ALL
        .into_iter()
        .filter_map(|fixture| Some((fixture, level_move(readout, fixture)?.abs())))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(fixture, _)| fixture)
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
