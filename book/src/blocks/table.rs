use jigwise_bench::words::{fixture_title, reading_name};
use jigwise_bench::{
    Bench, Device, Fixture, FixtureReadout, Readout, Scenario, engineering, fixed, method_key,
    plain_complex,
};
use jigwise_exercises::nudged_level;

use super::Block;
use crate::page::{PageError, escaped};

/// Moves smaller than this are lost on a display that shows hundredths of a decibel.
const INVISIBLE_DB: f64 = 0.01;
/// Moves larger than this stand out from the unrest of the last digits.
const PLAIN_DB: f64 = 0.1;

/// `compare`, then one scenario a line: each part and what each fixture shows of it and of
/// a part a tenth larger.
pub(super) fn compare(block: &Block<'_>) -> Result<String, PageError> {
    let mut rows = String::new();
    for (index, name) in names(block) {
        let (scenario, readout) = readout(block, index, name)?;
        rows.push_str("<tr>");
        rows.push_str(&heading("row", &part(&scenario)));
        for entry in &readout.fixtures {
            rows.push_str(&move_cell(&readout, entry));
        }
        rows.push_str("</tr>");
    }
    if rows.is_empty() {
        return Err(block.error("no part to compare; name scenarios, one a line"));
    }
    let mut head = heading("col", "Part");
    for fixture in Fixture::ALL {
        head.push_str(&heading(
            "col",
            &format!("{}, {}", fixture_title(fixture), reading_name(fixture)),
        ));
    }
    Ok(table(
        "The level in each fixture, and the level when the part is a tenth larger",
        &head,
        &rows,
    ))
}

/// `ends FIXTURE`, then one scenario a line: the reading of each.
pub(super) fn ends(block: &Block<'_>) -> Result<String, PageError> {
    let [fixture] = block.words[..] else {
        return Err(block.error("expected ends FIXTURE, as in ends reflect"));
    };
    let fixture = block.fixture(fixture)?;
    let mut rows = String::new();
    let mut corrected = String::new();
    for (index, name) in names(block) {
        let (scenario, readout) = readout(block, index, name)?;
        if let Some(plan) = &scenario.calibration {
            corrected = format!(", calibration: {}", method_key(plan.method));
        }
        let entry = readout.of(fixture);
        rows.push_str("<tr>");
        rows.push_str(&heading("row", &part(&scenario)));
        for text in [
            entry.reading.map(|s| plain_complex(s, 3)),
            Some(level(&entry)),
            entry.degrees().map(|deg| format!("{}°", fixed(deg, 1))),
        ] {
            rows.push_str(&format!(
                "<td>{}</td>",
                escaped(&text.unwrap_or("–".into()))
            ));
        }
        rows.push_str("</tr>");
    }
    if rows.is_empty() {
        return Err(block.error("no part to read; name scenarios, one a line"));
    }
    let name = reading_name(fixture);
    let head: String = [
        format!("{name} of"),
        name.into(),
        "Level".into(),
        "Angle".into(),
    ]
    .iter()
    .map(|text| heading("col", text))
    .collect();
    Ok(table(
        &format!(
            "What the {} fixture reads{corrected}",
            fixture_title(fixture).to_lowercase()
        ),
        &head,
        &rows,
    ))
}

fn names<'a>(block: &'a Block<'_>) -> impl Iterator<Item = (usize, &'a str)> {
    let lines = block.fence.body.lines().map(str::trim).enumerate();
    lines.filter(|(_, line)| !line.is_empty())
}

fn readout(block: &Block<'_>, index: usize, name: &str) -> Result<(Scenario, Readout), PageError> {
    let scenario =
        jigwise_exercises::scenario(name).map_err(|error| block.body_error(index, error))?;
    let bench = Bench::new(&scenario).map_err(|error| block.body_error(index, error))?;
    Ok((scenario, bench.readout()))
}

fn part(scenario: &Scenario) -> String {
    match &scenario.title {
        Some(title) => match (scenario.device.fixed_ohm(), &scenario.device) {
            (_, Device::Open | Device::Short) => title.clone(),
            (Some(z), _) if z.im == 0.0 => format!("{title}, {}", engineering(z.re, "Ω", 2)),
            (_, device) => format!("{title}, {device}"),
        },
        None => scenario.device.to_string(),
    }
}

fn move_cell(readout: &Readout, entry: &FixtureReadout) -> String {
    let (Some(before), Some(after)) = (entry.decibels(), nudged_level(readout, entry.fixture))
    else {
        return "<td>–</td>".to_owned();
    };
    let moved = (after - before).abs();
    let (class, word) = if moved < INVISIBLE_DB {
        ("move-none", "lost")
    } else if moved < PLAIN_DB {
        ("move-faint", "faint")
    } else {
        ("move-plain", "plain")
    };
    format!(
        "<td class=\"{class}\">{}<br>→ {} <strong>{word}</strong></td>",
        fixed(before, 3),
        fixed(after, 3)
    )
}

fn level(entry: &FixtureReadout) -> String {
    entry
        .decibels()
        .map_or("no signal".to_owned(), |db| format!("{} dB", fixed(db, 2)))
}

pub(super) fn heading(scope: &str, text: &str) -> String {
    format!("<th scope=\"{scope}\">{}</th>", escaped(text))
}

pub(super) fn table(caption: &str, head: &str, rows: &str) -> String {
    format!(
        "<div class=\"jw-table\" tabindex=\"0\" role=\"region\" aria-label=\"{caption}\"><table>\
         <caption>{caption}</caption><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>\
         </div>",
        caption = escaped(caption),
    )
}
