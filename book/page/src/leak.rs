//! `leak LEVEL`, with a part on each line: what the through fixtures make of it where the isolation
//! step of the calibration was left out.

use jigwise_bench::{Fixture, ReferenceImpedance, complex_ohm, engineering, percent};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::look_up::parts;
use crate::markup::{row, table};
use crate::words::NONE;

/// Of a leak x that the calibration took for a part of its through, x·(1 − S21) is left.
pub(crate) fn leak(block: &Block<'_>) -> Result<Markup, BlockError> {
    let level = match block.words[..] {
        [word] => word.parse::<f64>().ok().filter(|db| *db < 0.0),
        _ => None,
    };
    let Some(level_db) = level else {
        return Err(block.error("expected leak LEVEL in dB below zero, as in leak -60"));
    };
    let size = 10f64.powf(level_db / 20.0);
    let reference = ReferenceImpedance::FIFTY_OHM;
    let mut rows = Vec::new();
    for (name, part) in parts(block)? {
        let mut cells = Vec::new();
        for fixture in [Fixture::ShuntThrough, Fixture::SeriesThrough] {
            let got_back = fixture.reading(part, reference).value().and_then(|s| {
                let back = fixture.immittance(s + size * (1.0 - s), reference).ok()?;
                back.impedance()
            });
            cells.push(match (got_back, part.impedance()) {
                (Some(z), Some(own)) => {
                    let shown = match z.im == 0.0 {
                        true => engineering(z.re, "Ω", 4),
                        false => complex_ohm(z, 4),
                    };
                    format!("{shown}, {}", percent(z.norm() / own.norm() - 1.0))
                }
                _ => NONE.to_owned(),
            });
        }
        rows.push(row(&name, &cells));
    }
    Ok(table(
        &format!(
            "Ohms with a leak of {level_db}\u{202f}dB left in, in step with the wave, and how far they \
             are off; on a reference of {}",
            engineering(reference.ohm(), "Ω", 2)
        )
        .replace('-', "−"),
        &["Part", "Shunt-through", "Series-through"],
        &rows,
    ))
}
