//! `averaged`, then `name; value; u` one a line: several results for one number, compared and averaged
//! as one does by hand.

use jigwise_bench::{DOUBTFUL_P, REFUSED_P, Unit, above_zero, engineering, p_value, parse_value};
use jigwise_quantity::significant;
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::markup::{row, table, text_steps, worked};

const PARTED: char = ';';
const DIGITS: usize = 4;
/// A p below this is said to be so.
const SMALLEST_P: f64 = 1e-4;

struct OneResult {
    name: String,
    value: f64,
    u: f64,
}

fn read(block: &Block<'_>) -> Result<Vec<OneResult>, BlockError> {
    block.no_words("expected averaged and nothing more, with \"name; value; u\" below")?;
    let mut results = Vec::new();
    for (index, line) in block.lines() {
        let pieces: Vec<&str> = line.split(PARTED).map(str::trim).collect();
        let [name, value, u] = pieces[..] else {
            return Err(block.body_error(index, "expected name; value; u, in ohms"));
        };
        let refused = |error| block.body_error(index, error);
        results.push(OneResult {
            name: name.to_owned(),
            value: parse_value(value, Unit::Ohm).map_err(refused)?,
            u: above_zero(u, Unit::Ohm).map_err(refused)?,
        });
    }
    if results.len() < 2 {
        return Err(block.error("expected two results or more, one a line"));
    }
    Ok(results)
}

/// Weighted mean and the test of agreement (Birge): w = 1/u², χ² = Σ w(x − mean)².
pub(crate) fn averaged(block: &Block<'_>) -> Result<Markup, BlockError> {
    let results = read(block)?;
    let weights: Vec<f64> = results.iter().map(|one| one.u.powi(-2)).collect();
    let sum: f64 = weights.iter().sum();
    let mean = results
        .iter()
        .zip(&weights)
        .map(|(one, weight)| one.value * weight)
        .sum::<f64>()
        / sum;
    let u = sum.sqrt().recip();
    let chi_square: f64 = results
        .iter()
        .map(|one| ((one.value - mean) / one.u).powi(2))
        .sum();
    let freedom = results.len() as u32 - 1;
    let p = p_value(chi_square, freedom);
    let ohms = |value: f64| engineering(value, "Ω", DIGITS);
    let rows: Vec<Markup> = results
        .iter()
        .zip(&weights)
        .map(|(one, weight)| {
            row(
                &one.name,
                &[
                    ohms(one.value),
                    engineering(one.u, "Ω", 2),
                    format!("{}\u{202f}%", significant(100.0 * weight / sum, 3)),
                    significant((one.value - mean) / one.u, 3).replace('-', "−"),
                ],
            )
        })
        .collect();
    let steps = vec![
        format!("Weighted mean: {}.", ohms(mean)),
        format!(
            "Its u: 1/√(sum of 1/u²) = {}, if the errors of the results have nothing in common.",
            engineering(u, "Ω", 2)
        ),
        format!(
            "χ², the squares of the last column added: {}, with {} {} of freedom.",
            significant(chi_square, 3),
            freedom,
            if freedom == 1 { "degree" } else { "degrees" }
        ),
        match p < SMALLEST_P {
            true => format!("p is below {SMALLEST_P}. {}", verdict(p)),
            false => format!("p = {}. {}", significant(p, 2), verdict(p)),
        },
    ];
    let listed = table(
        "The results, their weights, and how far each lies from the weighted mean, in its own u",
        &["Result", "Value", "u", "Weight", "Off, in u"],
        &rows,
    );
    Ok(worked(
        "Averaged by hand",
        html! { (listed) (text_steps(&steps)) },
    ))
}

fn verdict(p: f64) -> String {
    if p < REFUSED_P {
        format!("That is below {REFUSED_P}: refuse the average; one of the results is wrong.")
    } else if p < DOUBTFUL_P {
        format!("That is below {DOUBTFUL_P}: look for the reason before you average.")
    } else {
        "The results agree as well as one can expect from their uncertainties: average.".to_owned()
    }
}
