//! Lengths: how far a millimetre turns the phase, what a wire has in inductance, and the plane
//! moved to the end of an arm.

use jigwise_bench::{
    Bench, Device, Fixture, Immittance, Line, PlaneBlank, PortExtension, Scenario, Unit,
    complex_ohm, engineering, fixed, parse_value,
};

use super::Block;
use super::got_back::{headings, line};
use super::table::table;
use super::worked::paragraph;
use crate::page::{PageError, escaped};

/// Frequencies of the table of a millimetre.
const FREQUENCIES_HZ: [f64; 5] = [1e6, 10e6, 100e6, 430e6, 1e9];
/// How much longer than the arm the search for its delay goes.
const LONGEST: f64 = 4.0;

/// `millimetre VELOCITY-FACTOR`: what one millimetre of line does to the phase.
pub(super) fn millimetre(block: &Block<'_>) -> Result<String, PageError> {
    let [word] = block.words[..] else {
        return Err(block.error("expected millimetre VELOCITY-FACTOR, as in millimetre 0.7"));
    };
    let velocity_factor = parse_value(word, Unit::One).map_err(|error| block.error(error))?;
    let millimetre = Line {
        length_m: 1e-3,
        velocity_factor,
        ..Line::NONE
    };
    let mut body = String::new();
    for hz in FREQUENCIES_HZ {
        let deg = millimetre
            .one_way_degrees(hz)
            .map_err(|error| block.error(error))?;
        // A short behind the millimetre is a small coil.
        let as_coil = millimetre
            .network(hz)
            .map_err(|error| block.error(error))?
            .map()
            .apply(Immittance::SHORT.ratio());
        let henry = as_coil.value().map(|z| z.im / (std::f64::consts::TAU * hz));
        body.push_str(&line(
            &engineering(hz, "Hz", 3),
            &[
                format!("{}°", small(deg)),
                format!("{}°", small(2.0 * deg)),
                henry.map_or("–".to_owned(), |henry| engineering(henry, "H", 3)),
            ],
        ));
    }
    let delay = millimetre
        .one_way_delay_s()
        .map_err(|error| block.error(error))?;
    Ok(table(
        &format!(
            "One millimetre of {} line with a velocity factor of {}: {} one way",
            engineering(millimetre.zc_ohm, "Ω", 2),
            fixed(velocity_factor, 2),
            engineering(delay, "s", 2)
        ),
        &headings(
            &[
                "At",
                "S21 turns by",
                "S11 turns by",
                "A short behind it is a coil of",
            ]
            .map(str::to_owned),
        ),
        &body,
    ))
}

/// Three significant digits of an angle in degrees.
fn small(deg: f64) -> String {
    let leading = deg.abs().log10().floor() as i32;
    fixed(deg, (2 - leading).max(0) as usize)
}

/// `wire`, then one wire a line, length and diameter: its inductance.
///
/// L = 0.2·l·(ln(4l/d) − 1) nH with l in mm, at high frequency: F. W. Grover, Inductance
/// Calculations, 1947.
pub(super) fn wire(block: &Block<'_>) -> Result<String, PageError> {
    if !block.words.is_empty() {
        return Err(block.error("expected wire and nothing more, with lengths below"));
    }
    let mut body = String::new();
    for (index, text) in block.fence.body.lines().enumerate() {
        if text.trim().is_empty() {
            continue;
        }
        let form = || block.body_error(index, "expected LENGTH, DIAMETER, as in 5 mm, 0.5 mm");
        let (length, diameter) = text.split_once(',').ok_or_else(form)?;
        let metre = |text: &str| {
            parse_value(text.trim(), Unit::Metre).map_err(|error| block.body_error(index, error))
        };
        let (length_m, diameter_m) = (metre(length)?, metre(diameter)?);
        let henry = wire_inductance_h(length_m, diameter_m).ok_or_else(|| {
            block.body_error(
                index,
                "a wire is longer than it is thick; give the length first",
            )
        })?;
        body.push_str(&line(
            &format!(
                "{} long, {} thick",
                engineering(length_m, "m", 2),
                engineering(diameter_m, "m", 1)
            ),
            &[
                engineering(henry, "H", 3),
                format!("{}/mm", engineering(henry / (length_m / 1e-3), "H", 2)),
                engineering(std::f64::consts::TAU * 100e6 * henry, "Ω", 2),
            ],
        ));
    }
    if body.is_empty() {
        return Err(block.error("no wire; give length and diameter, one wire a line"));
    }
    Ok(table(
        "Straight round wire at high frequency",
        &headings(
            &[
                "Wire",
                "Inductance",
                "For each millimetre",
                "Reactance at 100 MHz",
            ]
            .map(str::to_owned),
        ),
        &body,
    ))
}

fn wire_inductance_h(length_m: f64, diameter_m: f64) -> Option<f64> {
    const HENRY_PER_METRE: f64 = 2e-7;
    let henry = HENRY_PER_METRE * length_m * ((4.0 * length_m / diameter_m).ln() - 1.0);
    (length_m > diameter_m && diameter_m > 0.0).then_some(henry)
}

/// `plane BLANK PART`: the delay of an arm from a sweep of its empty end, and the plane moved
/// by it, so that the part is read where it sits.
pub(super) fn moved(block: &Block<'_>) -> Result<String, PageError> {
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
    let read = |scenario: &Scenario, hz: f64| -> Result<_, PageError> {
        let at = Scenario {
            freq_hz: Some(hz),
            ..scenario.clone()
        };
        let bench = Bench::new(&at).map_err(|error| block.error(error))?;
        let readout = bench.readout();
        let s = readout.of(Fixture::Reflect).reading;
        s.ok_or_else(|| block.error("no reading at the arm"))
    };
    let points = plan
        .freq_hz()
        .into_iter()
        .map(|hz| Ok((hz, read(&empty, hz)?)))
        .collect::<Result<Vec<_>, PageError>>()?;
    let line = full.fixtures.strays.before;
    let longest = LONGEST
        * line
            .one_way_delay_s()
            .map_err(|error| block.error(error))?
            .max(1e-12);
    let found = PortExtension::from_blank(PlaneBlank::Open, &points, longest)
        .map_err(|error| block.error(error))?;
    let hz = full
        .readout_hz()
        .ok_or_else(|| block.error(format!("scenario \"{name}\" has no frequency")))?;
    let reading = read(&full, hz)?;
    let ohms = |s| {
        Fixture::Reflect
            .immittance(s, full.reference)
            .ok()
            .and_then(Immittance::impedance)
            .map_or("an open".to_owned(), |z| complex_ohm(z, 4))
    };
    let at_part = found
        .extension
        .reflection(reading, hz)
        .map_err(|error| block.error(error))?;
    let delay_s = found.extension.one_way_delay_s;
    let turn_rad = 2.0
        * found
            .extension
            .exponent(hz)
            .map_err(|error| block.error(error))?
            .im;
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
                delay_s * line.velocity_factor * jigwise_bench::SPEED_OF_LIGHT_M_PER_S,
                "m",
                3
            )
        ),
        format!(
            "At {} a reflection turns by {}° on the way there and back.",
            engineering(hz, "Hz", 3),
            fixed(turn_rad.to_degrees(), 1)
        ),
        format!(
            "Where the calibration ends the part reads {}.",
            ohms(reading)
        ),
    ];
    let items: String = steps
        .iter()
        .map(|step| format!("<li>{}</li>", escaped(step)))
        .collect();
    let title = full.title.as_deref().unwrap_or("A part");
    Ok(format!(
        "<section class=\"worked\" aria-label=\"Plane moved: {}\">{}<ol>{items}</ol>{}</section>",
        escaped(title),
        paragraph("Given", &format!("{title}.")),
        paragraph(
            "Result",
            &format!("Turned back by that angle it reads {}.", ohms(at_part))
        ),
    ))
}

#[cfg(test)]
mod tests {
    use super::wire_inductance_h;

    /// F. W. Grover, Inductance Calculations, 1947, the formula at high frequency worked out by
    /// hand for 5/0.5 mm and 25/0.6 mm.
    #[test]
    fn a_wire_has_its_inductance() {
        for (mm, thick, nanohenry) in [(5.0, 0.5, 2.6889), (25.0, 0.6, 20.580)] {
            let found = 1e9 * wire_inductance_h(mm / 1e3, thick / 1e3).unwrap();
            assert!((found - nanohenry).abs() < 6e-4, "{found}");
        }
        assert_eq!(wire_inductance_h(1e-3, 2e-3), None);
    }
}
