//! Tables to look up: readings and sensitivities of parts, levels and ratios, factors of coverage.

use jigwise_bench::{
    Complex64, Coverage, Device, Fixture, Immittance, ReferenceImpedance, Reflection, SEEN_SIGMA,
    engineering, fixed, magnitude_from_swr, plain_complex, without_zeros,
};
use jigwise_quantity::{significant, unsigned_percent};
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::markup::{row, table};
use crate::words::NONE;

const Z0: ReferenceImpedance = ReferenceImpedance::FIFTY_OHM;

/// The parts in the lines of a block, each with its name.
pub(crate) fn parts(block: &Block<'_>) -> Result<Vec<(String, Immittance)>, BlockError> {
    let mut parts = Vec::new();
    for (index, line) in block.lines() {
        let device: Device = line
            .parse()
            .map_err(|error| block.body_error(index, error))?;
        let at = device
            .immittance(None)
            .map_err(|error| block.body_error(index, error))?;
        parts.push((named(line, &device), at));
    }
    match parts.is_empty() {
        true => Err(block.error("no part; write some, one a line, as in 4.7k or 30 + j40")),
        false => Ok(parts),
    }
}

/// A resistance with all the digits it was given, anything else as it was typed.
fn named(line: &str, device: &Device) -> String {
    const ALL_DIGITS: usize = 8;
    match device.fixed_ohm() {
        Some(z) if z.im == 0.0 => without_zeros(&engineering(z.re, "Ω", ALL_DIGITS)),
        Some(_) => format!("{}\u{202f}Ω", line.replace('-', "−")),
        None => device.to_string(),
    }
}

/// A reading without the imaginary part of a real one.
fn reading(s: Complex64) -> String {
    match s.im == 0.0 {
        true => significant(s.re, 4).replace('-', "−"),
        false => plain_complex(s, 4),
    }
}

fn in_ohms() -> String {
    engineering(Z0.ohm(), "Ω", 2)
}

/// `readings`, then one part a line: what each fixture reads, as a number and as a level.
pub(crate) fn readings(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected readings and nothing more, with parts below")?;
    let rows: Vec<Markup> = parts(block)?
        .into_iter()
        .map(|(name, device)| {
            let cells = Fixture::ALL.map(|fixture| match fixture.reading(device, Z0).value() {
                Some(s) if s.norm() > 0.0 => format!(
                    "{} ({}\u{202f}dB)",
                    reading(s),
                    fixed(20.0 * s.norm().log10(), 3)
                ),
                Some(_) => "0".to_owned(),
                None => NONE.to_owned(),
            });
            row(&name, &cells)
        })
        .collect();
    Ok(table(
        &format!("Readings of known parts on a reference of {}", in_ohms()),
        &[
            "Part",
            "Reflect, S11",
            "Shunt-through, S21",
            "Series-through, S21",
        ],
        &rows,
    ))
}

/// `sensitivity`, then one part a line: K = |dZ/dS|/|Z| in each fixture.
pub(crate) fn sensitivity(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected sensitivity and nothing more, with parts below")?;
    let rows: Vec<Markup> = parts(block)?
        .into_iter()
        .map(|(name, device)| {
            let absolute = Fixture::ALL.map(|fixture| fixture.relative_sensitivity(device, Z0));
            let relative = Fixture::ALL.map(|fixture| {
                let size = fixture
                    .reading(device, Z0)
                    .value()
                    .map_or(f64::NAN, |s| s.norm());
                fixture.relative_sensitivity(device, Z0) * size
            });
            let cells: Vec<String> = absolute
                .into_iter()
                .chain(relative)
                .map(|k| significant(k, 4))
                .collect();
            row(&name, &cells)
        })
        .collect();
    Ok(table(
        &format!(
            "How many times a reading error comes back in the ohms, on a reference of {}: K for an \
             error of fixed size, K·|S| for an error in proportion to the reading",
            in_ohms()
        ),
        &[
            "Part",
            "K, reflect",
            "K, shunt",
            "K, series",
            "K·|S|, reflect",
            "K·|S|, shunt",
            "K·|S|, series",
        ],
        &rows,
    ))
}

/// `standing-waves`, then one SWR a line: reflection, return loss and the two resistors.
pub(crate) fn standing_waves(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected standing-waves and nothing more, with ratios below")?;
    let mut rows = Vec::new();
    for (index, line) in block.lines() {
        let swr: f64 = line
            .parse()
            .map_err(|_| block.body_error(index, "expected a ratio from 1, as in 1.5"))?;
        let size = magnitude_from_swr(swr).map_err(|error| block.body_error(index, error))?;
        let loss_db = |gamma: f64| -20.0 * gamma.log10();
        let resistor = Immittance::from_impedance(Complex64::new(swr * Z0.ohm(), 0.0))
            .map_err(|error| block.body_error(index, error))?;
        let taken = Reflection::of(resistor, Z0).accepted_power();
        rows.push(row(
            line,
            &[
                significant(size, 4),
                match size > 0.0 {
                    true => format!("{}\u{202f}dB", fixed(loss_db(size), 2)),
                    false => NONE.to_owned(),
                },
                taken.map_or(NONE.to_owned(), unsigned_percent),
                engineering(Z0.ohm() / swr, "Ω", 4),
                engineering(Z0.ohm() * swr, "Ω", 4),
            ],
        ));
    }
    Ok(table(
        &format!("Standing-wave ratios on a reference of {}", in_ohms()),
        &[
            "SWR",
            "|Γ|",
            "Return loss",
            "Power taken",
            "Smaller resistor",
            "Larger resistor",
        ],
        &rows,
    ))
}

/// `decibels`, then one level a line: the ratio of voltages and of powers.
pub(crate) fn decibels(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected decibels and nothing more, with levels below")?;
    let mut rows = Vec::new();
    for (index, line) in block.lines() {
        let db: f64 = line
            .parse()
            .map_err(|_| block.body_error(index, "expected a level in dB, as in -20"))?;
        let ratio = 10f64.powf(db / 20.0);
        rows.push(row(
            &format!("{}\u{202f}dB", without_zeros(&fixed(db, 2))),
            &[significant(ratio, 4), significant(ratio * ratio, 4)],
        ));
    }
    Ok(table(
        "Levels and ratios",
        &["Level", "Ratio of voltages", "Ratio of powers"],
        &rows,
    ))
}

/// `factors`: what turns σ, u or e into 95 %, and when a change is seen.
pub(crate) fn factors(block: &Block<'_>) -> Result<Markup, BlockError> {
    block.no_words("expected factors and nothing more")?;
    let p = Coverage::P95;
    let line =
        |name: &str, value: f64, use_: &str| row(name, &[significant(value, 4), use_.to_owned()]);
    let rows = [
        line(
            "2",
            2.0,
            "± of one number: ± = 2 u, about 95 % (1.96 exactly)",
        ),
        line(
            "√(−2 ln 0.05)",
            p.radius_in_sigma(),
            "radius of the circle that holds 95 % of a cloud, in σ of one direction",
        ),
        line(
            "√(−ln 0.05)",
            p.radius_in_rms(),
            "the same radius in e, the rms length of the error: ± of an impedance as a share of |Z|",
        ),
        line(
            "2√2",
            SEEN_SIGMA,
            "distance of two clouds, in σ, from which a change is seen",
        ),
        line(
            "ln 10/20",
            std::f64::consts::LN_10 / 20.0,
            "share of a voltage that one decibel is, for small changes",
        ),
        line(
            "π/180",
            1f64.to_radians(),
            "share of a length that one degree moves its tip",
        ),
    ];
    Ok(table(
        "Factors for 95\u{202f}%, levels and angles",
        &["Factor", "Value", "What it is for"],
        &rows,
    ))
}
