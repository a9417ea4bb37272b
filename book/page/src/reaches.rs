//! `reaches`: what the invented instruments can do for a resistor, band by band.

use jigwise_bench::{
    Complex64, Coverage, Fixture, Immittance, Merits, NamedInstrument, ReferenceImpedance,
    engineering,
};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::crossovers::best_of;
use crate::markup::{row, table};
use crate::words::NONE;

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

/// `reaches PERCENT`: the ohms between which each fixture knows the value of a resistor.
pub(crate) fn reaches(block: &Block<'_>) -> Result<Markup, BlockError> {
    let percent = match block.words[..] {
        [word] => word.parse::<f64>().ok(),
        _ => None,
    };
    let Some(percent) = percent else {
        return Err(block.error("expected reaches PERCENT, as in reaches 10"));
    };
    let mut rows = Vec::new();
    for_each_band(block, |label, merits| {
        let mut cells = Vec::new();
        for fixture in Fixture::ALL {
            let ranges = merits
                .reach(fixture, percent / 100.0, Coverage::P95, 0.0)
                .map_err(|error| block.error(error))?;
            let ranges: Vec<String> = ranges
                .iter()
                .map(|range| {
                    format!(
                        "{} to {}",
                        engineering(range.from_ohm, "Ω", 2),
                        engineering(range.to_ohm, "Ω", 2)
                    )
                })
                .collect();
            cells.push(match ranges.is_empty() {
                true => NONE.to_owned(),
                false => ranges.join(", "),
            });
        }
        rows.push(row(label, &cells));
        Ok(())
    })?;
    Ok(table(
        &format!(
            "Where each fixture knows a resistor within ±{percent}\u{202f}% at 95\u{202f}%, on a \
             reference of {}; the instruments are invented",
            engineering(Z0.ohm(), "Ω", 2)
        ),
        &["Instrument", "Reflect", "Shunt-through", "Series-through"],
        &rows,
    ))
}

/// `best-by-band`: which fixture is best for the value of a resistor.
pub(crate) fn best_by_band(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected best-by-band and nothing more")?;
    let mut rows = Vec::new();
    for_each_band(block, |label, merits| {
        let at = |ohm| {
            let part = Immittance::from_impedance(Complex64::new(ohm, 0.0)).ok()?;
            merits.best(part)
        };
        let words = best_of(merits.crossovers(0.0), at);
        rows.push(row(label, &[words]));
        Ok(())
    })?;
    Ok(table(
        &format!(
            "Where the best fixture for the value of a resistor changes, on a reference of {}; the \
             instruments are invented",
            engineering(Z0.ohm(), "Ω", 2)
        ),
        &["Instrument", "Best for the value"],
        &rows,
    ))
}

fn for_each_band(
    block: &Block<'_>,
    mut each: impl FnMut(&str, &Merits) -> Result<(), BlockError>,
) -> Result<(), BlockError> {
    for name in NamedInstrument::preset_names() {
        let Some(named) = NamedInstrument::preset(name) else {
            continue;
        };
        let budgets = named.budgets(Z0, 0).map_err(|error| block.error(error))?;
        let mut below_hz = None;
        for (up_to_hz, budget) in budgets.all() {
            let edge = |hz| engineering(hz, "Hz", 2);
            let label = match (up_to_hz.is_finite(), below_hz) {
                (true, _) => format!("{}, up to {}", named.name, edge(*up_to_hz)),
                (false, Some(below)) => format!("{}, above {}", named.name, edge(below)),
                (false, None) => named.name.clone(),
            };
            each(&label, &Merits::of(budget))?;
            below_hz = Some(*up_to_hz);
        }
    }
    Ok(())
}
