//! What moves the border between the two through fixtures.

use jigwise_bench::{
    Crossover, Fixture, Merits, ReadingError, ReferenceImpedance, Unit, above_zero, engineering,
    fixed, without_zeros,
};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;
/// Crossovers don't depend on the size of errors, only on their ratio.
const ANY_SIZE: f64 = 1e-3;

/// `unequal`, then one ratio a line: where shunt-through and series-through are equally good for a
/// resistor if the errors of series-through are so many times as large.
pub(crate) fn unequal(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected unequal and nothing more, with ratios below")?;
    let mut rows = Vec::new();
    for (index, line) in block.lines() {
        let ratio = above_zero(line, Unit::One).map_err(|error| block.body_error(index, error))?;
        let cells = [true, false].map(|relative| border(ratio, relative));
        rows.push(row(&without_zeros(&fixed(ratio, 3)), &cells));
    }
    Ok(table(
        &format!(
            "The border between shunt-through and series-through for a resistor, on a reference \
             of {}",
            engineering(Z0.ohm(), "Ω", 2)
        ),
        &[
            "Error in series, over that in shunt",
            "Errors in proportion to the reading",
            "Errors of fixed size",
        ],
        &rows,
    ))
}

fn border(ratio: f64, relative: bool) -> String {
    let error = |size: f64| match relative {
        true => ReadingError {
            relative: size,
            absolute: 0.0,
        },
        false => ReadingError {
            relative: 0.0,
            absolute: size,
        },
    };
    let errors = [error(ANY_SIZE), error(ANY_SIZE), error(ANY_SIZE * ratio)];
    let pair = [Fixture::ShuntThrough, Fixture::SeriesThrough];
    let found: Vec<Crossover> = Merits::of_errors(errors, Z0)
        .crossovers(0.0)
        .into_iter()
        .filter(|crossover| crossover.between == pair)
        .collect();
    match found[..] {
        [] => "none".to_owned(),
        _ => {
            let ohms: Vec<String> = found
                .iter()
                .map(|crossover| engineering(crossover.ohm, "Ω", 3))
                .collect();
            ohms.join(", ")
        }
    }
}

/// `stray-borders`, then `L, C` one pair a line: |Z| at which an inductance to ground and a
/// capacitance across the gap spoil their fixtures equally.
pub(crate) fn stray_borders(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected stray-borders and nothing more, with \"L, C\" below")?;
    let mut rows = Vec::new();
    for (index, line) in block.lines() {
        let of = |text: &str, unit| {
            above_zero(text.trim(), unit).map_err(|error| block.body_error(index, error))
        };
        let Some((l, c)) = line.split_once(',') else {
            return Err(block.body_error(index, "expected L, C, as in 1 nH, 0.1 pF"));
        };
        let (l, c) = (of(l, Unit::Henry)?, of(c, Unit::Farad)?);
        rows.push(row(
            &engineering(l, "H", 2),
            &[engineering(c, "F", 2), engineering((l / c).sqrt(), "Ω", 3)],
        ));
    }
    Ok(table(
        "Where strays that are left in spoil the two through fixtures equally, at every frequency",
        &["Way to ground", "Gap", "Border"],
        &rows,
    ))
}
