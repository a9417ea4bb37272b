//! Tasks about a change: how far readings move, and which change is the smallest that shows.

use jigwise_bench::change;
use jigwise_bench::words::sums::inversion;
use jigwise_bench::words::{fixture_key, sigma, verdict};
use jigwise_bench::{
    Bench, Complex64, Fixture, Readout, SEEN_SIGMA, complex_ohm, fixed, percent, plain_complex,
    significant,
};

use super::DIGITS;
use crate::task::{Asks, Task};

/// The steps of a task about a change; empty where it can't be computed.
pub(super) fn steps(task: &Task, bench: &Bench, readout: &Readout) -> Vec<String> {
    match task.asks() {
        Asks::FixtureThatSees => separations(readout),
        Asks::Separation => separation(task, bench),
        Asks::Averages => averages(task, bench, readout),
        Asks::Change => least(task, bench),
        Asks::DisplayChange => one_step(task, bench),
        _ => limits(task, bench, readout),
    }
    .unwrap_or_default()
}

fn separations(readout: &Readout) -> Option<Vec<String>> {
    let mut steps: Vec<String> = Fixture::ALL
        .into_iter()
        .filter_map(|fixture| {
            let seen = readout.appraisal_of(fixture)?;
            seen.separation_sigma?;
            Some(format!("In {}: {}.", fixture_key(fixture), verdict(seen)))
        })
        .collect();
    steps.push(format!(
        "A change is seen from {}\u{202f}σ, if the display moves too.",
        sigma(SEEN_SIGMA)
    ));
    Some(steps)
}

/// The readings before and after the nudge.
fn both(task: &Task, bench: &Bench) -> Option<[Complex64; 2]> {
    let reference = task.scenario().reference;
    let of = |device| task.fixture().reading(device, reference).value();
    Some([
        of(bench.device())?,
        of(bench.nudge().applied_to(bench.device()))?,
    ])
}

fn separation(task: &Task, bench: &Bench) -> Option<Vec<String>> {
    let scatter = change::scatter(bench, task.fixture())?;
    let [before, after] = both(task, bench)?;
    let level = |s: Complex64| fixed(20.0 * s.norm().log10(), 3);
    let moved = (after - before).norm();
    Some(vec![
        format!(
            "As plain ratios the levels are 10^({}/20) = {} and 10^({}/20) = {}.",
            level(before),
            significant(before.norm(), 5),
            level(after),
            significant(after.norm(), 5)
        ),
        format!("They differ by {}.", significant(moved, 3)),
        format!(
            "Over the scatter of one reading: {} / {} = {}.",
            significant(moved, 3),
            significant(scatter, 3),
            sigma(moved / scatter)
        ),
    ])
}

fn apart(task: &Task, bench: &Bench, readout: &Readout) -> Option<(f64, String)> {
    let d = readout.appraisal_of(task.fixture())?.separation_sigma?;
    let sentence = format!(
        "A change of {} takes the readings {}\u{202f}σ apart, and {}\u{202f}σ are needed.",
        percent(bench.nudge().amount()),
        sigma(d),
        sigma(SEEN_SIGMA)
    );
    Some((d, sentence))
}

fn averages(task: &Task, bench: &Bench, readout: &Readout) -> Option<Vec<String>> {
    let (d, sentence) = apart(task, bench, readout)?;
    Some(vec![
        sentence,
        "The mean of N readings scatters √N times less, so N = (2√2/d)².".to_owned(),
        format!(
            "({} / {})² = {}. Take the next whole number.",
            sigma(SEEN_SIGMA),
            sigma(d),
            significant((SEEN_SIGMA / d).powi(2), 3)
        ),
    ])
}

fn limits(task: &Task, bench: &Bench, readout: &Readout) -> Option<Vec<String>> {
    let (_, sentence) = apart(task, bench, readout)?;
    let asked = change::asked(readout.appraisal_of(task.fixture())?, bench.nudge())?;
    let shows = |share: Option<f64>| share.map_or("never".to_owned(), percent);
    Some(vec![
        sentence,
        format!(
            "Above the noise a change shows from {}, on the display from {}.",
            shows(asked.noise),
            shows(asked.display)
        ),
        "The larger of the two counts.".to_owned(),
    ])
}

/// The steps for the smallest change where the noise does not depend on the reading.
fn least(task: &Task, bench: &Bench) -> Option<Vec<String>> {
    let [before, after] = both(task, bench)?;
    let one_sigma = change::scatter(bench, task.fixture())?;
    let moved = after - before;
    let target = before + moved / moved.norm() * SEEN_SIGMA * one_sigma;
    let number = |s: Complex64| plain_complex(s, DIGITS);
    let mut steps = vec![
        format!(
            "Before, the reading is S = {}; after the change it is {}. They are {} apart.",
            number(before),
            number(after),
            significant(moved.norm(), DIGITS)
        ),
        format!(
            "That is {}\u{202f}σ, so one σ is {}.",
            sigma(moved.norm() / one_sigma),
            significant(one_sigma, DIGITS)
        ),
        format!(
            "{} of them are {}, so the reading has to come to S = {}.",
            sigma(SEEN_SIGMA),
            significant(SEEN_SIGMA * one_sigma, DIGITS),
            number(target)
        ),
    ];
    steps.push(from_target(task, bench, target)?);
    Some(steps)
}

fn one_step(task: &Task, bench: &Bench) -> Option<Vec<String>> {
    let instrument = task.scenario().instrument.as_ref()?;
    let figures = instrument.figures_at(task.scenario().readout_hz()).ok()?;
    let step_db = figures.display_magnitude * 20.0 / std::f64::consts::LN_10;
    let [before, after] = both(task, bench)?;
    let sign = if after.norm() > before.norm() {
        1.0
    } else {
        -1.0
    };
    let ratio = 10f64.powf(sign * step_db / 20.0);
    let target = before * ratio;
    Some(vec![
        format!(
            "One step of {}\u{202f}dB is the ratio 10^({}/20) = {}.",
            significant(step_db, 2),
            significant(sign * step_db, 2),
            significant(ratio, 6)
        ),
        format!(
            "The reading is S = {}. One step on it is {}.",
            significant(before.norm(), 6),
            significant(target.norm(), 6)
        ),
        from_target(task, bench, target)?,
    ])
}

/// From the reading that is wanted to the change that makes it.
fn from_target(task: &Task, bench: &Bench, target: Complex64) -> Option<String> {
    let fixture = task.fixture();
    let wanted = fixture.immittance(target, task.scenario().reference).ok()?;
    let (wanted, device) = (wanted.impedance()?, bench.device().impedance()?);
    Some(format!(
        "Back to ohms by {}: {}. Over {} that is {}.",
        inversion(fixture),
        complex_ohm(wanted, DIGITS),
        complex_ohm(device, DIGITS),
        percent(wanted.norm() / device.norm() - 1.0)
    ))
}
