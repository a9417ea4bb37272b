//! `crystal SCENARIO`: a crystal's sweep in series-through, simulated, and the five values that a fit
//! finds in it, each with its ±.

use jigwise_bench::quotes::Quote;
use jigwise_bench::{Device, Fixture, Measurement, Part, PartQuantity};
use jigwise_quantity::{engineering, significant, unsigned_percent};
use jigwise_reduce::{COVERAGE_FACTOR as K, Findings, Recipe, Reducer, Wanted, value_words};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};
use crate::scenarios::{JunkBox, Scenarios};
use crate::words::{NONE, title};

/// The values with the keys by which the scenario's own are quoted.
const VALUES: [(PartQuantity, &str); 5] = [
    (PartQuantity::SeriesResonance, "self-resonance 7"),
    (PartQuantity::MotionalResistance, "motional-resistance 3"),
    (PartQuantity::MotionalInductance, "motional-inductance 3"),
    (PartQuantity::MotionalCapacitance, "motional-capacitance 3"),
    (PartQuantity::HolderCapacitance, "across 3"),
];

pub(crate) fn crystal(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected crystal SCENARIO, as in crystal ladder-crystal"));
    };
    // The crystal as it is shipped: a sweep of thousands of points is not simulated and fitted again
    // while a reader moves the page's part.
    let scenario = JunkBox.scenario(name).map_err(|error| block.error(error))?;
    let sweep = scenario.sweep.as_ref();
    let (Device::Part(Part::Crystal(_)), Some(plan), Some(instrument)) =
        (&scenario.device, sweep, &scenario.instrument)
    else {
        return Err(block.error(format!(
            "\"{name}\" is no crystal with a sweep and an instrument; choose another"
        )));
    };
    let refused = |error: &dyn std::fmt::Display| block.error(error);
    let measured = Measurement::of(&scenario, Fixture::SeriesThrough)
        .map_err(|error| refused(&error))?
        .corrected()
        .map_err(|error| refused(&error))?;
    let budgets = instrument
        .budgets(scenario.reference, scenario.connections)
        .map_err(|error| refused(&error))?;
    let recipe = Recipe {
        budget: Some(budgets),
        ..Recipe::default()
    };
    let input = Reducer::new(&measured, Fixture::SeriesThrough, &recipe)
        .and_then(|reducer| reducer.fit_input())
        .map_err(|error| refused(&error))?;
    let findings = Findings::of(&input, &Wanted::Automatic).map_err(|error| refused(&error))?;
    let Some((_, found)) = findings.values() else {
        return Err(block.error(format!("no circuit to show: {}", findings.why)));
    };
    let mut rows = Vec::new();
    for (quantity, key) in VALUES {
        let own: Quote = key.parse().map_err(|error| refused(&error))?;
        let own = own.of(&scenario).map_err(|error| refused(&error))?;
        let cells = match found.value(quantity) {
            Some(value) => [
                own,
                value_words(&value, findings.has_budget),
                share(K * value.u / value.value),
            ],
            None => [own, "not told".to_owned(), NONE.to_owned()],
        };
        rows.push(row(quantity.symbol(), &cells));
    }
    let hertz = |hz| engineering(hz, "Hz", 4);
    Ok(table(
        &format!(
            "{}: values found in a simulated sweep in series-through, {} to {} in {} points; \
             instrument: {} (invented), seed {}; ± is 2 u, about 95\u{202f}%",
            title(&scenario),
            hertz(plan.from_hz),
            hertz(plan.to_hz),
            plan.points,
            instrument.name,
            scenario.seed
        ),
        &["", "In the crystal", "Found", "± as a share of it"],
        &rows,
    ))
}

/// A share in percent, or as a power of ten where a percentage has too many zeros.
fn share(share: f64) -> String {
    match share < 1e-5 {
        true => format!("{}·10⁻⁶", significant(share * 1e6, 2)),
        false => unsigned_percent(share),
    }
}
