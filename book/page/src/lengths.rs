//! Lengths: how far a millimetre turns the phase, and what a wire has in inductance.

use std::f64::consts::TAU;

use jigwise_bench::{Immittance, Line, Unit, engineering, fixed, parse_value};
use jigwise_quantity::significant;
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};
use crate::words::or_none;

/// Frequencies of the table of a millimetre.
const FREQUENCIES_HZ: [f64; 5] = [1e6, 10e6, 100e6, 430e6, 1e9];

/// `millimetre VELOCITY-FACTOR`: what one millimetre of line does to the phase.
pub(crate) fn millimetre(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [word] = block.words[..] else {
        return Err(block.error("expected millimetre VELOCITY-FACTOR, as in millimetre 0.7"));
    };
    let velocity_factor = parse_value(word, Unit::One).map_err(|error| block.error(error))?;
    let millimetre = Line {
        length_m: 1e-3,
        velocity_factor,
        ..Line::NONE
    };
    let mut rows = Vec::new();
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
        let henry = as_coil.value().map(|z| z.im / (TAU * hz));
        rows.push(row(
            &engineering(hz, "Hz", 3),
            &[
                format!("{}°", significant(deg, 3)),
                format!("{}°", significant(2.0 * deg, 3)),
                or_none(henry.map(|henry| engineering(henry, "H", 3))),
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
        &[
            "At",
            "S21 turns by",
            "S11 turns by",
            "A short behind it is a coil of",
        ],
        &rows,
    ))
}

/// `wire`, then one wire a line, length and diameter: its inductance.
///
/// L = 0.2·l·(ln(4l/d) − 1) nH with l in mm, at high frequency: F. W. Grover, Inductance
/// Calculations, 1947.
pub(crate) fn wire(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected wire and nothing more, with lengths below")?;
    let mut rows = Vec::new();
    for (index, text) in block.lines() {
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
        rows.push(row(
            &format!(
                "{} long, {} thick",
                engineering(length_m, "m", 2),
                engineering(diameter_m, "m", 1)
            ),
            &[
                engineering(henry, "H", 3),
                format!("{}/mm", engineering(henry / (length_m / 1e-3), "H", 2)),
                engineering(TAU * 100e6 * henry, "Ω", 2),
            ],
        ));
    }
    if rows.is_empty() {
        return Err(block.error("no wire; give length and diameter, one wire a line"));
    }
    Ok(table(
        "Straight round wire at high frequency",
        &[
            "Wire",
            "Inductance",
            "For each millimetre",
            "Reactance at 100 MHz",
        ],
        &rows,
    ))
}

/// The inductance of a straight round wire, H; `None` where it is thicker than long.
fn wire_inductance_h(length_m: f64, diameter_m: f64) -> Option<f64> {
    const HENRY_PER_METRE: f64 = 2e-7;
    let henry = HENRY_PER_METRE * length_m * ((4.0 * length_m / diameter_m).ln() - 1.0);
    (length_m > diameter_m && diameter_m > 0.0).then_some(henry)
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
