//! What a budget leaves out that a fixture on a bench has.

use jigwise_physics::{Cause, Fixture, Instrument};
use jigwise_quantity::engineering;

use crate::words::fixture_key;

/// What contacts and cable braids add on a bench, ohms: clips and probes ten milliohms or so, braids
/// a few. Common practice, no source.
const ON_A_BENCH_OHM: f64 = 0.01;

/// The resistances in series with a part of which a budget says nothing although they would count
/// beside an uncertainty of `within_ohm`: contacts, and in shunt-through the ground loop.
pub fn omitted(figures: &Instrument, fixture: Fixture, within_ohm: f64) -> Vec<Cause> {
    if within_ohm >= ON_A_BENCH_OHM {
        return Vec::new();
    }
    let is_shunt = fixture == Fixture::ShuntThrough;
    [
        (Cause::Contact, figures.contact_ohm == 0.0),
        (
            Cause::GroundLoop,
            is_shunt && figures.ground_loop_ohm == 0.0,
        ),
    ]
    .into_iter()
    .filter_map(|(cause, is_left_out)| is_left_out.then_some(cause))
    .collect()
}

/// What is said of [`omitted`]; `None` where nothing is.
///
/// ```
/// use jigwise_bench::words::omitted_words;
/// use jigwise_bench::{Fixture, Instrument};
///
/// let said = omitted_words(&Instrument::LABORATORY, Fixture::ShuntThrough, 194e-6).unwrap();
/// assert!(said.starts_with("shunt-through leaves out contact resistance and ground loop"));
/// let reflect = omitted_words(&Instrument::HANDHELD, Fixture::Reflect, 0.7);
/// assert_eq!(reflect, None);
/// ```
pub fn omitted_words(figures: &Instrument, fixture: Fixture, within_ohm: f64) -> Option<String> {
    let causes: Vec<&str> = omitted(figures, fixture, within_ohm)
        .into_iter()
        .map(Cause::name)
        .collect();
    if causes.is_empty() {
        return None;
    }
    Some(format!(
        "{} leaves out {}, 0\u{202f}Ω in this budget and about {} on a bench: its ±{} holds only \
         without {}",
        fixture_key(fixture),
        causes.join(" and "),
        engineering(ON_A_BENCH_OHM, "Ω", 1),
        engineering(within_ohm, "Ω", 3),
        if causes.len() == 1 { "it" } else { "them" },
    ))
}
