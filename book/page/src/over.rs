//! A part over frequency: its curve, and the fixture that is best for it.

use jigwise_bench::scene::SpectrumFrame;
use jigwise_bench::words::fixture_key;
use jigwise_bench::{Coverage, Fixture, Scenario, SweepPlan, angle, engineering};
use jigwise_quantity::unsigned_percent;
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{figure, row, table};
use crate::words::{or_none, part, title};

const SIZE: [f64; 2] = [420.0, 340.0];
/// Rows of the table of best fixtures.
const ROWS: usize = 8;

/// `over SCENARIO`, then fixtures whose ohms got back are drawn beside the part.
pub(crate) fn curve(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [name, ref fixtures @ ..] = block.words[..] else {
        return Err(block.error("expected over SCENARIO, as in over bypass-capacitor"));
    };
    let frame = SpectrumFrame {
        size: SIZE,
        fixtures: fixtures
            .iter()
            .map(|word| block.fixture(word))
            .collect::<Result<_, _>>()?,
    };
    let scene = frame
        .scene(&block.scenario(name)?)
        .map_err(|error| block.error(error))?;
    Ok(figure(&scene, &block.id))
}

/// `best-over SCENARIO`: the best fixture for the value at some frequencies of its sweep.
pub(crate) fn best(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [name] = block.words[..] else {
        return Err(block.error("expected best-over SCENARIO, as in best-over filter-coil"));
    };
    let scenario = block.scenario(name)?;
    let sweep = scenario.sweep.ok_or_else(|| {
        block.error(format!(
            "scenario \"{name}\" has no [sweep]; choose another, or give it one"
        ))
    })?;
    let some = SweepPlan {
        points: ROWS,
        ..sweep
    };
    let rows = some
        .freq_hz()
        .into_iter()
        .map(|hz| best_at(block, name, &scenario, hz))
        .collect::<Result<Vec<_>, _>>()?;
    let instrument = scenario.instrument.as_ref();
    Ok(table(
        &format!(
            "{}, {}: ± of the value at 95\u{202f}% in each fixture, without strays; instrument: {} \
             (invented)",
            title(&scenario),
            part(&scenario.device),
            instrument.map_or("none", |instrument| instrument.name.as_str())
        ),
        &[
            "At",
            "|Z|",
            "Phase",
            "Reflect",
            "Shunt-through",
            "Series-through",
            "Best for the value",
        ],
        &rows,
    ))
}

fn best_at(
    block: &Block<'_>,
    name: &str,
    scenario: &Scenario,
    hz: f64,
) -> Result<Markup, BlockError> {
    let bench = block.bench(&Scenario {
        freq_hz: Some(hz),
        ..scenario.clone()
    })?;
    let readout = bench.readout();
    let without = || {
        block.error(format!(
            "scenario \"{name}\" has no instrument, or a part that it can't weigh; give it an \
             [instrument] table"
        ))
    };
    let appraisal = readout.appraisal.ok_or_else(without)?;
    let z = readout.device.impedance().ok_or_else(without)?;
    let within = |fixture: Fixture| {
        let e = appraisal.of(fixture).figure_of_merit;
        or_none(e.map(|e| unsigned_percent(Coverage::P95.radius_in_rms() * e)))
    };
    let mut cells = vec![
        engineering(z.norm(), "Ω", 3),
        angle(z.arg().to_degrees(), 1),
    ];
    cells.extend(Fixture::ALL.map(within));
    let best = appraisal.best_for_value;
    cells.push(best.map_or("none", fixture_key).to_owned());
    Ok(row(&engineering(hz, "Hz", 4), &cells))
}
