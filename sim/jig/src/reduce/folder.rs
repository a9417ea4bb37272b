//! The folder that `--out` asks for.

use std::collections::HashSet;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use jigwise_physics::{Complex64, Fixture};
use jigwise_touchstone::{Options, Sweep, write_to};

use super::points::nearest;
use super::provenance::{CommandLine, provenance};
use super::{Prepared, Reduce, csv, date};
use crate::CommandError;
use crate::whole_file::{in_file, is_taken};
use jigwise_bench::scene::svg_file;
use jigwise_bench::shell::{Progress, Staged, Taken, folder_of, make_folder};
use jigwise_bench::words::fixture_key;
use jigwise_reduce::report::{
    Gatherer, Report, Subject, SubjectFile, SubjectInput, figures, page, stem,
};

const REPORT: &str = "report.html";
const POINTS: &str = "points.csv";
const IMPEDANCE: &str = "impedance.s1p";
const FIGURES: [&str; 5] = ["magnitude", "phase", "resistance", "reactance", "fixtures"];

/// The reports of some parts, written as one set.
pub(super) struct Reports {
    staged: Staged,
    taken: Taken,
    /// Where each part's files are in the set, and where they will be.
    places: Vec<(PathBuf, PathBuf)>,
}

/// How the folders of several parts are called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Naming {
    /// The part's files go into the folder itself.
    Itself,
    /// A folder in it for each part, named after the part's file.
    Stems,
    /// A folder in it for each fixture of one part.
    Fixtures,
}

/// Refuses a path that can't be a folder of reports, before anything is computed.
pub(super) fn check_out(folder: &Path) -> Result<(), CommandError> {
    if folder.exists() && !folder.is_dir() {
        return Err(CommandError::Usage(format!(
            "{} is a file, expected a folder for the report; name another with --out",
            folder.display()
        )));
    }
    if folder.file_name().is_none() {
        return Err(CommandError::Usage(format!(
            "\"{}\" names no folder of its own, and a report gets one; add a name, for example \
             --out {}",
            folder.display(),
            folder.join("report").display()
        )));
    }
    Ok(())
}

impl Reports {
    /// Begins the set.
    ///
    /// # Errors
    /// Where two parts would share a folder, a place is taken, or a file that was read or that no
    /// report writes would be lost.
    pub(super) fn begin(
        given: &Reduce,
        folder: &Path,
        naming: Naming,
        parts: &[Prepared<'_>],
    ) -> Result<Self, CommandError> {
        // A link leads to the folder that is meant.
        let folder = match folder.is_symlink() {
            true => fs::canonicalize(folder).unwrap_or(folder.to_owned()),
            false => folder.to_owned(),
        };
        let taken = if given.replace {
            Taken::Replace
        } else {
            Taken::Refuse
        };
        let mut finals = Vec::with_capacity(parts.len());
        let mut known = HashSet::new();
        for part in parts {
            let place = match naming {
                Naming::Itself => folder.clone(),
                Naming::Stems => folder.join(stem(&part.inputs.names[0])),
                Naming::Fixtures => folder.join(fixture_key(part.inputs.fixtures[0])),
            };
            if !known.insert(place.clone()) {
                return Err(CommandError::Usage(format!(
                    "two parts would go to {}; give their files names that differ, or reduce them \
                     one at a time",
                    place.display()
                )));
            }
            finals.push(place);
        }
        for (part, place) in parts.iter().zip(&finals) {
            check_place(place, &part.inputs.read, taken)?;
        }
        let name = folder
            .file_name()
            .unwrap_or(OsStr::new("report"))
            .to_owned();
        // Into a folder that holds more than these reports each is put by itself.
        let is_inside = naming != Naming::Itself && is_filled(&folder);
        let beside = match is_inside {
            true => folder.as_path(),
            false => folder_of(&folder),
        };
        make_folder(beside).map_err(|error| in_file(beside, error.into()))?;
        let staged =
            Staged::begin(beside, &name).map_err(|error| in_file(&folder, error.into()))?;
        let places = finals.into_iter().map(|place| {
            let own: OsString = place.file_name().unwrap_or(&name).to_owned();
            let inside = match (naming, is_inside) {
                (Naming::Itself, _) => PathBuf::from(&name),
                (_, true) => PathBuf::from(own),
                (_, false) => Path::new(&name).join(own),
            };
            (inside, place)
        });
        Ok(Self {
            taken,
            places: places.collect(),
            staged,
        })
    }

    /// Writes them all, puts them in place and says so.
    pub(super) fn write(
        self,
        given: &Reduce,
        line: &CommandLine,
        parts: &[Prepared<'_>],
        err: &mut dyn Write,
    ) -> Result<(), CommandError> {
        let mut figures = 0;
        for (part, (inside, place)) in parts.iter().zip(&self.places) {
            figures = self
                .write_part(given, line, part, inside)
                .map_err(|error| in_file(place, error))?;
        }
        let places = self.places;
        self.staged.publish(self.taken).map_err(|error| {
            let made_meanwhile = places.iter().find(|(_, place)| is_filled(place));
            match made_meanwhile {
                Some((_, place)) if error.kind() == ErrorKind::AlreadyExists => is_taken(place),
                _ => in_file(&places[0].1, error.into()),
            }
        })?;
        for (_, place) in &places {
            writeln!(
                err,
                "{}: {REPORT}, {POINTS}, {IMPEDANCE} and {figures} figures",
                place.display()
            )?;
        }
        Ok(())
    }

    /// Writes the files of one part into the set, and counts its figures.
    fn write_part(
        &self,
        given: &Reduce,
        line: &CommandLine,
        part: &Prepared<'_>,
        inside: &Path,
    ) -> Result<usize, CommandError> {
        self.staged.make_folder(inside)?;
        let mut gatherer = Gatherer::new(&part.ensemble);
        let mut freq_hz = Vec::with_capacity(part.ensemble.freq_hz().len());
        let mut gamma = Vec::with_capacity(part.ensemble.freq_hz().len());
        let reference = part.ensemble.reference();
        self.staged.write(inside.join(POINTS), |out| {
            let mut csv = csv::CsvPoints::new(out, part.columns())?;
            let progress = Progress::new("reducing");
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
        for asked_hz in &given.at {
            gatherer.asked(*asked_hz, nearest(&part.ensemble, *asked_hz)?);
        }
        let report = Report {
            subject: subject(given, line, part),
            gathered: gatherer.finish(),
            // Without the name of the file, which has its folder before it.
            findings: part.findings(given.wanted()).map_err(|error| match error {
                CommandError::InFile { message, .. } => message,
                other => other.to_string(),
            }),
        };
        let sweep = impedance(&report.subject, reference.ohm(), freq_hz, gamma)?;
        self.staged.write(inside.join(IMPEDANCE), |out| {
            Ok::<(), CommandError>(write_to(out, &sweep, &Options::default())?)
        })?;
        drop(sweep);
        let figures = figures(&report.gathered, report.findings.as_ref().ok());
        for figure in &figures {
            let text = svg_file(&figure.scene, figure.name);
            self.text(&inside.join(format!("{}.svg", figure.name)), &text)?;
        }
        self.text(&inside.join(REPORT), &page(&report))?;
        Ok(figures.len())
    }

    fn text(&self, inside: &Path, text: &str) -> Result<(), CommandError> {
        self.staged
            .write(inside, |out| Ok(out.write_all(text.as_bytes())?))
    }
}

/// True for a file, and for a folder that holds something.
fn is_filled(place: &Path) -> bool {
    match fs::read_dir(place) {
        Ok(mut entries) => entries.next().is_some(),
        Err(_) => place.symlink_metadata().is_ok(),
    }
}

/// Refuses a place that is taken, and to replace what was read or what no report writes.
fn check_place(place: &Path, read: &[PathBuf], taken: Taken) -> Result<(), CommandError> {
    if !is_filled(place) {
        return Ok(());
    }
    let read: HashSet<PathBuf> = read
        .iter()
        .filter_map(|path| fs::canonicalize(path).ok())
        .collect();
    let entries = fs::read_dir(place).map_err(|error| in_file(place, error.into()))?;
    for entry in entries.flatten() {
        let path = entry.path();
        if fs::canonicalize(&path).is_ok_and(|path| read.contains(&path)) {
            return Err(CommandError::Usage(format!(
                "{} was read and would be written over; name another folder with --out",
                path.display()
            )));
        }
        if taken == Taken::Replace && !is_of_report(&path) {
            return Err(CommandError::Usage(format!(
                "{} is of no report and would be lost; move it elsewhere, or name another folder \
                 with --out",
                path.display()
            )));
        }
    }
    match taken {
        Taken::Refuse => Err(is_taken(place)),
        Taken::Replace => Ok(()),
    }
}

/// True for a file that a report writes.
fn is_of_report(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let is_figure = name
        .strip_suffix(".svg")
        .is_some_and(|name| FIGURES.contains(&name));
    path.is_file() && (is_figure || [REPORT, POINTS, IMPEDANCE].contains(&name.as_ref()))
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

fn subject(given: &Reduce, line: &CommandLine, part: &Prepared<'_>) -> Subject {
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
        provenance: provenance(given, line, inputs),
    })
}
