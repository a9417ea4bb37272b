//! `near-open SIGMA`, then one resistor a line: what becomes of mean and standard deviation of Z in
//! reflect when the reading comes near that of an open.

use jigwise_bench::{
    Complex64, Covariance, Coverage, DiscImage, Draws, Fixture, Immittance, ReferenceImpedance,
    coverage_region, distance_from_pole, engineering, range,
};
use jigwise_quantity::significant;
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};
use crate::words::{NONE, or_none};

/// A few readings, and very many of them.
const DRAWS: [usize; 2] = [1_000, 100_000];
const SEED: u64 = 22;
const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

pub(crate) fn near_open(block: &Block<'_>) -> Result<Markup, BlockError> {
    let sigma = match block.words[..] {
        [word] => word.parse::<f64>().ok().filter(|sigma| *sigma > 0.0),
        _ => None,
    };
    let Some(sigma) = sigma else {
        return Err(block.error("expected near-open SIGMA, as in near-open 0.01"));
    };
    let mut rows = Vec::new();
    for (index, line) in block.lines() {
        let ohm = jigwise_bench::above_zero(line, jigwise_bench::Unit::Ohm)
            .map_err(|error| block.body_error(index, error))?;
        let part = Immittance::from_impedance(Complex64::new(ohm, 0.0))
            .map_err(|error| block.body_error(index, error))?;
        rows.push(of_part(ohm, part, sigma));
    }
    Ok(table(
        &format!(
            "Resistors in reflect; each component of S11 scatters by σ = {sigma}; reference {}; \
             ± is 95\u{202f}%; draws with seed {SEED}",
            engineering(Z0.ohm(), "Ω", 2)
        ),
        &[
            "True R",
            "Distance from the open",
            "GUM: R ± 2 u",
            "Exact 95 % region along R",
            "σ of R from 1000 draws",
            "σ of R from 100 000 draws",
        ],
        &rows,
    ))
}

fn of_part(ohm: f64, part: Immittance, sigma: f64) -> Markup {
    let scatter = Covariance {
        re: sigma * sigma,
        im: sigma * sigma,
        cross: 0.0,
    };
    let t0 = distance_from_pole(Fixture::Reflect, part, Z0).unwrap_or(f64::NAN);
    let u = Fixture::Reflect.relative_sensitivity(part, Z0) * ohm * sigma;
    let region = coverage_region(Fixture::Reflect, part, Z0, scatter, Coverage::P95);
    let region = match region {
        Some(DiscImage::Inside { center, radius }) => {
            range(center.re - radius, center.re + radius, "Ω")
        }
        Some(DiscImage::Outside { center, radius }) => {
            format!("above {}", engineering(center.re + radius, "Ω", 2))
        }
        _ => NONE.to_owned(),
    };
    let drawn = DRAWS.map(|count| or_none(deviation(part, sigma, count)));
    row(
        &engineering(ohm, "Ω", 3),
        &[
            format!("{}\u{202f}σ", significant(t0 / sigma, 3)),
            format!(
                "{} ± {}",
                engineering(ohm, "Ω", 3),
                engineering(2.0 * u, "Ω", 2)
            ),
            region,
            drawn[0].clone(),
            drawn[1].clone(),
        ],
    )
}

/// The standard deviation of R over so many drawn readings.
fn deviation(part: Immittance, sigma: f64, count: usize) -> Option<String> {
    let reading = Fixture::Reflect.reading(part, Z0).value()?;
    let mut draws = Draws::new(SEED);
    let (mut sum, mut squares) = (0.0, 0.0);
    for _ in 0..count {
        let s = reading + Complex64::new(sigma * draws.normal(), sigma * draws.normal());
        let ohm = Fixture::Reflect.immittance(s, Z0).ok()?.impedance()?.re;
        sum += ohm;
        squares += ohm * ohm;
    }
    let n = count as f64;
    let variance = (squares - sum * sum / n) / (n - 1.0);
    Some(engineering(variance.sqrt(), "Ω", 2))
}
