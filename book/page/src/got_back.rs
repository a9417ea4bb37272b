//! `got-back FIXTURE` or `got-back all`: scenarios side by side, and the ohms each gets back.

use jigwise_bench::quotes::Shown;
use jigwise_bench::words::{fixture_key, fixture_title, reading_name};
use jigwise_bench::{Fixture, Immittance, engineering};
use jigwise_quantity::unsigned_percent;
use maud::Markup;

use crate::block::{Block, BlockError};
use crate::listed::{Listed, RIGHT, ohms};
use crate::markup::{row, table};
use crate::words::{NONE, or_none};

/// `got-back FIXTURE` or `got-back all`, then one scenario a line, with words for its row after
/// a bar where its title is not to stand there.
pub(crate) fn got_back(block: &Block<'_>) -> Result<Markup, BlockError> {
    let [word] = block.words[..] else {
        return Err(
            block.error("expected got-back FIXTURE or got-back all, as in got-back reflect")
        );
    };
    let only = match word {
        "all" => None,
        word => Some(block.fixture(word)?),
    };
    let listed = Listed::all(block)?;
    let first = &listed[0].scenario;
    let one_part = listed.iter().all(|line| {
        line.scenario.device == first.device && line.readout.freq_hz == first.readout_hz()
    });
    let mut head = vec![String::new()];
    if !one_part {
        head.push("The part".to_owned());
    }
    match only {
        Some(fixture) => head.extend([
            format!("{} shows", reading_name(fixture)),
            "Ohms got back".to_owned(),
            "Off by".to_owned(),
        ]),
        None => head.extend(Fixture::ALL.map(|fixture| fixture_title(fixture).to_owned())),
    }
    let rows: Vec<Markup> = listed
        .iter()
        .map(|line| {
            let mut cells = Vec::new();
            if !one_part {
                cells.push(line.part());
            }
            cells.extend(cells_of(line, only));
            row(&line.label, &cells)
        })
        .collect();
    let place = only.map_or("in each fixture".to_owned(), |fixture| {
        format!("in {}", fixture_key(fixture))
    });
    let mut caption = format!("Ohms got back {place}, and by how much of |Z| they are off");
    if one_part {
        caption = format!("{caption}; part: {}", listed[0].part());
        if let Some(hz) = listed[0].readout.freq_hz {
            caption = format!("{caption} at {}", engineering(hz, "Hz", 3));
        }
    }
    Ok(table(&caption, &head, &rows))
}

/// What one fixture shows, or what each gets back.
fn cells_of(line: &Listed, only: Option<Fixture>) -> Vec<String> {
    let device = line.readout.device;
    match only {
        Some(fixture) => {
            let entry = line.readout.of(fixture);
            vec![
                or_none(Shown::of(&entry).map(|shown| shown.to_string())),
                ohms(entry.got_back),
                off(device, entry.got_back),
            ]
        }
        None => line
            .readout
            .fixtures
            .iter()
            .map(|entry| {
                let off = off(device, entry.got_back);
                format!("{}, {off}", ohms(entry.got_back))
            })
            .collect(),
    }
}

fn off(part: Immittance, back: Option<Immittance>) -> String {
    let back = back.and_then(Immittance::impedance);
    match (part.impedance(), back) {
        (Some(z), Some(back)) if z.norm() > 0.0 => {
            let share = (back - z).norm() / z.norm();
            if share < RIGHT {
                "nothing".to_owned()
            } else {
                unsigned_percent(share)
            }
        }
        _ => NONE.to_owned(),
    }
}
