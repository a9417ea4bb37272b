//! A student who has the folder of a group and nothing else: the sheet with its bench card, and the
//! files. No part of the program that grades is used.

use std::collections::HashMap;
use std::f64::consts::TAU;

use jigwise_exercises::tray::{Group, TrayFile, TraySet};
use num_complex::Complex64;

use crate::touchstone::read;

/// The fixtures as files are named after them.
pub const FIXTURES: [&str; 3] = ["reflect", "shunt-through", "series-through"];

/// What a group was handed.
pub struct Folder {
    /// The files by their names.
    pub files: HashMap<String, String>,
    card: [Vec<(f64, [Option<f64>; 3])>; 2],
}

impl Folder {
    /// The folder of a group.
    ///
    /// # Panics
    /// Where it can't be made.
    pub fn of(set: &TraySet, group: &Group) -> Self {
        let made = set.files_of(group).unwrap();
        let name = |file: &TrayFile| file.path.rsplit('/').next().unwrap().to_owned();
        let files: HashMap<String, String> = made
            .iter()
            .map(|file| (name(file), String::from_utf8(file.bytes.clone()).unwrap()))
            .collect();
        let card = card(&files["sheet.html"]);
        Self { files, card }
    }

    /// The readings of a part in a fixture: S11 for reflect, S21 for the others.
    ///
    /// # Panics
    /// Where there is no such file.
    pub fn readings(&self, part: &str, fixture: &str) -> Vec<(f64, Complex64)> {
        let ports = if fixture == "reflect" { 1 } else { 2 };
        let name = format!("{part}-{fixture}.s{ports}p");
        let sweep = read(&name, &self.files[&name]);
        let hz = sweep.frequency_hz().to_vec();
        let of = |at: usize| sweep.s(at, ports, 1);
        hz.into_iter()
            .enumerate()
            .map(|(at, hz)| (hz, of(at)))
            .collect()
    }

    /// S11 of a part in its only reading in shunt-through.
    ///
    /// # Panics
    /// Where there is no such file.
    pub fn returned(&self, part: &str) -> Complex64 {
        let name = format!("{part}-shunt-through.s2p");
        read(&name, &self.files[&name]).s(0, 1, 1)
    }

    /// Z of a part from the middle line of its file, by the textbook's formula (D. M. Pozar,
    /// Microwave Engineering, 4th ed., S-parameters of series and shunt impedances and of a
    /// termination, solved for Z), and the frequency.
    pub fn ohms(&self, part: &str, fixture: &str) -> (Complex64, f64) {
        let readings = self.readings(part, fixture);
        let (hz, s) = readings[readings.len() / 2];
        (ohms(fixture, s), hz)
    }

    /// The ± of the card as a part of the value, by fixture; `None` for a dash.
    pub fn card(&self, fixture: &str, ohm: f64, is_reactance: bool) -> Option<f64> {
        let which = FIXTURES.iter().position(|known| *known == fixture).unwrap();
        let rows = &self.card[usize::from(is_reactance)];
        let above = rows.iter().position(|(row, _)| *row >= ohm)?;
        let (high, shares) = rows[above];
        let high_share = shares[which]?;
        let Some((low, shares)) = above.checked_sub(1).map(|below| rows[below]) else {
            return Some(high_share);
        };
        // Between two rows by a straight line on paper with logarithmic scales.
        let low_share = shares[which]?;
        let way = (ohm / low).ln() / (high / low).ln();
        Some(low_share * (high_share / low_share).powf(way))
    }
}

/// Z from a reading on 50 Ω.
pub fn ohms(fixture: &str, s: Complex64) -> Complex64 {
    match fixture {
        "reflect" => 50.0 * (1.0 + s) / (1.0 - s),
        "shunt-through" => 25.0 * s / (1.0 - s),
        _ => 100.0 * (1.0 - s) / s,
    }
}

/// The two tables of the card, from the sheet as it is printed.
fn card(sheet: &str) -> [Vec<(f64, [Option<f64>; 3])>; 2] {
    let tables: Vec<&str> = sheet.split("<table class=\"card\">").skip(1).collect();
    assert_eq!(tables.len(), 2);
    [tables[0], tables[1]].map(|table| {
        let body = table.split("<tbody>").nth(1).unwrap();
        let rows = body.split("<tr>").skip(1);
        rows.map(|row| {
            let cells: Vec<String> = row
                .split(['<', '>'])
                .map(str::trim)
                .filter(|text| {
                    !text.is_empty() && !text.starts_with(['t', '/']) && !text.contains("table")
                })
                .map(String::from)
                .collect();
            assert!(cells.len() >= 4, "{row}");
            let ohm = jigwise_quantity::parse_value(&cells[0], jigwise_quantity::Unit::Ohm);
            let share = |cell: &String| match cell.as_str() {
                "–" => None,
                text => Some(jigwise_quantity::parse_share(text).unwrap()),
            };
            (ohm.unwrap(), [1, 2, 3].map(|at| share(&cells[at])))
        })
        .collect()
    })
}

/// A value with its ±, as a student writes it.
pub fn claim(value: f64, share: Option<f64>, unit: &str) -> String {
    match share {
        Some(share) => format!("{value:.4e} {unit} ± {:.2} %", 100.0 * share),
        None => "can't be told".to_owned(),
    }
}

/// What a careful student writes about a part of unknown kind: the fixture, and the value.
pub fn unlabelled(folder: &Folder, part: &str) -> (String, String) {
    let (rough, _) = folder.ohms(part, "reflect");
    let is_reactance = |z: Complex64| z.im.abs() > z.re.abs();
    // Near an open or a short the fixture for the other end says more of the size.
    let size = match rough.norm() {
        ohm if ohm < 10.0 => folder.ohms(part, "shunt-through").0,
        ohm if ohm > 250.0 => folder.ohms(part, "series-through").0,
        _ => rough,
    };
    let reactive = is_reactance(size);
    let best = FIXTURES
        .into_iter()
        .filter_map(|fixture| Some((fixture, folder.card(fixture, size.norm(), reactive)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    let Some((fixture, _)) = best else {
        let fixture = if size.norm() > 50.0 {
            "series-through"
        } else {
            "shunt-through"
        };
        return (fixture.to_owned(), "can't be told".to_owned());
    };
    let (z, hz) = folder.ohms(part, fixture);
    let reactive = is_reactance(z);
    let share = folder.card(fixture, if reactive { z.im.abs() } else { z.re }, reactive);
    let value = match (reactive, z.im > 0.0) {
        (true, true) => claim(z.im / (TAU * hz), share, "H"),
        (true, false) => claim(-1.0 / (TAU * hz * z.im), share, "F"),
        _ => claim(z.re, share, "ohm"),
    };
    (fixture.to_owned(), value)
}
