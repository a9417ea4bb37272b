use jigwise_bench::change::nudged_level;
use jigwise_bench::words::{fixture_title, reading_name};
use jigwise_bench::{
    Device, Fixture, FixtureReadout, Readout, Scenario, angle, engineering, fixed, plain_complex,
};
use maud::{Markup, html};

use crate::block::{Block, BlockError};
use crate::markup::{row, row_of, table};
use crate::words::or_none;

/// Moves smaller than this are lost on a display that shows hundredths of a decibel.
const INVISIBLE_DB: f64 = 0.01;
/// Moves larger than this stand out from the unrest of the last digits.
const PLAIN_DB: f64 = 0.1;

/// `compare`, then one scenario a line: each part and what each fixture shows of it and of
/// a part a tenth larger.
pub(crate) fn compare(block: &Block<'_>) -> Result<Markup, BlockError> {
    let mut rows = Vec::new();
    for (index, name) in block.lines() {
        let (scenario, bench) = block.listed(index, name)?;
        let readout = bench.readout();
        let cells = html! {
            @for entry in &readout.fixtures { (move_cell(&readout, entry)) }
        };
        rows.push(row_of(&titled(&scenario), cells));
    }
    if rows.is_empty() {
        return Err(block.error("no part to compare; name scenarios, one a line"));
    }
    let mut head = vec!["Part".to_owned()];
    head.extend(
        Fixture::ALL
            .map(|fixture| format!("{}, {}", fixture_title(fixture), reading_name(fixture))),
    );
    Ok(table(
        "The level in each fixture, and the level when the part is a tenth larger",
        &head,
        &rows,
    ))
}

/// `ends FIXTURE`, then one scenario a line: the reading of each.
pub(crate) fn ends(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [fixture] = block.words[..] else {
        return Err(block.error("expected ends FIXTURE, as in ends reflect"));
    };
    let fixture = block.fixture(fixture)?;
    let mut rows = Vec::new();
    let mut corrected = String::new();
    for (index, name) in block.lines() {
        let (scenario, bench) = block.listed(index, name)?;
        if let Some(plan) = &scenario.calibration {
            corrected = format!(", calibration: {}", plan.method);
        }
        let entry = bench.readout().of(fixture);
        rows.push(row(
            &titled(&scenario),
            &[
                or_none(entry.reading.map(|s| plain_complex(s, 3))),
                level(&entry),
                or_none(entry.degrees().map(|deg| angle(deg, 1))),
            ],
        ));
    }
    if rows.is_empty() {
        return Err(block.error("no part to read; name scenarios, one a line"));
    }
    let name = reading_name(fixture);
    Ok(table(
        &format!(
            "What the {} fixture reads{corrected}",
            fixture_title(fixture).to_lowercase()
        ),
        &[&format!("{name} of"), name, "Level", "Angle"],
        &rows,
    ))
}

fn titled(scenario: &Scenario) -> String {
    match &scenario.title {
        Some(title) => match (scenario.device.fixed_ohm(), &scenario.device) {
            (_, Device::Open | Device::Short) => title.clone(),
            (Some(z), _) if z.im == 0.0 => format!("{title}, {}", engineering(z.re, "Ω", 2)),
            (_, device) => format!("{title}, {device}"),
        },
        None => scenario.device.to_string(),
    }
}

fn move_cell(readout: &Readout, entry: &FixtureReadout) -> Markup {
    let (Some(before), Some(after)) = (entry.decibels(), nudged_level(readout, entry.fixture))
    else {
        return html! { td { (crate::words::NONE) } };
    };
    let moved = (after - before).abs();
    let (class, word) = if moved < INVISIBLE_DB {
        ("move-none", "lost")
    } else if moved < PLAIN_DB {
        ("move-faint", "faint")
    } else {
        ("move-plain", "plain")
    };
    html! {
        td class=(class) {
            (fixed(before, 3)) br; "→ " (fixed(after, 3)) " " strong { (word) }
        }
    }
}

fn level(entry: &FixtureReadout) -> String {
    entry
        .decibels()
        .map_or("no signal".to_owned(), |db| format!("{} dB", fixed(db, 2)))
}
