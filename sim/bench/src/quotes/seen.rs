//! What an instrument makes of a fixture: keys that need a scenario with an instrument.

use jigwise_physics::{Coverage, Fixture, InstrumentEntry, Merits, SEEN_SIGMA};
use jigwise_quantity::{engineering, fixed, percent, significant, unsigned_percent};

use super::shown::UNIT_GAP;
use crate::change;
use crate::entries;
use crate::readout::Bench;
use crate::scenario::Scenario;
use crate::words::{self, limit_key, sigma, verdict};

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
        "display-step" => entries::shown(&InstrumentEntry::DISPLAY_MAGNITUDE, &instrument.figures),
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
    let asked = change::asked(seen, bench.nudge());
    Some(match key {
        "within" => unsigned_percent(Coverage::P95.radius_in_rms() * seen.figure_of_merit?),
        "u-r" => ohms(seen.ohms?.u_r_ohm),
        "u-x" => ohms(seen.ohms?.u_x_ohm),
        "increase" => shows(seen.resolvable?.increase.value()),
        "decrease" => shows(seen.resolvable?.decrease.value()),
        "limit" => limit_key(asked?.limited_by()).to_owned(),
        "noise-limit" => shows(asked?.noise),
        "display-limit" => shows(asked?.display),
        "separation" => format!("{}{UNIT_GAP}σ", sigma(seen.separation_sigma?)),
        "verdict" => verdict(seen).replace(" σ", "\u{202f}σ"),
        "sigma" => significant(change::scatter(bench, fixture)?, digits),
        "linear" => percent(change::in_proportion(bench, fixture)?),
        "averages" => fixed(change::averages(bench, fixture)?, 0),
        "reach-from" => ohms(reach(bench, fixture)?.0),
        "reach-to" => ohms(reach(bench, fixture)?.1),
        _ => return None,
    })
}

fn shows(share: Option<f64>) -> String {
    share.map_or("no change at all".to_owned(), percent)
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
