//! What change a fixture sees.

use jigwise_bench::change::{self, level_move};
use jigwise_bench::{Bench, Fixture, Immittance, Readout, ReferenceImpedance, SEEN_SIGMA, Verdict};

use crate::slip::Slip;
use crate::task::Task;

/// The averages that take the separation d to 2√2: (2√2/d)², in whole readings.
pub(super) fn averages(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let bench = task.bench()?;
    let d = bench
        .readout()
        .appraisal_of(task.fixture())?
        .separation_sigma?;
    match slip {
        None => change::averages(bench, task.fixture()),
        Some(Slip::OneSigma) => Some(d.powi(-2).ceil()),
        Some(Slip::WithoutSquare) => Some((SEEN_SIGMA / d).ceil()),
        Some(_) => None,
    }
}

/// The smallest change that shows, percent of |Z|. A slip may hide that the reading is no
/// straight line, or stop at one σ.
pub(super) fn least_change(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let bench = task.bench()?;
    let fixture = task.fixture();
    let share = match slip {
        None => {
            let readout = bench.readout();
            change::asked(readout.appraisal_of(fixture)?, bench.nudge())?.value()?
        }
        Some(Slip::Proportion) => change::in_proportion(bench, fixture)?,
        Some(Slip::OneSigma) => moved_by(bench, fixture, 1.0)?,
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

/// The fixture in which the level moves most when the device grows by a tenth.
pub(crate) fn fixture_that_moves_most(readout: &Readout) -> Option<Fixture> {
    Fixture::ALL
        .into_iter()
        .filter_map(|fixture| Some((fixture, level_move(readout, fixture)?.abs())))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(fixture, _)| fixture)
}

/// The distance of the readings before and after the nudge, σ.
pub(super) fn separation(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let bench = task.bench()?;
    let readout = bench.readout();
    let of = |fixture| readout.appraisal_of(fixture)?.separation_sigma;
    match slip {
        None => of(task.fixture()),
        Some(Slip::OtherFixture(other)) if other != task.fixture() => of(other),
        Some(Slip::FromZero) => {
            let reading = readout.of(task.fixture()).reading?;
            Some(reading.norm() / change::scatter(bench, task.fixture())?)
        }
        Some(_) => None,
    }
}

/// The relative change of |Z| that moves the level by one step of the display, percent.
pub(super) fn display_change(task: &Task, slip: Option<Slip>) -> Option<f64> {
    let instrument = task.scenario().instrument.as_ref()?;
    let figures = instrument.figures_at(task.scenario().readout_hz()).ok()?;
    let neper = figures.display_magnitude;
    let (fixture, steps) = match slip {
        None => (task.fixture(), 1.0),
        // A step read as 10 log is a ratio of voltages with twice its exponent.
        Some(Slip::TenLog) => (task.fixture(), 2.0),
        Some(Slip::OtherFixture(other)) if other != task.fixture() => (other, 1.0),
        Some(_) => return None,
    };
    let bench = task.bench()?;
    let (device, reference) = (bench.device(), task.scenario().reference);
    let grows = bench.nudge().amount() > 0.0;
    let level = |share: f64| level_of(fixture, device, share, reference);
    let start = level(0.0)?;
    let shows = |share: f64| {
        level(if grows { share } else { -share })
            .is_some_and(|level| (level - start).abs() >= steps * neper)
    };
    let most = if grows { 1e3 } else { 1.0 };
    if !shows(most) {
        return None;
    }
    let (mut below, mut above) = (1e-9_f64, most);
    for _ in 0..200 {
        let middle = (below * above).sqrt();
        if shows(middle) {
            above = middle
        } else {
            below = middle
        }
    }
    Some(100.0 * above)
}

/// ln|S| of a device whose |Z| is larger by a part `share`.
fn level_of(
    fixture: Fixture,
    device: Immittance,
    share: f64,
    reference: ReferenceImpedance,
) -> Option<f64> {
    let device = Immittance::from_pair(device.v() * (1.0 + share), device.i()).ok()?;
    Some(fixture.reading(device, reference).value()?.norm().ln())
}
