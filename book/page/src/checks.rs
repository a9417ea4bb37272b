//! `checks`, then one scenario a line: what the standards and the part read after each
//! calibration, with nothing else connected than what the calibration was made with.

use jigwise_bench::{
    Complex64, Device, Fixture, Measurement, Scenario, angle, fixed, plain_complex,
};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::listed::{DIGITS, Listed, RIGHT, ohms};
use crate::markup::{row, table};
use crate::words::{NONE, or_none};

pub(crate) fn checks(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected checks and nothing more, with scenarios below")?;
    let listed = Listed::all(block)?;
    let z0 = listed[0].scenario.reference.ohm();
    let rows = listed
        .iter()
        .map(|line| check(block, line, z0))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(table(
        &format!(
            "What ideal pieces and a known part, {}, show after each calibration",
            listed[0].part()
        ),
        &[
            "",
            "An open",
            "A short",
            "A perfect load",
            "S21 − S11, shunt",
            "S21 + S11, series",
            "The part in reflect",
        ],
        &rows,
    ))
}

fn check(block: &Block<'_>, line: &Listed, z0: f64) -> Result<Markup, BlockError> {
    let scenario = &line.scenario;
    if scenario.calibration.is_none() {
        let name = scenario.title.as_deref().unwrap_or(&line.label);
        return Err(block.error(format!(
            "\"{name}\" has no calibration to check; give it a [calibration] with a method"
        )));
    }
    let read = |device: Device| -> Result<Option<Complex64>, BlockError> {
        let bench = block.bench(&Scenario {
            device,
            ..scenario.clone()
        })?;
        Ok(bench.readout().of(Fixture::Reflect).reading)
    };
    let load = read(Device::Fixed(z0.into()))?;
    Ok(row(
        &line.label,
        &[
            or_none(read(Device::Open)?.map(|s| polar(s, false))),
            or_none(read(Device::Short)?.map(|s| polar(s, true))),
            or_none(load.map(level)),
            sum(block, scenario, Fixture::ShuntThrough)?,
            sum(block, scenario, Fixture::SeriesThrough)?,
            ohms(line.readout.of(Fixture::Reflect).got_back),
        ],
    ))
}

/// S21 − S11 in shunt-through and S21 + S11 in series-through: one for any lumped part.
fn sum(block: &Block<'_>, scenario: &Scenario, fixture: Fixture) -> Result<String, BlockError> {
    let measured = Measurement::of(scenario, fixture).map_err(|error| block.error(error))?;
    let Some(point) = measured.points.first() else {
        return Ok(NONE.to_owned());
    };
    let s = point.corrected;
    let sum = match fixture {
        Fixture::ShuntThrough => s.s21 - s.s11,
        _ => s.s21 + s.s11,
    };
    Ok(if sum.im.abs() < RIGHT {
        fixed(sum.re, DIGITS - 1)
    } else {
        plain_complex(sum, DIGITS)
    })
}

/// Size and angle; the angle of a short from 180° down, so that none reads −180°.
fn polar(s: Complex64, from_short: bool) -> String {
    let mut deg = s.arg().to_degrees();
    if from_short && deg < 0.0 {
        deg += 360.0;
    }
    format!("{} at {}", fixed(s.norm(), 4), angle(deg, 2))
}

fn level(s: Complex64) -> String {
    const FAR_DOWN_DB: f64 = -120.0;
    let db = 20.0 * s.norm().log10();
    if db < FAR_DOWN_DB {
        format!("below {}\u{202f}dB", fixed(FAR_DOWN_DB, 0))
    } else {
        format!("{}\u{202f}dB", fixed(db, 1))
    }
}
