//! `plane BLANK PART`: the delay of an arm from a sweep of its empty end, and the plane moved
//! by it, so that the part is read where it sits.

use jigwise_bench::{
    Complex64, Device, Fixture, Immittance, Line, PlaneBlank, PortExtension,
    SPEED_OF_LIGHT_M_PER_S, Scenario, SweepPlan, complex_ohm, engineering, fixed,
};
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::markup::{paragraph, text_steps, worked};
use crate::words::title;

/// The search for the delay goes up to this many times that of the arm.
const MAX_DELAY_SHARE: f64 = 4.0;
/// An arm without length still needs something to search, s.
const MIN_DELAY_S: f64 = 1e-12;

pub(crate) fn plane(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [blank, name] = block.words[..] else {
        return Err(block.error("expected plane BLANK PART, as in plane arm-open arm-part"));
    };
    let (empty, full) = (block.scenario(blank)?, block.scenario(name)?);
    let plan = match (&empty.device, empty.sweep) {
        (Device::Open, Some(plan)) => plan,
        _ => {
            return Err(block.error(format!(
                "scenario \"{blank}\" is no open with a [sweep]; choose one that is"
            )));
        }
    };
    let line = full.fixtures.strays.before;
    let extension = extension(block, &empty, &plan, &line)?;
    let delay_s = extension.one_way_delay_s;
    let hz = full
        .readout_hz()
        .ok_or_else(|| block.error(format!("scenario \"{name}\" has no frequency")))?;
    let reading = read(block, &full, hz)?;
    let at_part = extension
        .reflection(reading, hz)
        .map_err(|error| block.error(error))?;
    let one_way = extension.exponent(hz).map_err(|error| block.error(error))?;
    let steps = [
        format!(
            "The end is left empty and swept from {} to {}. The angle falls in a straight line: \
             {} one way.",
            engineering(plan.from_hz, "Hz", 3),
            engineering(plan.to_hz, "Hz", 3),
            engineering(delay_s, "s", 4)
        ),
        format!(
            "With a velocity factor of {} that is {}.",
            fixed(line.velocity_factor, 2),
            engineering(
                delay_s * line.velocity_factor * SPEED_OF_LIGHT_M_PER_S,
                "m",
                3
            )
        ),
        format!(
            "At {} a reflection turns by {}° on the way there and back.",
            engineering(hz, "Hz", 3),
            fixed((2.0 * one_way.im).to_degrees(), 1)
        ),
        format!(
            "Where the calibration ends the part reads {}.",
            ohms(&full, reading)
        ),
    ];
    let title = title(&full);
    let result = format!(
        "Turned back by that angle it reads {}.",
        ohms(&full, at_part)
    );
    Ok(worked(
        &format!("Plane moved: {title}"),
        html! {
            (paragraph("Given", &format!("{title}.")))
            (text_steps(&steps))
            (paragraph("Result", &result))
        },
    ))
}

/// The delay of the arm from the readings of its empty end.
fn extension(
    block: &Block<'_>,
    empty: &Scenario,
    plan: &SweepPlan,
    line: &Line,
) -> Result<PortExtension, BlockError> {
    let delay_s = line.one_way_delay_s().map_err(|error| block.error(error))?;
    let points = plan
        .freq_hz()
        .into_iter()
        .map(|hz| Ok((hz, read(block, empty, hz)?)))
        .collect::<Result<Vec<_>, BlockError>>()?;
    let most_s = MAX_DELAY_SHARE * delay_s.max(MIN_DELAY_S);
    PortExtension::from_blank(PlaneBlank::Open, &points, most_s)
        .map(|found| found.extension)
        .map_err(|error| block.error(error))
}

/// S11 of a scenario at a frequency.
fn read(block: &Block<'_>, scenario: &Scenario, hz: f64) -> Result<Complex64, BlockError> {
    let bench = block.bench(&Scenario {
        freq_hz: Some(hz),
        ..scenario.clone()
    })?;
    let s = bench.readout().of(Fixture::Reflect).reading;
    s.ok_or_else(|| block.error("no reading at the arm"))
}

fn ohms(scenario: &Scenario, reading: Complex64) -> String {
    Fixture::Reflect
        .immittance(reading, scenario.reference)
        .ok()
        .and_then(Immittance::impedance)
        .map_or("an open".to_owned(), |z| complex_ohm(z, 4))
}
