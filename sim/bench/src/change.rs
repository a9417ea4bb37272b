//! How readings move when the part changes: by the nudge of a bench, or by a tenth.

use jigwise_physics::{
    AveragesNeeded, Fixture, FixtureAppraisal, Immittance, Nudge, ResolvableChange, SEEN_SIGMA,
};

use crate::readout::{Bench, Readout};

/// How much larger the device is in [`nudged_level`].
const TENTH_LARGER: f64 = 1.1;

/// The resolvable change in the nudge's own direction: of an increase or of a decrease.
pub fn asked(seen: &FixtureAppraisal, nudge: Nudge) -> Option<ResolvableChange> {
    let both = seen.resolvable?;
    Some(if nudge.amount() > 0.0 {
        both.increase
    } else {
        both.decrease
    })
}

/// The scatter of one reading along the way on which the nudge moves it: |ΔS|/d, with d the
/// separation in σ. `None` where the two readings coincide.
pub fn scatter(bench: &Bench, fixture: Fixture) -> Option<f64> {
    let d = separation(bench, fixture)?;
    let reference = bench.budget()?.reference();
    let reading = |device| fixture.reading(device, reference).value();
    let moved = reading(bench.nudge().applied_to(bench.device()))? - reading(bench.device())?;
    (d > 0.0).then(|| moved.norm() / d)
}

/// The change of |Z| that would be seen if the separation d grew in proportion to it: t·2√2/d.
///
/// The reading is no straight line in |Z|, so this is right for small changes only.
pub fn in_proportion(bench: &Bench, fixture: Fixture) -> Option<f64> {
    let d = separation(bench, fixture)?;
    (d > 0.0).then(|| bench.nudge().amount() * SEEN_SIGMA / d)
}

/// How many averages show the nudge; `None` where no number of them does.
pub fn averages(bench: &Bench, fixture: Fixture) -> Option<f64> {
    let budget = bench.budget()?;
    match budget.averages_needed(fixture, bench.device(), bench.nudge())? {
        AveragesNeeded::Averages(count) => Some(count),
        _ => None,
    }
}

/// The separation in σ of the readings before and after the nudge.
fn separation(bench: &Bench, fixture: Fixture) -> Option<f64> {
    let readout = bench.readout();
    readout.appraisal_of(fixture)?.separation_sigma
}

/// The level in dB that a fixture without strays shows of a device whose |Z| is a tenth
/// larger; `None` where it has none.
pub fn nudged_level(readout: &Readout, fixture: Fixture) -> Option<f64> {
    let Readout {
        device, reference, ..
    } = readout;
    let larger = Immittance::from_pair(device.v() * TENTH_LARGER, device.i()).ok()?;
    let readout = Bench::around(larger, None, *reference).readout();
    readout.of(fixture).decibels()
}

/// By how much the level moves, in dB, when |Z| grows by a tenth.
pub fn level_move(readout: &Readout, fixture: Fixture) -> Option<f64> {
    Some(nudged_level(readout, fixture)? - readout.of(fixture).decibels()?)
}
