//! What several calibrations with the same standards make of one part.

use jigwise_bench::words::{fixture_key, sigma};
use jigwise_bench::{Bench, Device, Immittance, Scenario, complex_ohm};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};
use crate::weighed::Weighed;
use crate::words::or_none;

/// The number of the calibration that leaves nothing over.
pub(crate) const PERFECT: u64 = 0;
/// More calibrations than these make no clearer picture.
const MAX_CALIBRATIONS: u64 = 20;

/// `calibrations FIXTURE SCENARIO COUNT`: what each of so many calibrations makes of the part
/// before and after the nudge.
pub(crate) fn calibrations(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [fixture, name, count] = block.words[..] else {
        return Err(block.error(
            "expected calibrations FIXTURE SCENARIO COUNT, as in calibrations series-through \
             anode-resistor 5",
        ));
    };
    let fixture = block.fixture(fixture)?;
    let count = calibration_number(block, count)?;
    let seen = Weighed::new(block, name)?;
    let no_nudge = || {
        block.error(format!(
            "the nudge of scenario \"{name}\" means nothing here"
        ))
    };
    let after = seen.bench.nudge().applied_to(seen.bench.device());
    let nudged = block.bench(&Scenario {
        device: Device::Fixed(after.impedance().ok_or_else(no_nudge)?),
        ..seen.scenario.clone()
    })?;
    let mut rows = Vec::new();
    for number in PERFECT..=count {
        let residuals = seen.bench.calibration(number);
        let clouds = seen
            .bench
            .clouds(fixture, &residuals)
            .ok_or_else(no_nudge)?;
        let ohms = |bench: &Bench| {
            let back = bench.got_back_after(fixture, &residuals);
            or_none(
                back.and_then(Immittance::impedance)
                    .map(|z| complex_ohm(z, 4)),
            )
        };
        let label = match number {
            PERFECT => "Perfect".to_owned(),
            number => number.to_string(),
        };
        rows.push(row(
            &label,
            &[
                ohms(&seen.bench),
                ohms(&nudged),
                format!("{}\u{202f}σ", sigma(clouds.separation_sigma)),
            ],
        ));
    }
    Ok(table(
        &format!(
            "Ohms got back in {} after each calibration. {}",
            fixture_key(fixture),
            seen.setting()
        ),
        &["Calibration", "Before", "After", "Apart"],
        &rows,
    ))
}

pub(crate) fn calibration_number(block: &Block<'_>, word: &str) -> Result<u64, BlockError> {
    word.parse()
        .ok()
        .filter(|count| (1..=MAX_CALIBRATIONS).contains(count))
        .ok_or_else(|| {
            block.error(format!(
                "\"{word}\" is no number of a calibration, expected 1 to {MAX_CALIBRATIONS}"
            ))
        })
}
