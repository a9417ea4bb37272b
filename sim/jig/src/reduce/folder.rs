//! The folder that `--out` asks for.

use std::collections::HashSet;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use jigwise_physics::{Complex64, Fixture};
use jigwise_touchstone::{Options, Sweep};

use super::{Prepared, csv, date};
use crate::{CommandError, write_sweep};
use jigwise_bench::scene::svg_file;
use jigwise_bench::shell::Progress;
use jigwise_bench::shell::write_whole;
use jigwise_bench::words::fixture_key;
use jigwise_reduce::Wanted;
use jigwise_reduce::report::{
    Gatherer, Report, Subject, SubjectFile, SubjectInput, figures, page, stem,
};

const REPORT: &str = "report.html";
const POINTS: &str = "points.csv";
const IMPEDANCE: &str = "impedance.s1p";
const FIGURES: [&str; 5] = ["magnitude", "phase", "resistance", "reactance", "fixtures"];

/// Where the files of each part go: the folder itself for one part, else a folder in it for
/// each, named after the part's file.
///
/// # Errors
/// Where two parts would share a folder, or a file that was read would be written over.
pub(super) fn places(folder: &Path, parts: &[Prepared<'_>]) -> Result<Vec<PathBuf>, CommandError> {
    let own = |part: &Prepared<'_>| folder.join(stem(&part.inputs.names[0]));
    match parts {
        [_] => checked(parts, |_| folder.to_owned()),
        _ => checked(parts, own),
    }
}

/// As [`places`], for the fixtures of one part told apart: a folder named after each.
pub(super) fn places_of_fixtures(
    folder: &Path,
    parts: &[Prepared<'_>],
) -> Result<Vec<PathBuf>, CommandError> {
    checked(parts, |part| {
        folder.join(fixture_key(part.inputs.fixtures[0]))
    })
}

fn checked(
    parts: &[Prepared<'_>],
    place_of: impl Fn(&Prepared<'_>) -> PathBuf,
) -> Result<Vec<PathBuf>, CommandError> {
    let mut places = Vec::with_capacity(parts.len());
    let mut taken = HashSet::new();
    for part in parts {
        let place = place_of(part);
        if !taken.insert(place.clone()) {
            return Err(CommandError::Usage(format!(
                "two parts would go to {}; give their files names that differ, or reduce them \
                 one at a time",
                place.display()
            )));
        }
        check_place(&place, &part.inputs.read)?;
        places.push(place);
    }
    Ok(places)
}

/// Refuses to write over what was read.
fn check_place(place: &Path, read: &[PathBuf]) -> Result<(), CommandError> {
    if place.exists() && !place.is_dir() {
        return Err(CommandError::Usage(format!(
            "{} is a file, expected a folder for the report; name another with --out",
            place.display()
        )));
    }
    let read: HashSet<PathBuf> = read
        .iter()
        .filter_map(|p| fs::canonicalize(p).ok())
        .collect();
    let figures = FIGURES.map(|name| format!("{name}.svg"));
    let names = [REPORT, POINTS, IMPEDANCE]
        .into_iter()
        .chain(figures.iter().map(String::as_str));
    for name in names {
        let path = place.join(name);
        if fs::canonicalize(&path).is_ok_and(|path| read.contains(&path)) {
            return Err(CommandError::Usage(format!(
                "{} was read and would be written over; name another folder with --out",
                path.display()
            )));
        }
    }
    Ok(())
}

/// Writes the folder of one part, and says so.
pub(super) fn write(
    part: &Prepared<'_>,
    wanted: &Wanted,
    place: &Path,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    fs::create_dir_all(place).map_err(|error| in_file(place, &error))?;
    let mut gatherer = Gatherer::new(&part.ensemble);
    let mut freq_hz = Vec::with_capacity(part.ensemble.freq_hz().len());
    let mut gamma = Vec::with_capacity(part.ensemble.freq_hz().len());
    let reference = part.ensemble.reference();

    let path = place.join(POINTS);
    whole(&path, |out| {
        let mut csv = csv::CsvPoints::new(out, part.columns())?;
        let mut progress = Progress::new("reducing");
        part.ensemble.each(
            |point| {
                gatherer.take(point);
                let reading = Fixture::Reflect.reading(point.device(), reference).value();
                if let Some(s11) = reading {
                    freq_hz.push(point.freq_hz);
                    gamma.push(s11);
                }
                csv.write(point)
            },
            |share| progress.at(share),
        )?;
        csv.finish()
    })?;
    let report = Report {
        subject: subject(part),
        gathered: gatherer.finish(),
        findings: part.findings(wanted).map_err(|error| error.to_string()),
    };
    let sweep = impedance(&report.subject, reference.ohm(), freq_hz, gamma)?;
    write_sweep(place.join(IMPEDANCE), &sweep, &Options::default())?;
    drop(sweep);
    let figures = figures(&report.gathered, report.findings.as_ref().ok());
    for figure in &figures {
        let path = place.join(format!("{}.svg", figure.name));
        let text = svg_file(&figure.scene, figure.name);
        whole(&path, |out| Ok(out.write_all(text.as_bytes())?))?;
    }
    let text = page(&report);
    whole(&place.join(REPORT), |out| {
        Ok(out.write_all(text.as_bytes())?)
    })?;
    writeln!(
        err,
        "{}: {REPORT}, {POINTS}, {IMPEDANCE} and {} figures",
        place.display(),
        figures.len()
    )?;
    Ok(())
}

fn in_file(path: &Path, error: &io::Error) -> CommandError {
    CommandError::InFile {
        file: path.display().to_string(),
        message: format!(
            "can't be written ({error}); check the folder, its permissions and the room on the \
             disk"
        ),
    }
}

/// Writes a file whole or not at all.
fn whole(
    path: &Path,
    write: impl FnOnce(&mut BufWriter<&fs::File>) -> Result<(), CommandError>,
) -> Result<(), CommandError> {
    write_whole(path, write).map_err(|error| match error {
        CommandError::Output(error) => in_file(path, &error),
        other => other,
    })
}

/// The part as a reflection on the reference, with its story.
fn impedance(
    subject: &Subject,
    reference_ohm: f64,
    freq_hz: Vec<f64>,
    gamma: Vec<Complex64>,
) -> Result<Sweep, CommandError> {
    let mut story = vec![format!(
        "impedance of {} as a reflection, reduced by Jigwise {}; no instrument made this file",
        subject.part,
        env!("CARGO_PKG_VERSION")
    )];
    story.extend(subject.made.iter().map(|made| format!("made {made}")));
    for file in &subject.files {
        story.push(format!(
            "from {} in {}",
            file.name,
            fixture_key(file.fixture)
        ));
    }
    story.extend(subject.correction.iter().cloned());
    for (what, name) in &subject.beside {
        story.push(format!("{what}: {name}"));
    }
    if let Some((name, invented)) = &subject.instrument {
        let invented = if *invented { " (invented)" } else { "" };
        story.push(format!("instrument: {name}{invented}"));
    }
    story.extend(subject.left_out.iter().cloned());
    for file in &subject.files {
        for comment in &file.comments {
            story.push(format!("{}: {}", file.name, comment.trim()));
        }
    }
    Ok(Sweep::new(1, &[reference_ohm], freq_hz, gamma)?.with_comments(story))
}

fn subject(part: &Prepared<'_>) -> Subject {
    let inputs = part.inputs;
    let files = inputs.names.iter().zip(&inputs.sweeps);
    Subject::of(SubjectInput {
        ensemble: &part.ensemble,
        surveys: &part.surveys,
        files: files
            .zip(&inputs.fixtures)
            .map(|((name, sweep), fixture)| SubjectFile {
                name: name.clone(),
                fixture: *fixture,
                comments: sweep.comments().to_vec(),
            })
            .collect(),
        instrument: inputs
            .instrument
            .as_ref()
            .map(|named| (named.name.clone(), named.is_invented())),
        calibration: inputs.calibration.as_deref(),
        beside: &inputs.beside,
        remarks: part
            .remarks()
            .into_iter()
            .map(|(name, remark)| (name.to_owned(), remark))
            .collect(),
        made: date::today(),
    })
}
