use std::io::Write;

use clap::Args;
use jigwise_physics::{Immittance, ReferenceImpedance};
use serde::Serialize;

use super::appraisal::{AppraisalJson, write_appraisal};
use super::json::{Document, Warning, write_json};
use super::question::Question;
use super::table::Table;
use super::{CommandError, Ohms, Parts};
use jigwise_bench::words::{
    beside_an_end, fixture_key, fixture_title, no_reading, nothing_resolves, reading_name,
};
use jigwise_bench::{Bench, Device, FixtureReadout, Readout, Scenario, bench_story};
use jigwise_quantity::{angle, complex_ohm, engineering, fixed};

/// What the analyzer reads of a device in each of the three fixtures, and with --instrument
/// how far each can be trusted and what change it shows.
#[derive(Args)]
pub(super) struct Read {
    #[command(flatten)]
    question: Question,
    /// Write JSON.
    #[arg(long)]
    json: bool,
}

impl Read {
    pub(super) fn run(&self, out: &mut dyn Write) -> Result<(), CommandError> {
        let scenario = self.question.scenario()?;
        let bench = self.question.bench(&scenario)?;
        let readout = bench.readout();
        if self.json {
            let warnings = said(&scenario, &bench, &readout).into_iter();
            let warnings = warnings.map(|text| Warning { file: None, text });
            let document = Document::new("read", ReadoutJson::of(&bench, &readout, &scenario))
                .read(self.question.files())
                .warned(warnings.collect());
            write_json(&document, out)?;
        } else {
            write_table(&scenario, &bench, &readout, out)?;
        }
        Ok(())
    }
}

fn write_table(
    scenario: &Scenario,
    bench: &Bench,
    readout: &Readout,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    if let Some(title) = &scenario.title {
        writeln!(out, "{title}")?;
    }
    write!(out, "Device: {}", scenario.device)?;
    if let Some(freq_hz) = readout.freq_hz {
        write!(out, " at {}", engineering(freq_hz, "Hz", 4))?;
        let says_its_ohms = scenario.device.fixed_ohm().is_some()
            || matches!(scenario.device, Device::Open | Device::Short);
        if let Some(z) = readout.device.impedance().filter(|_| !says_its_ohms) {
            write!(out, ", {}", complex_ohm(z, 4))?;
        }
    }
    writeln!(
        out,
        "; reference {}\n",
        engineering(readout.reference.ohm(), "Ω", 3)
    )?;
    let mut table = Table::new(["Fixture", "Reads", "dB", "Angle", "Linear", "Back in ohms"]);
    for entry in &readout.fixtures {
        table.row([
            fixture_title(entry.fixture).to_owned(),
            reading_name(entry.fixture).to_owned(),
            entry.decibels().map_or("–".into(), |db| fixed(db, 3)),
            entry.degrees().map_or("–".into(), |deg| angle(deg, 2)),
            entry.reading.map_or("–".into(), |s| {
                let sign = if s.im < 0.0 { '−' } else { '+' };
                format!("{} {sign} j{}", fixed(s.re, 6), fixed(s.im.abs(), 6))
            }),
            entry.got_back.map_or("–".into(), in_ohms),
        ]);
    }
    table.write(out)?;
    for sentence in sentences(readout).into_iter().chain(bench_story(scenario)) {
        writeln!(out, "{sentence}")?;
    }
    if let Some(instrument) = &scenario.instrument {
        // The frequency is named at the top; without one it is the first band that counts.
        let name = match readout.freq_hz {
            Some(_) => instrument.name.clone(),
            None => instrument.words_at(None),
        };
        write_appraisal(&name, bench, readout, out)?;
    }
    Ok(())
}

/// The sentences of the text that no number of the document says.
fn said(scenario: &Scenario, bench: &Bench, readout: &Readout) -> Vec<String> {
    let mut said = bench_story(scenario);
    if readout.appraisal.is_some() {
        said.extend(beside_an_end(readout, bench));
        said.extend(nothing_resolves(readout, bench));
    }
    said
}

fn in_ohms(device: Immittance) -> String {
    device
        .impedance()
        .map_or("open".to_owned(), |z| complex_ohm(z, 5))
}

fn sentences(readout: &Readout) -> Vec<String> {
    readout
        .fixtures
        .iter()
        .filter(|entry| entry.reading.is_none())
        .map(|entry| sentence(entry, readout.reference))
        .collect()
}

fn sentence(entry: &FixtureReadout, reference: ReferenceImpedance) -> String {
    format!(
        "{}: {}",
        fixture_title(entry.fixture),
        no_reading(entry.fixture, reference)
    )
}

#[derive(Serialize)]
struct ReadoutJson {
    reference_ohm: f64,
    freq_hz: Option<f64>,
    device: DeviceJson,
    fixtures: Vec<FixtureJson>,
    #[serde(flatten)]
    best: Option<BestJson>,
}

#[derive(Serialize)]
struct BestJson {
    instrument: String,
    best_for_value: Option<&'static str>,
    best_for_change: Option<&'static str>,
}

#[derive(Serialize)]
struct DeviceJson {
    r_ohm: Option<f64>,
    x_ohm: Option<f64>,
    open: bool,
    short: bool,
}

#[derive(Serialize)]
struct FixtureJson {
    fixture: &'static str,
    reading: Option<ReadingJson>,
    impedance: Option<Ohms>,
    open: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    sentence: Option<String>,
    #[serde(flatten)]
    appraisal: Option<AppraisalJson>,
}

#[derive(Serialize)]
struct ReadingJson {
    #[serde(flatten)]
    parts: Parts,
    db: Option<f64>,
    deg: Option<f64>,
}

impl ReadoutJson {
    fn of(bench: &Bench, readout: &Readout, scenario: &Scenario) -> Self {
        let intervals = bench.modulus_intervals();
        let best = readout.appraisal.zip(scenario.instrument.as_ref());
        let z = readout.device.impedance();
        Self {
            reference_ohm: readout.reference.ohm(),
            freq_hz: readout.freq_hz,
            device: DeviceJson {
                r_ohm: z.map(|z| z.re),
                x_ohm: z.map(|z| z.im),
                open: readout.device.is_open(),
                short: readout.device.is_short(),
            },
            fixtures: readout
                .fixtures
                .iter()
                .map(|entry| FixtureJson {
                    fixture: fixture_key(entry.fixture),
                    reading: entry.reading.map(|s| ReadingJson {
                        parts: s.into(),
                        db: entry.decibels(),
                        deg: entry.degrees(),
                    }),
                    impedance: entry.got_back.and_then(Ohms::of),
                    open: entry.got_back.is_some_and(Immittance::is_open),
                    sentence: entry
                        .reading
                        .is_none()
                        .then(|| no_reading(entry.fixture, readout.reference)),
                    appraisal: readout.appraisal_of(entry.fixture).map(|seen| {
                        let modulus = intervals[entry.fixture as usize];
                        AppraisalJson::of(seen, modulus, readout.nudge)
                    }),
                })
                .collect(),
            best: best.map(|(appraisal, instrument)| BestJson {
                instrument: instrument.name.clone(),
                best_for_value: appraisal.best_for_value.map(fixture_key),
                best_for_change: appraisal.best_for_change.map(fixture_key),
            }),
        }
    }
}
