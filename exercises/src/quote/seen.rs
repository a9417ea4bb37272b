//! What an instrument makes of a fixture: keys that need a scenario with an instrument.

use jigwise_bench::percent;
use jigwise_bench::words::{limit_key, sigma, verdict};
use jigwise_bench::{
    AveragesNeeded, Bench, BudgetEntry, Coverage, Fixture, FixtureAppraisal, Merits, Nudge,
    ResolvableChange, SEEN_SIGMA, Scenario, engineering, fixed, words,
};

use super::UNIT_GAP;

/// What can be quoted of the scenario.
pub(super) const OF_THE_SCENARIO: [&str; 8] = [
    "instrument",
    "averages",
    "nudge",
    "seen-from",
    "display-step",
    "best-for-value",
    "best-for-change",
    "nothing-resolves",
];

/// What can be quoted of each fixture.
pub(super) const OF_A_FIXTURE: [&str; 16] = [
    "e",
    "within",
    "u-r",
    "u-x",
    "increase",
    "decrease",
    "limit",
    "noise-limit",
    "display-limit",
    "separation",
    "verdict",
    "sigma",
    "linear",
    "averages",
    "reach-from",
    "reach-to",
];

/// The percentage that "reach" asks for.
const REACH: f64 = 0.1;

pub(super) fn of_scenario(key: &str, scenario: &Scenario, bench: &Bench) -> Option<String> {
    let instrument = scenario.instrument.as_ref()?;
    let readout = bench.readout();
    let appraisal = readout.appraisal?;
    Some(match key {
        "instrument" => instrument.name.clone(),
        "averages" => instrument.figures.averages.to_string(),
        "nudge" => percent(bench.nudge().amount()),
        "seen-from" => format!("{}{UNIT_GAP}σ", sigma(SEEN_SIGMA)),
        "display-step" => BudgetEntry::of(&instrument.figures)
            .find(|entry| entry.name == "Display step, size")?
            .shown(&instrument.figures),
        "best-for-value" => words::fixture_key(appraisal.best_for_value?).to_owned(),
        "best-for-change" => words::fixture_key(appraisal.best_for_change?).to_owned(),
        "nothing-resolves" => words::nothing_resolves(&readout, bench)?,
        _ => return None,
    })
}

pub(super) fn of_fixture(
    key: &str,
    bench: &Bench,
    fixture: Fixture,
    digits: usize,
) -> Option<String> {
    let readout = bench.readout();
    let seen = readout.appraisal_of(fixture)?;
    let ohms = |value| engineering(value, "Ω", digits);
    let unsigned = |share| percent(share).trim_start_matches('+').to_owned();
    let asked = asked(seen, bench.nudge());
    Some(match key {
        "e" => unsigned(seen.figure_of_merit?),
        "within" => unsigned(Coverage::P95.radius_in_rms() * seen.figure_of_merit?),
        "u-r" => ohms(seen.ohms?.u_r_ohm),
        "u-x" => ohms(seen.ohms?.u_x_ohm),
        "increase" => change(seen.resolvable?.increase.value()),
        "decrease" => change(seen.resolvable?.decrease.value()),
        "limit" => limit_key(asked?.limited_by()).to_owned(),
        "noise-limit" => change(asked?.noise),
        "display-limit" => change(asked?.display),
        "separation" => format!("{}{UNIT_GAP}σ", sigma(seen.separation_sigma?)),
        "verdict" => verdict(seen).replace(" σ", "\u{202f}σ"),
        "sigma" => plain(scatter(bench, fixture)?, digits),
        "linear" => percent(linear_change(bench, fixture)?),
        "averages" => fixed(averages(bench, fixture)?, 0),
        "reach-from" => ohms(reach(bench, fixture)?.0),
        "reach-to" => ohms(reach(bench, fixture)?.1),
        _ => return None,
    })
}

/// A plain ratio with so many significant digits and no exponent.
fn plain(value: f64, digits: usize) -> String {
    let leading = value.abs().log10().floor() as i32;
    fixed(value, (digits as i32 - 1 - leading).max(0) as usize)
}

fn change(share: Option<f64>) -> String {
    share.map_or("no change at all".to_owned(), percent)
}

/// The resolvable change of the nudge's own sign.
pub(crate) fn asked(seen: &FixtureAppraisal, nudge: Nudge) -> Option<ResolvableChange> {
    let both = seen.resolvable?;
    Some(if nudge.amount() > 0.0 {
        both.increase
    } else {
        both.decrease
    })
}

/// Scatter of one reading along the way the nudge takes it: |ΔS|/d, a plain ratio.
pub(crate) fn scatter(bench: &Bench, fixture: Fixture) -> Option<f64> {
    let d = bench.readout().appraisal_of(fixture)?.separation_sigma?;
    let reading = |device| fixture.reading(device, bench.budget()?.reference()).value();
    let moved = reading(bench.nudge().applied_to(bench.device()))? - reading(bench.device())?;
    (d > 0.0).then(|| moved.norm() / d)
}

/// The change that would show if the separation grew in proportion to it: t·2√2/d.
pub(crate) fn linear_change(bench: &Bench, fixture: Fixture) -> Option<f64> {
    let d = bench.readout().appraisal_of(fixture)?.separation_sigma?;
    (d > 0.0).then(|| bench.nudge().amount() * SEEN_SIGMA / d)
}

/// Averages that show the nudge; `None` where none do.
pub(crate) fn averages(bench: &Bench, fixture: Fixture) -> Option<f64> {
    let budget = bench.budget()?;
    match budget.averages_needed(fixture, bench.device(), bench.nudge())? {
        AveragesNeeded::Averages(count) => Some(count),
        _ => None,
    }
}

/// From where to where the value is known within a tenth, at 95 %, in ohms, along the part's
/// own phase.
fn reach(bench: &Bench, fixture: Fixture) -> Option<(f64, f64)> {
    let phase_rad = bench.device().impedance()?.arg();
    let ranges = Merits::of(bench.budget()?).reach(fixture, REACH, Coverage::P95, phase_rad);
    match ranges.ok()?[..] {
        [range] => Some((range.from_ohm, range.to_ohm)),
        _ => None,
    }
}
