//! Tables of a reduced measurement.

use jigwise_bench::percent;
use jigwise_bench::words::{cause, fixture_key};
use jigwise_bench::{
    Equivalents, Fixture, Goodness, LEFT_SHARE, PartQuantity, complex_ohm, engineering, fixed,
    with_spread,
};
use jigwise_reduce::{COVERAGE_FACTOR as K, Recipe, ReducedPoint, Source, model_words};

use super::Measured;
use crate::blocks::Block;
use crate::blocks::got_back::{headings, line};
use crate::blocks::table::table;
use crate::blocks::worked::paragraph;
use crate::page::PageError;

const DIGITS: usize = 4;
/// Causes below this share of the whole, in squares, are put together.
const SMALL: f64 = 0.01;

fn head(names: &[&str]) -> String {
    headings(
        &names
            .iter()
            .map(|name| (*name).to_owned())
            .collect::<Vec<_>>(),
    )
}

fn hertz(hz: f64) -> String {
    engineering(hz, "Hz", 3)
}

fn unsigned(share: f64) -> String {
    percent(share).trim_start_matches(['+', '−']).to_owned()
}

/// L or C with its uncertainty at k = 2 where there is one.
fn as_part(point: &ReducedPoint) -> String {
    let value = Equivalents::new(point.device, point.freq_hz).ok();
    let coil = value.and_then(|seen| seen.series_inductance_h());
    let capacitor = value.and_then(|seen| seen.series_capacitance_f());
    let Some((value, unit)) = coil
        .map(|henry| (henry, "H"))
        .or(capacitor.map(|farad| (farad, "F")))
    else {
        return "–".to_owned();
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
pub(super) fn steps(block: &Block<'_>, measured: &Measured) -> Result<String, PageError> {
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
    let mut body = String::new();
    for (label, recipe) in &stages {
        let point = measured
            .reducer(block, recipe)?
            .point(index)
            .map_err(|error| block.error(error))?;
        let z = point.device.impedance();
        body.push_str(&line(
            label,
            &[
                z.map_or("an open".to_owned(), |z| complex_ohm(z, DIGITS)),
                point
                    .magnitude_ohm()
                    .map_or("–".to_owned(), |ohm| engineering(ohm, "Ω", DIGITS)),
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
        &head(&["", "Z", "|Z|", "Inductance"]),
        &body,
    ))
}

/// `fit`: the values of the circuit found, k = 2, and how well it follows the readings.
pub(super) fn fit(block: &Block<'_>, measured: &Measured) -> Result<String, PageError> {
    let findings = measured.findings(block)?;
    let Some((model, found)) = findings.values() else {
        return Err(block.error(format!("no circuit to show: {}", findings.why)));
    };
    let mut body: String = found
        .values
        .iter()
        .map(|value| {
            line(
                value.quantity.symbol(),
                &[
                    with_spread(value.value, K * value.u, value.quantity.unit()),
                    unsigned(K * value.u / value.value),
                ],
            )
        })
        .collect();
    for refused in &found.refused {
        let cells = ["not told".to_owned(), refused.why.to_string()];
        body.push_str(&line(refused.quantity.symbol(), &cells));
    }
    let caption = format!(
        "{} in {}{}, described as {}; {}, k = 2",
        measured.name,
        fixture_key(measured.fixture),
        if measured.recipe.blanks.is_empty() {
            ""
        } else {
            " without its blank"
        },
        model_words(model),
        measured.instrument_words()
    );
    let values = table(&caption, &head(&["", "Value", "Of the value"]), &body);
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
    Ok(format!(
        "{values}{}",
        paragraph("How well it fits", &format!("{}{tied}", fits(&goodness)))
    ))
}

/// `stated`: the values as a report states them.
pub(super) fn stated(block: &Block<'_>, measured: &Measured) -> Result<String, PageError> {
    let findings = measured.findings(block)?;
    let Some((model, found)) = findings.values() else {
        return Err(block.error(format!("no circuit to state: {}", findings.why)));
    };
    let values: Vec<String> = found
        .values
        .iter()
        .map(|value| {
            let shown = with_spread(value.value, K * value.u, value.quantity.unit());
            format!("{} = {shown}", value.quantity.symbol())
        })
        .collect();
    let all = measured.sweep.frequency_hz();
    Ok(paragraph(
        "Result",
        &format!(
            "{}; k = 2, about 95\u{202f}%. Described as {} from {} points between {} and {}, \
             in {}; {}.",
            values.join(", "),
            model_words(model),
            all.len() - found.left_out - measured.left_out(block)?,
            hertz(all[0]),
            hertz(all[all.len() - 1]),
            fixture_key(measured.fixture),
            measured.instrument_words()
        ),
    ))
}

/// χ² in words.
fn fits(goodness: &Goodness) -> String {
    let ratio = goodness.chi_square / f64::from(goodness.degrees_of_freedom);
    let chance = match goodness.p {
        Some(p) => format!(
            " Noise alone gives that much or more in {} of all sweeps.",
            unsigned(p)
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
pub(super) fn apparent(block: &Block<'_>, measured: &Measured) -> Result<String, PageError> {
    let findings = measured.findings(block)?;
    let values = findings.values().and_then(|(_, found)| {
        let inductance = found.value(PartQuantity::Inductance)?.value;
        Some((inductance, found.value(PartQuantity::SelfResonance)?.value))
    });
    let Some((inductance, resonance_hz)) = values else {
        return Err(block.error(
            "the readings tell no inductance with a self-resonance; choose another measurement",
        ));
    };
    let reducer = measured.reducer(block, &measured.recipe)?;
    let mut body = String::new();
    for index in measured.points(block)? {
        let point = reducer.point(index).map_err(|error| block.error(error))?;
        let share = point.freq_hz / resonance_hz;
        let [off, law] = match point.inductance_h() {
            Some(henry) => {
                [henry / inductance, 1.0 / (1.0 - share * share)].map(|ratio| percent(ratio - 1.0))
            }
            None => ["no inductor there", "–"].map(str::to_owned),
        };
        let magnitude = point.magnitude_ohm();
        body.push_str(&line(
            &format!("{}, {} of f0", hertz(point.freq_hz), fixed(share, 2)),
            &[
                magnitude.map_or("–".to_owned(), |ohm| engineering(ohm, "Ω", 3)),
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
        &head(&["At", "|Z|", "Reads as", "Off by", "1/(1 − (f/f0)²) says"]),
        &body,
    ))
}

/// Where a cause's error is the same.
fn shared(source: Option<Source>) -> &'static str {
    match source {
        None => "nothing: new at each point",
        Some(Source::Removal) => "all points of this fixture",
        Some(Source::Cause { cause, .. }) if cause.is_of_calibration() => {
            "all that this calibration corrects"
        }
        Some(Source::Cause { .. }) => "all points of this connection",
    }
}

/// `causes`: the standard uncertainty of X by cause, and what each cause's error is shared by.
pub(super) fn causes(block: &Block<'_>, measured: &Measured) -> Result<String, PageError> {
    if measured.budget.is_none() {
        return Err(block.error("no instrument; give one, as in instrument club-bench"));
    }
    let input = measured.fit_input(block)?;
    let all = measured.sweep.frequency_hz();
    let mut at = Vec::new();
    for index in measured.points(block)? {
        let kept = input.freq_hz.iter().position(|hz| *hz == all[index]);
        at.push(kept.ok_or_else(|| {
            block.error(format!(
                "the point at {} has no uncertainty; choose another",
                hertz(all[index])
            ))
        })?);
    }
    // Squares of u(X) for each frequency, by what they come from.
    let mut rows: Vec<(String, Option<Source>, Vec<f64>)> = vec![(
        "noise".to_owned(),
        None,
        at.iter().map(|k| input.random[*k].im).collect(),
    )];
    for (source, steps) in input.sources.iter().zip(&input.shifts) {
        let name = match source {
            Source::Cause { cause: known, .. } => cause(*known),
            Source::Removal => "what the blank leaves",
        };
        let squares = at.iter().map(|k| steps[*k].im.powi(2));
        match rows.iter_mut().find(|(known, ..)| known == name) {
            Some((.., sums)) => sums.iter_mut().zip(squares).for_each(|(s, add)| *s += add),
            None => rows.push((name.to_owned(), Some(*source), squares.collect())),
        }
    }
    let total: Vec<f64> = (0..at.len())
        .map(|k| rows.iter().map(|(.., squares)| squares[k]).sum())
        .collect();
    let is_small = |squares: &[f64]| {
        squares
            .iter()
            .zip(&total)
            .all(|(part, all)| *part < SMALL * all)
    };
    let (small, mut large): (Vec<_>, Vec<_>) = rows
        .into_iter()
        .partition(|(.., squares)| is_small(squares));
    large.sort_by(|a, b| b.2[0].total_cmp(&a.2[0]));
    let cells = |squares: &[f64], last: &str| {
        let mut cells: Vec<String> = squares
            .iter()
            .zip(&at)
            .map(|(square, k)| {
                let u = square.sqrt();
                let share = u / input.z_ohm[*k].im.abs();
                format!("{}, {}", engineering(u, "Ω", 2), unsigned(share))
            })
            .collect();
        cells.push(last.to_owned());
        cells
    };
    let mut body: String = large
        .iter()
        .map(|(name, source, squares)| line(name, &cells(squares, shared(*source))))
        .collect();
    let rest: Vec<f64> = (0..at.len())
        .map(|k| small.iter().map(|(.., squares)| squares[k]).sum())
        .collect();
    if !small.is_empty() {
        body.push_str(&line("all others together", &cells(&rest, "–")));
    }
    body.push_str(&line("together, root of the squares", &cells(&total, "–")));
    let mut names = vec!["".to_owned()];
    names.extend(
        at.iter()
            .map(|k| format!("u(X) at {}", hertz(input.freq_hz[*k]))),
    );
    names.push("Shared by".to_owned());
    let left = if measured.recipe.blanks.is_empty() {
        String::new()
    } else {
        format!("; of the blank, {} is left", unsigned(LEFT_SHARE))
    };
    Ok(table(
        &format!(
            "Uncertainty of the reactance by cause, k = 1, and of X itself; {}{left}",
            measured.instrument_words()
        ),
        &headings(&names),
        &body,
    ))
}
