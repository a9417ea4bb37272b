//! `causes`: the standard uncertainty of X by cause, and what each cause's error is shared by.

use jigwise_bench::{LEFT_SHARE, engineering};
use jigwise_quantity::unsigned_percent;
use jigwise_reduce::{FitInput, Source};
use maud::Markup;

use super::measured::{Measured, hertz};
use crate::block::{Block, BlockError};
use crate::markup::{row, table};
use crate::words::NONE;

/// Causes below this share of the whole, in squares, are put together.
const SMALL: f64 = 0.01;

/// Squares of u(X) from one cause, Ω², one for each frequency.
struct Contribution {
    name: &'static str,
    /// `None` for noise.
    source: Option<Source>,
    squares: Vec<f64>,
}

pub(crate) fn causes(block: &Block<'_>, measured: &Measured) -> Result<Markup, BlockError> {
    if measured.recipe.budget.is_none() {
        return Err(block.error("no instrument; give one, as in instrument club-bench"));
    }
    let input = measured.fit_input(block)?;
    let at = kept(block, measured, &input)?;
    let contributions = contributions(&input, &at);
    let total = sum(&contributions, at.len());
    let is_small = |one: &Contribution| {
        one.squares
            .iter()
            .zip(&total)
            .all(|(part, all)| *part < SMALL * all)
    };
    let (small, mut large): (Vec<_>, Vec<_>) = contributions.into_iter().partition(is_small);
    large.sort_by(|a, b| b.squares[0].total_cmp(&a.squares[0]));
    let line = |name: &str, squares: &[f64], last: &str| {
        let mut cells: Vec<String> = squares
            .iter()
            .zip(&at)
            .map(|(square, k)| {
                let u = square.sqrt();
                let share = unsigned_percent(u / input.z_ohm[*k].im.abs());
                format!("{}, {share}", engineering(u, "Ω", 2))
            })
            .collect();
        cells.push(last.to_owned());
        row(name, &cells)
    };
    let mut rows: Vec<Markup> = large
        .iter()
        .map(|one| line(one.name, &one.squares, shared(one.source)))
        .collect();
    if !small.is_empty() {
        rows.push(line("all others together", &sum(&small, at.len()), NONE));
    }
    rows.push(line("together, root of the squares", &total, NONE));
    let mut head = vec![String::new()];
    head.extend(
        at.iter()
            .map(|k| format!("u(X) at {}", hertz(input.freq_hz[*k]))),
    );
    head.push("Shared by".to_owned());
    let left = if measured.recipe.blanks.is_empty() {
        String::new()
    } else {
        format!("; u of the blank is {} of it", unsigned_percent(LEFT_SHARE))
    };
    Ok(table(
        &format!(
            "Uncertainty of the reactance by cause, k = 1, and of X itself; {}{left}",
            measured.instrument_words()
        ),
        &head,
        &rows,
    ))
}

/// Where the points that were asked for stand among those with an uncertainty.
fn kept(
    block: &Block<'_>,
    measured: &Measured,
    input: &FitInput,
) -> Result<Vec<usize>, BlockError> {
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
    Ok(at)
}

/// Noise first, then every other cause once, its components added.
fn contributions(input: &FitInput, at: &[usize]) -> Vec<Contribution> {
    let mut found = vec![Contribution {
        name: "noise",
        source: None,
        squares: at.iter().map(|k| input.random[*k].im).collect(),
    }];
    for (source, steps) in input.sources.iter().zip(&input.shifts) {
        let name = match source {
            Source::Cause { cause: known, .. } => known.name(),
            Source::Removal | Source::UnsureRemoval => "what the blank leaves",
            Source::Stray(_) => "what the fixture adds",
        };
        let squares = at.iter().map(|k| steps[*k].im.powi(2));
        match found.iter_mut().find(|known| known.name == name) {
            Some(known) => known
                .squares
                .iter_mut()
                .zip(squares)
                .for_each(|(sum, add)| *sum += add),
            None => found.push(Contribution {
                name,
                source: Some(*source),
                squares: squares.collect(),
            }),
        }
    }
    found
}

/// The squares of all, for each of `count` frequencies.
fn sum(contributions: &[Contribution], count: usize) -> Vec<f64> {
    (0..count)
        .map(|k| contributions.iter().map(|one| one.squares[k]).sum())
        .collect()
}

/// Where a cause's error is the same.
fn shared(source: Option<Source>) -> &'static str {
    match source {
        None => "nothing: new at each point",
        Some(Source::Removal | Source::UnsureRemoval | Source::Stray(_)) => {
            "all points of this fixture"
        }
        Some(Source::Cause { cause, .. }) if cause.is_of_calibration() => {
            "all that this calibration corrects"
        }
        Some(Source::Cause { .. }) => "all points of this connection",
    }
}
