//! Tables of scenarios side by side: what each gets back, and what checks show of each.

use jigwise_bench::percent;
use jigwise_bench::words::{fixture_key, fixture_title, reading_name};
use jigwise_bench::{
    Bench, Complex64, Device, Fixture, Immittance, Measurement, Readout, Scenario, complex_ohm,
    engineering, fixed, plain_complex,
};
use jigwise_exercises::Shown;

use super::Block;
use super::seen::part;
use super::table::{heading, table};
use crate::page::{PageError, escaped};

const DIGITS: usize = 4;
/// Below this share of the part its ohms are called right, and an imaginary part nothing.
const RIGHT: f64 = 5e-6;
/// Between a scenario and the words that stand for it in its row.
const LABELLED: char = '|';

/// A scenario of the body with the words for its row.
struct Row {
    label: String,
    scenario: Scenario,
    bench: Bench,
    readout: Readout,
}

fn rows(block: &Block<'_>) -> Result<Vec<Row>, PageError> {
    let mut rows = Vec::new();
    for (index, line) in block.fence.body.lines().enumerate() {
        if line.trim().is_empty() {
            continue;
        }
        let (name, label) = match line.split_once(LABELLED) {
            Some((name, label)) => (name.trim(), Some(label.trim())),
            None => (line.trim(), None),
        };
        let scenario =
            jigwise_exercises::scenario(name).map_err(|error| block.body_error(index, error))?;
        let bench = Bench::new(&scenario).map_err(|error| block.body_error(index, error))?;
        let label = label.or(scenario.title.as_deref()).unwrap_or(name);
        rows.push(Row {
            label: label.to_owned(),
            readout: bench.readout(),
            scenario,
            bench,
        });
    }
    if rows.is_empty() {
        return Err(block.error("no scenario to show; name some, one a line"));
    }
    Ok(rows)
}

/// `got-back FIXTURE` or `got-back all`, then one scenario a line, with words for its row after
/// a bar where its title is not to stand there.
pub(super) fn got_back(block: &Block<'_>) -> Result<String, PageError> {
    let [word] = block.words[..] else {
        return Err(
            block.error("expected got-back FIXTURE or got-back all, as in got-back reflect")
        );
    };
    let only = match word {
        "all" => None,
        word => Some(block.fixture(word)?),
    };
    let rows = rows(block)?;
    let first = &rows[0].scenario;
    let one_part = rows.iter().all(|row| {
        row.scenario.device == first.device && row.readout.freq_hz == first.readout_hz()
    });
    let mut head = vec!["".to_owned()];
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
    let body: String = rows
        .iter()
        .map(|row| {
            let mut cells = Vec::new();
            if !one_part {
                cells.push(the_part(row));
            }
            match only {
                Some(fixture) => {
                    let entry = row.readout.of(fixture);
                    cells.extend([
                        Shown::of(&entry).map_or("–".to_owned(), |shown| shown.to_string()),
                        ohms(entry.got_back),
                        off(row.readout.device, entry.got_back),
                    ]);
                }
                None => cells.extend(row.readout.fixtures.iter().map(|entry| {
                    format!(
                        "{}, {}",
                        ohms(entry.got_back),
                        off(row.readout.device, entry.got_back)
                    )
                })),
            }
            line(&row.label, &cells)
        })
        .collect();
    let place = only.map_or("in each fixture".to_owned(), |fixture| {
        format!("in {}", fixture_key(fixture))
    });
    let mut caption = format!("Ohms got back {place}, and by how much of |Z| they are off");
    if one_part {
        caption = format!("{caption}; part: {}", the_part(&rows[0]));
        if let Some(hz) = rows[0].readout.freq_hz {
            caption = format!("{caption} at {}", engineering(hz, "Hz", 3));
        }
    }
    Ok(table(&caption, &headings(&head), &body))
}

/// `checks`, then one scenario a line: what the standards and the part read after each
/// calibration, with nothing else connected than what the calibration was made with.
pub(super) fn checks(block: &Block<'_>) -> Result<String, PageError> {
    if !block.words.is_empty() {
        return Err(block.error("expected checks and nothing more, with scenarios below"));
    }
    let rows = rows(block)?;
    let z0 = rows[0].scenario.reference.ohm();
    let mut body = String::new();
    for row in &rows {
        if row.scenario.calibration.is_none() {
            let name = row.scenario.title.as_deref().unwrap_or(&row.label);
            return Err(block.error(format!(
                "\"{name}\" has no calibration to check; give it a [calibration] with a method"
            )));
        }
        let read = |device: Device| -> Result<Option<Complex64>, PageError> {
            let scenario = Scenario {
                device,
                ..row.scenario.clone()
            };
            let bench = Bench::new(&scenario).map_err(|error| block.error(error))?;
            Ok(bench.readout().of(Fixture::Reflect).reading)
        };
        let sum = |fixture| -> Result<String, PageError> {
            let measured =
                Measurement::of(&row.scenario, fixture).map_err(|error| block.error(error))?;
            let Some(point) = measured.points.first() else {
                return Ok("–".to_owned());
            };
            let s = point.corrected;
            let sum = match fixture {
                Fixture::ShuntThrough => s.s21 - s.s11,
                _ => s.s21 + s.s11,
            };
            Ok(if sum.im.abs() < RIGHT {
                fixed(sum.re, DIGITS - 1)
            } else {
                plain_complex(sum, DIGITS)
            })
        };
        let load = read(Device::Fixed(z0.into()))?;
        body.push_str(&line(
            &row.label,
            &[
                read(Device::Open)?.map_or("–".to_owned(), |s| polar(s, false)),
                read(Device::Short)?.map_or("–".to_owned(), |s| polar(s, true)),
                load.map_or("–".to_owned(), level),
                sum(Fixture::ShuntThrough)?,
                sum(Fixture::SeriesThrough)?,
                ohms(row.readout.of(Fixture::Reflect).got_back),
            ],
        ));
    }
    let head = [
        "".to_owned(),
        "An open".to_owned(),
        "A short".to_owned(),
        "A perfect load".to_owned(),
        "S21 − S11, shunt".to_owned(),
        "S21 + S11, series".to_owned(),
        "The part in reflect".to_owned(),
    ];
    Ok(table(
        &format!(
            "What ideal pieces and a known part, {}, show after each calibration",
            the_part(&rows[0])
        ),
        &headings(&head),
        &body,
    ))
}

fn the_part(row: &Row) -> String {
    match row.bench.device().impedance() {
        Some(z) if row.scenario.device.fixed_ohm().is_some() && z.im != 0.0 => complex_ohm(z, 2),
        _ => part(&row.scenario.device),
    }
}

fn ohms(device: Option<Immittance>) -> String {
    match device {
        Some(device) if device.is_open() => "an open".to_owned(),
        Some(device) => device.impedance().map_or("–".to_owned(), |z| {
            if z.im.abs() < RIGHT * z.norm() {
                engineering(z.re, "Ω", DIGITS)
            } else {
                complex_ohm(z, DIGITS)
            }
        }),
        None => "–".to_owned(),
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
                percent(share).trim_start_matches('+').to_owned()
            }
        }
        _ => "–".to_owned(),
    }
}

/// Size and angle; the angle of a short from 180° down, so that none reads −180°.
fn polar(s: Complex64, from_short: bool) -> String {
    let mut deg = s.arg().to_degrees();
    if from_short && deg < 0.0 {
        deg += 360.0;
    }
    format!("{} at {}°", fixed(s.norm(), 4), fixed(deg, 2))
}

fn level(s: Complex64) -> String {
    const FAR_DOWN_DB: f64 = -120.0;
    let db = 20.0 * s.norm().log10();
    if db < FAR_DOWN_DB {
        format!("below {}\u{202f}dB", fixed(FAR_DOWN_DB, 0))
    } else {
        format!("{}\u{202f}dB", fixed(db, 1))
    }
}

pub(super) fn headings(names: &[String]) -> String {
    names
        .iter()
        .map(|name| match name.as_str() {
            "" => "<td></td>".to_owned(),
            name => heading("col", name),
        })
        .collect()
}

pub(super) fn line(label: &str, cells: &[String]) -> String {
    let cells: String = cells
        .iter()
        .map(|text| format!("<td>{}</td>", escaped(text)))
        .collect();
    format!("<tr>{}{cells}</tr>", heading("row", label))
}
