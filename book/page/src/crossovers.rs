use jigwise_bench::words::{fixture_key, limit_key};
use jigwise_bench::{
    Budget, Complex64, Coverage, Crossover, Fixture, Immittance, Instrument, Merits, Nudge,
    ReferenceImpedance, WantedChange, engineering, percent,
};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::look_up::parts;
use crate::markup::{row, table};

/// `crossovers`: where the best fixture changes for a resistor, for the value and for a change,
/// on each of the invented instruments, in its first frequency band.
pub(crate) fn crossovers(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected crossovers and nothing more")?;
    let reference = ReferenceImpedance::FIFTY_OHM;
    let mut rows = Vec::new();
    for (name, figures) in Instrument::PRESETS {
        let budget = Budget::new(&figures, reference, 0).map_err(|error| block.error(error))?;
        let at = |ohm| {
            let part = Immittance::from_impedance(Complex64::new(ohm, 0.0)).ok()?;
            Some(budget.appraise(part, Nudge::default(), Coverage::P95))
        };
        let value = Merits::of(&budget).crossovers(0.0);
        let change = budget.change_crossovers(0.0, WantedChange::default());
        rows.push(row(
            name,
            &[
                best_of(value, |ohm| at(ohm)?.best_for_value),
                best_of(change, |ohm| at(ohm)?.best_for_change),
            ],
        ));
    }
    Ok(table(
        &format!(
            "Which fixture is best for a resistor, on a reference of {} and at frequencies up to {}; \
             the instruments are invented",
            engineering(reference.ohm(), "Ω", 2),
            engineering(Instrument::PRESETS_UP_TO_HZ, "Hz", 2)
        ),
        &["Instrument", "Best for the value", "Best for a change"],
        &rows,
    ))
}

/// `smallest-changes`, then one part a line: the smallest increase of |Z| that each fixture shows of
/// it, on each of the invented instruments, in its first frequency band.
pub(crate) fn smallest_changes(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected smallest-changes and nothing more, with parts below")?;
    let reference = ReferenceImpedance::FIFTY_OHM;
    let mut rows = Vec::new();
    for (name, part) in parts(block)? {
        for (instrument, figures) in Instrument::PRESETS {
            let budget = Budget::new(&figures, reference, 0).map_err(|error| block.error(error))?;
            let seen = budget.appraise(part, Nudge::default(), Coverage::P95);
            let cells = Fixture::ALL.map(|fixture| {
                let change = seen.of(fixture).resolvable.map(|both| both.increase);
                match change.and_then(|change| Some((change, change.value()?))) {
                    Some((change, share)) => {
                        format!("{}, {}", percent(share), limit_key(change.limited_by()))
                    }
                    None => "never".to_owned(),
                }
            });
            rows.push(row(&format!("{name}, {instrument}"), &cells));
        }
    }
    Ok(table(
        &format!(
            "The smallest increase that shows, without averages, and what sets it; on a reference of {} \
             and at frequencies up to {}; the instruments are invented",
            engineering(reference.ohm(), "Ω", 2),
            engineering(Instrument::PRESETS_UP_TO_HZ, "Hz", 2)
        ),
        &[
            "Part, instrument",
            "Reflect",
            "Shunt-through",
            "Series-through",
        ],
        &rows,
    ))
}

/// The best fixture from small parts to large, with the ohms at which it changes.
pub(crate) fn best_of(
    mut crossovers: Vec<Crossover>,
    best_at: impl Fn(f64) -> Option<Fixture>,
) -> String {
    const BESIDE: f64 = 1.001;
    crossovers.retain(|crossover| crossover.best);
    crossovers.sort_by(|a, b| a.ohm.total_cmp(&b.ohm));
    let name = |ohm| best_at(ohm).map_or("none", fixture_key);
    let mut words: Vec<String> = crossovers
        .iter()
        .map(|crossover| {
            let up_to = engineering(crossover.ohm, "Ω", 3);
            format!("{} up to {up_to}", name(crossover.ohm / BESIDE))
        })
        .collect();
    words.push(match crossovers.last() {
        Some(last) => format!("{} above", name(last.ohm * BESIDE)),
        None => name(ReferenceImpedance::FIFTY_OHM.ohm()).to_owned(),
    });
    words.join(", ")
}
