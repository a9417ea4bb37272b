//! What a task's readings allow to know of a value.

use std::borrow::Cow;
use std::f64::consts::TAU;

use jigwise_bench::quotes::load_ohm;
use jigwise_bench::{Bench, Budget, CalibrationPlan, Complex64, Fixture, Immittance, Scenario};

use super::reading;
use crate::claim::{Knowable, NORMAL_95};
use crate::task::{Asks, Task};

/// What could be known; `None` for a task that asks for no value with its ±.
pub(crate) fn knowable(task: &Task) -> Option<Knowable> {
    let bench = task.bench()?;
    match task.asks() {
        Asks::ResistanceClaim | Asks::CapacitanceClaim | Asks::InductanceClaim => {
            of_part(task, bench)
        }
        Asks::LoadClaim => of_load(task, bench),
        Asks::CrossoverClaim => of_crossover(task, bench),
        _ => None,
    }
}

/// 1.96·u of R, or of C = −1/(ωX) and L = X/ω, whose relative u are that of X.
fn of_part(task: &Task, bench: &Bench) -> Option<Knowable> {
    let z = bench.device().impedance()?;
    let sound = sound(task, bench)?;
    let ohms = sound
        .budget()?
        .impedance_covariance(task.fixture(), bench.device());
    let (u_r, u_x) = ohms.map_or((f64::INFINITY, f64::INFINITY), |ohms| {
        (ohms.re.sqrt(), ohms.im.sqrt())
    });
    let hz = || task.scenario().readout_hz();
    let (right, u) = match task.asks() {
        Asks::ResistanceClaim => (z.re, u_r),
        Asks::CapacitanceClaim => {
            let farad = reading::capacitance(z, hz()?)?;
            (farad, (u_x / z.im * farad).abs())
        }
        _ => (z.im / (TAU * hz()?), u_x / (TAU * hz()?)),
    };
    Some(Knowable {
        right,
        possible: NORMAL_95 * u,
    })
}

/// The bench, without a wrong load where the task says that there is one: what is known to be off
/// can be put right, and is no doubt about the value.
fn sound<'a>(task: &Task, bench: &'a Bench) -> Option<Cow<'a, Bench>> {
    let scenario = task.scenario();
    match &scenario.calibration {
        Some(plan) if plan.taken_for_ideal.load => {
            let mut good = CalibrationPlan::new(plan.method, scenario.reference);
            good.front_end = plan.front_end;
            let scenario = Scenario {
                calibration: Some(good),
                ..scenario.clone()
            };
            Bench::new(&scenario).ok().map(Cow::Owned)
        }
        _ => Some(Cow::Borrowed(bench)),
    }
}

/// The load, load = Z0·Z/Z′, from what the calibration makes of a known Z: as well in percent as
/// the reading of Z′ is known.
fn of_load(task: &Task, bench: &Bench) -> Option<Knowable> {
    let right = load_ohm(task.scenario().calibration.as_ref()?)?;
    let sound = sound(task, bench)?;
    let z = bench.device().impedance()?;
    let ohms = sound
        .budget()?
        .impedance_covariance(task.fixture(), bench.device())?;
    Some(Knowable {
        right,
        possible: NORMAL_95 * ohms.re.sqrt() / z.norm() * right,
    })
}

/// Relative scatter of R from noise alone.
fn relative_noise(budget: &Budget, fixture: Fixture, ohm: f64) -> Option<f64> {
    let device = Immittance::from_impedance(Complex64::from(ohm)).ok()?;
    let slope = fixture.ohm_per_reading(device, budget.reference())?;
    let noise = budget.random_covariance(fixture, device, false)?;
    Some(noise.through(slope).re.sqrt() / ohm)
}

/// ln of the ratio of the scatters of reflect and of the other fixture.
fn scatter_ratio(budget: &Budget, fixture: Fixture, ohm: f64) -> Option<f64> {
    let reflect = relative_noise(budget, Fixture::Reflect, ohm)?;
    Some((reflect / relative_noise(budget, fixture, ohm)?).ln())
}

/// Where reflect and the task's fixture scatter alike. The scatter of N readings is known to a part
/// 1/√(2(N − 1)) of itself, and the ratio of two to √2 as much; the two resistors on either side of the
/// crossover tell it together, √2 times better than one.
fn of_crossover(task: &Task, bench: &Bench) -> Option<Knowable> {
    let budget = bench.budget()?;
    let z0 = budget.reference().ohm();
    let ratio = |ohm: f64| scatter_ratio(budget, task.fixture(), ohm);
    let (mut near, mut far) = match task.fixture() {
        Fixture::ShuntThrough => (z0, z0 / 50.0),
        Fixture::SeriesThrough => (z0, z0 * 50.0),
        Fixture::Reflect => return None,
    };
    if !(ratio(near)? < 0.0 && ratio(far)? > 0.0) {
        return None;
    }
    for _ in 0..100 {
        let middle = (near * far).sqrt();
        if middle == near || middle == far {
            break;
        }
        if ratio(middle)? < 0.0 {
            near = middle
        } else {
            far = middle
        }
    }
    let right = (near * far).sqrt();
    const STEP: f64 = 1.05;
    let slope = (ratio(right * STEP)? - ratio(right / STEP)?) / (2.0 * STEP.ln());
    let readings = task
        .scenario()
        .sweep
        .as_ref()
        .map_or(1, |sweep| sweep.points) as f64;
    const RESISTORS: f64 = 2.0;
    let u = (1.0 / (RESISTORS * (readings - 1.0))).sqrt() / slope.abs();
    Some(Knowable {
        right,
        possible: NORMAL_95 * u * right,
    })
}
