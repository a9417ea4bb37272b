//! Tables of a reduced measurement.

use jigwise_bench::words::fixture_key;
use jigwise_bench::{
    Equivalents, Fixture, Goodness, PartQuantity, complex_ohm, engineering, fixed, percent,
    with_spread,
};
use jigwise_quantity::unsigned_percent;
use jigwise_reduce::{
    COVERAGE_FACTOR as K, RESIDUALS_ARE_CONSTANT, Recipe, ReducedPoint, value_words,
};
use maud::{Markup, html};

use super::measured::{Measured, hertz};
use crate::block::{Block, BlockError};
use crate::markup::{paragraph, row, table};
use crate::words::{NONE, or_none};

const DIGITS: usize = 4;

/// L or C with its uncertainty at k = 2 where there is one.
fn as_part(point: &ReducedPoint) -> String {
    let value = Equivalents::new(point.device, point.freq_hz).ok();
    let coil = value.and_then(|seen| seen.series_inductance_h());
    let capacitor = value.and_then(|seen| seen.series_capacitance_f());
    let Some((value, unit)) = coil
        .map(|henry| (henry, "H"))
        .or(capacitor.map(|farad| (farad, "F")))
    else {
        return NONE.to_owned();
    };
    let shown = match (point.uncertainty_ohm(), point.device.impedance()) {
        // L goes with X and C with 1/X, so both have its relative uncertainty.
        (Some((_, u_x)), Some(z)) => with_spread(value, K * value * u_x / z.im.abs(), unit),
        _ => engineering(value, unit, DIGITS),
    };
    if unit == "H" {
        shown
    } else {
        format!("a capacitor, {shown}")
    }
}

/// `steps`: one frequency, a row for each stage on the way from the file to the part.
pub(crate) fn steps(block: &Block<'_>, measured: &Measured) -> Result<Markup, BlockError> {
    let [index] = measured.points(block)?[..] else {
        return Err(block.error("expected one frequency, as in at 1 MHz"));
    };
    let standards = measured.recipe.standards.clone();
    let mut stages = vec![("The file as it stands", Recipe::default())];
    if standards.is_some() {
        let corrected = Recipe {
            standards,
            ..Recipe::default()
        };
        stages.push(("Corrected by the standards", corrected));
    }
    if !measured.recipe.blanks.is_empty() {
        let without = Recipe {
            budget: None,
            ..measured.recipe.clone()
        };
        let taken_off = match measured.fixture {
            Fixture::SeriesThrough => "Empty gap taken off, too",
            Fixture::ShuntThrough => "Shorted branch taken off, too",
            Fixture::Reflect => "Both blanks taken off, too",
        };
        stages.push((taken_off, without));
    }
    let mut rows = Vec::new();
    for (label, recipe) in &stages {
        let point = measured
            .reducer(block, recipe)?
            .point(index)
            .map_err(|error| block.error(error))?;
        let z = point.device.impedance();
        rows.push(row(
            label,
            &[
                z.map_or("an open".to_owned(), |z| complex_ohm(z, DIGITS)),
                or_none(
                    point
                        .magnitude_ohm()
                        .map(|ohm| engineering(ohm, "Ω", DIGITS)),
                ),
                as_part(&point),
            ],
        ));
    }
    Ok(table(
        &format!(
            "{} in {} at {}, stage by stage",
            measured.name,
            fixture_key(measured.fixture),
            engineering(measured.sweep.frequency_hz()[index], "Hz", 4)
        ),
        &["", "Z", "|Z|", "Inductance"],
        &rows,
    ))
}

/// `fit`: the values of the circuit found, k = 2, and how well it follows the readings.
pub(crate) fn fit(block: &Block<'_>, measured: &Measured) -> Result<Markup, BlockError> {
    let findings = measured.findings(block)?;
    let Some((model, found)) = findings.values() else {
        return Err(block.error(format!("no circuit to show: {}", findings.why)));
    };
    let mut rows: Vec<Markup> = found
        .values
        .iter()
        .map(|value| {
            row(
                value.quantity.symbol(),
                &[
                    value_words(value, findings.has_budget),
                    or_none(
                        (!value.holds_zero(K)).then(|| unsigned_percent(K * value.u / value.value)),
                    ),
                ],
            )
        })
        .collect();
    for refused in &found.refused {
        let cells = ["not told".to_owned(), refused.why.to_string()];
        rows.push(row(refused.quantity.symbol(), &cells));
    }
    let caption = format!(
        "{} in {}{}, described as {}; {}, k = 2",
        measured.name,
        fixture_key(measured.fixture),
        if measured.recipe.blanks.is_empty() {
            ""
        } else {
            ", its blank taken off"
        },
        model.words(),
        measured.instrument_words()
    );
    let values = table(&caption, &["", "Value", "± as a share of it"], &rows);
    let Some(goodness) = found.goodness else {
        return Ok(values);
    };
    let tied = found
        .correlation(PartQuantity::Inductance, PartQuantity::WindingCapacitance)
        .map_or(String::new(), |r| {
            format!(
                " L and the capacitance across it are correlated by {}.",
                fixed(r, 2)
            )
        });
    Ok(html! {
        (values)
        (paragraph("How well it fits", &format!("{}{tied}", fits(&goodness))))
    })
}

/// `stated`: the values as a report states them.
pub(crate) fn stated(block: &Block<'_>, measured: &Measured) -> Result<Markup, BlockError> {
    let findings = measured.findings(block)?;
    let Some((model, found)) = findings.values() else {
        return Err(block.error(format!("no circuit to state: {}", findings.why)));
    };
    let values: Vec<String> = found
        .values
        .iter()
        .map(|value| {
            format!(
                "{} = {}",
                value.quantity.symbol(),
                value_words(value, findings.has_budget)
            )
        })
        .collect();
    let all = measured.sweep.frequency_hz();
    let (by_blank, by_fit) = (measured.left_out(block)?, found.left_out);
    Ok(paragraph(
        "Result",
        &format!(
            "{}; k = 2, about 95\u{202f}%. Described as {} from {} of {} points between {} and {}{}, \
             in {}; {}.",
            values.join("; "),
            model.words(),
            all.len() - by_fit - by_blank,
            all.len(),
            hertz(all[0]),
            hertz(all[all.len() - 1]),
            left_out(by_blank, by_fit),
            fixture_key(measured.fixture),
            measured.instrument_words()
        ),
    ))
}

/// How many points a statement rests on no more, and why.
fn left_out(by_blank: usize, by_fit: usize) -> String {
    let mut reasons = Vec::new();
    if by_blank > 0 {
        reasons.push(format!("the blank leaves out {by_blank}"));
    }
    if by_fit > 0 {
        reasons.push(format!("the fit leaves out {by_fit} too near an open"));
    }
    if reasons.is_empty() {
        return String::new();
    }
    format!(" ({})", reasons.join(", "))
}

/// χ² in words.
fn fits(goodness: &Goodness) -> String {
    let ratio = goodness.chi_square / f64::from(goodness.degrees_of_freedom);
    let chance = match goodness.p {
        Some(p) => format!(
            " Noise alone gives that much or more in {} of all sweeps. {RESIDUALS_ARE_CONSTANT}",
            unsigned_percent(p)
        ),
        None => String::new(),
    };
    format!(
        "χ² is {} with {} degrees of freedom, {} for each.{chance} The largest miss is {} at {}.",
        fixed(goodness.chi_square, 0),
        goodness.degrees_of_freedom,
        fixed(ratio, 2),
        engineering(goodness.worst_ohm, "Ω", 2),
        hertz(goodness.worst_hz)
    )
}

/// `apparent`: what single points say of the value, beside the circuit's.
pub(crate) fn apparent(block: &Block<'_>, measured: &Measured) -> Result<Markup, BlockError> {
    let findings = measured.findings(block)?;
    let values = findings.values().and_then(|(_, found)| {
        let inductance = found.value(PartQuantity::Inductance)?.value;
        // The law below is that of a lossless coil.
        let resonance = found
            .value(PartQuantity::LcResonance)
            .or_else(|| found.value(PartQuantity::SelfResonance))?;
        Some((inductance, resonance.value))
    });
    let Some((inductance, resonance_hz)) = values else {
        return Err(block.error(
            "the readings tell no inductance with a self-resonance; choose another measurement",
        ));
    };
    let reducer = measured.reducer(block, &measured.recipe)?;
    let mut rows = Vec::new();
    for index in measured.points(block)? {
        let point = reducer.point(index).map_err(|error| block.error(error))?;
        let share = point.freq_hz / resonance_hz;
        let [off, law] = match point.inductance_h() {
            Some(henry) => {
                [henry / inductance, 1.0 / (1.0 - share * share)].map(|ratio| percent(ratio - 1.0))
            }
            None => ["no inductor there", NONE].map(str::to_owned),
        };
        let magnitude = point.magnitude_ohm();
        rows.push(row(
            &format!("{}, {} of f0", hertz(point.freq_hz), fixed(share, 2)),
            &[
                or_none(magnitude.map(|ohm| engineering(ohm, "Ω", 3))),
                as_part(&point),
                off,
                law,
            ],
        ));
    }
    Ok(table(
        &format!(
            "{} point by point, k = 2, against the L of the fit; f0 = {}",
            measured.name,
            engineering(resonance_hz, "Hz", 4)
        ),
        &["At", "|Z|", "Reads as", "Off by", "1/(1 − (f/f0)²) says"],
        &rows,
    ))
}
