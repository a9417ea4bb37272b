//! The keys of what can be quoted.

use jigwise_physics::Fixture;

use crate::fixture_entries::PartStray;
use crate::words::fixture_key;

/// The most digits that can be asked for.
pub(super) const MAX_DIGITS: usize = 15;

/// Of a scenario: the question and its device.
pub(super) const SCENARIO: [&str; 13] = [
    "title",
    "device",
    "frequency",
    "reference",
    "half-reference",
    "twice-reference",
    "r",
    "x",
    "z",
    "magnitude",
    "phase",
    "capacitance",
    "inductance",
];

/// Of a scenario: what comes with its part, from a model of it.
pub(super) const PART: [&str; 27] = [
    "resistance",
    "esr",
    "esl",
    "leads",
    "across",
    "compensated",
    "self-resonance",
    "high-by-1-percent",
    "high-by-10-percent",
    "parallel-resonance",
    "parallel-offset",
    "motional-resistance",
    "motional-inductance",
    "motional-capacitance",
    "q",
    "width",
    "width-in-series",
    "drive-at-1mw",
    "drive-at-100uw",
    "relaxation",
    "core-resistance",
    "quarter-wave",
    "apparent-capacitance",
    "apparent-inductance",
    "parallel-resistance",
    "parallel-capacitance",
    "parallel-inductance",
];

/// Of a scenario: the arms of the fixture, and how it was calibrated.
pub(super) const AROUND: [&str; 7] = [
    "arm",
    "arm-velocity",
    "arm-turn",
    "method",
    "load",
    "load-share",
    "standard-stray",
];

/// Of a scenario with an instrument.
pub(super) const SEEN: [&str; 8] = [
    "instrument",
    "averages",
    "nudge",
    "seen-from",
    "display-step",
    "best-for-value",
    "best-for-change",
    "nothing-resolves",
];

/// Of a fixture: its reading, and the ohms got back from what its display shows.
pub(super) const FIXTURE: [&str; 12] = [
    "shown",
    "level",
    "angle",
    "reading",
    "size",
    "nudged",
    "moves",
    "r",
    "x",
    "z",
    "capacitance",
    "inductance",
];

/// Of a fixture: the ohms got back from a reading with all its digits.
pub(super) const FIXTURE_BACK: [&str; 8] = [
    "back-z",
    "back-r",
    "back-x",
    "back-magnitude",
    "back-capacitance",
    "back-inductance",
    "back-off",
    "back-error",
];

/// Of a fixture, where the scenario has an instrument.
pub(super) const FIXTURE_SEEN: [&str; 15] = [
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

/// Of a scenario: what the fixture adds at the part, by the keys of its file.
pub(super) fn strays() -> impl Iterator<Item = &'static str> {
    PartStray::ALL.into_iter().map(|stray| stray.key)
}

pub(super) fn of_the_scenario() -> impl Iterator<Item = &'static str> {
    SCENARIO
        .into_iter()
        .chain(PART)
        .chain(strays())
        .chain(AROUND)
        .chain(SEEN)
}

pub(super) fn of_a_fixture() -> impl Iterator<Item = &'static str> {
    FIXTURE.into_iter().chain(FIXTURE_BACK).chain(FIXTURE_SEEN)
}

/// Every key that a [`Quote`](super::Quote) may have, those of a fixture after its name and a
/// point, as in `reflect.level`.
pub fn keys() -> Vec<String> {
    let of_fixtures = Fixture::ALL.into_iter().flat_map(|fixture| {
        of_a_fixture().map(move |key| format!("{}.{key}", fixture_key(fixture)))
    });
    of_the_scenario()
        .map(str::to_owned)
        .chain(of_fixtures)
        .collect()
}
