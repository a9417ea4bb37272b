//! How far a value can be trusted.

use jigwise_bench::quotes::load_ohm;
use jigwise_bench::{Coverage, Fixture};

use crate::claim::NORMAL_95;
use crate::read_task::cause_in_percent;
use crate::slip::Slip;
use crate::task::Task;

/// SWR of a resistive part at which reflect and a through fixture have the same relative error:
/// 1 + √6.
fn swr_of_crossover() -> f64 {
    1.0 + 6.0_f64.sqrt()
}

/// The resistance at which reflect and the task's fixture see a relative change alike.
pub(super) fn crossover(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let z0 = task.scenario().reference.ohm();
    let of = |fixture| match fixture {
        Fixture::ShuntThrough => Some(z0 / swr_of_crossover()),
        Fixture::SeriesThrough => Some(z0 * swr_of_crossover()),
        Fixture::Reflect => None,
    };
    match slip {
        None => of(task.fixture()),
        Some(Slip::OtherFixture(other)) if other != task.fixture() => of(other),
        Some(Slip::Normalised) => Some(of(task.fixture())? / z0),
        Some(_) => None,
    }
}

/// By how many percent Z is off where the reading is off by 0.01: K = |dZ/dS|/|Z|.
pub(super) fn sensitivity(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let bench = task.bench()?;
    let reference = task.scenario().reference;
    let of = |fixture: Fixture| {
        let slope = fixture.ohm_per_reading(bench.device(), reference)?;
        Some((slope / bench.device().impedance()?).norm())
    };
    match slip {
        None => of(task.fixture()),
        Some(Slip::OtherFixture(other)) if other != task.fixture() => of(other),
        Some(Slip::Normalised) => Some(of(task.fixture())? * reference.ohm()),
        Some(_) => None,
    }
}

/// 1.96·u of R.
pub(super) fn expanded(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let bench = task.bench()?;
    let readout = bench.readout();
    let u = readout.appraisal_of(task.fixture())?.ohms?.u_r_ohm;
    match slip {
        None => Some(NORMAL_95 * u),
        Some(Slip::StandardGiven) => Some(u),
        Some(_) => None,
    }
}

/// 2.448·σ, σ² the larger principal variance of R and X.
pub(super) fn radius(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let bench = task.bench()?;
    let ohms = bench
        .budget()?
        .impedance_covariance(task.fixture(), bench.device())?;
    let sigma = ohms.principal_variances().0.sqrt();
    match slip {
        None => Some(Coverage::P95.radius_in_sigma() * sigma),
        Some(Slip::OneDimension) => Some(NORMAL_95 * sigma),
        Some(Slip::StandardGiven) => Some(sigma),
        Some(_) => None,
    }
}

/// √(a² + b² + c²) of the three largest causes as they are printed, percent.
pub(super) fn combined(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let mut squares = 0.0;
    let mut sum = 0.0;
    for which in 1..=3 {
        let (_, share) = cause_in_percent(task.scenario(), task.fixture(), which)?;
        squares += share * share;
        sum += share;
    }
    match slip {
        None => Some(100.0 * squares.sqrt()),
        Some(Slip::PlainSum) => Some(100.0 * sum),
        Some(_) => None,
    }
}

/// 100·(Z0/load − 1).
pub(super) fn load_share(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let ratio = task.scenario().reference.ohm() / load_ohm(task.scenario().calibration.as_ref()?)?;
    match slip {
        None => Some(100.0 * (ratio - 1.0)),
        Some(Slip::WrongWay) => Some(100.0 * (1.0 / ratio - 1.0)),
        Some(_) => None,
    }
}
