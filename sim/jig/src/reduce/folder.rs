//! The folder that `--out` asks for.

use std::collections::HashSet;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use jigwise_physics::{Complex64, Fixture, Method};
use jigwise_touchstone::{Options, Sweep, write_file, write_whole};

use super::{Prepared, points};
use crate::CommandError;
use crate::progress::Progress;
use jigwise_bench::scene::svg_file;
use jigwise_bench::words::fixture_key;
use jigwise_quantity::engineering;
use jigwise_reduce::Wanted;
use jigwise_reduce::report::{
    Gatherer, Report, Subject, SubjectFile, correction_words, figures, page,
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
    let mut places = Vec::with_capacity(parts.len());
    let mut taken = HashSet::new();
    for part in parts {
        let place = if parts.len() == 1 {
            folder.to_owned()
        } else {
            folder.join(stem(&part.inputs.names[0]))
        };
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
    let known = part.inputs.budget.is_some();

    let path = place.join(POINTS);
    whole(&path, |out| {
        let mut csv = points::CsvPoints::new(out, part.ensemble.fixtures() > 1, known)?;
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
    write_file(place.join(IMPEDANCE), &sweep, &Options::default())?;
    drop(sweep);
    let figures = figures(&report);
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
    let stems: Vec<&str> = inputs.names.iter().map(|name| stem(name)).collect();
    let mut correction = Vec::new();
    for sweep in part.ensemble.sweeps() {
        let words = correction_words(sweep.method());
        let words = if part.ensemble.fixtures() > 1 && sweep.method() != Method::None {
            format!("{}: {words}", fixture_key(sweep.fixture()))
        } else {
            words.to_owned()
        };
        if !correction.contains(&words) {
            correction.push(words);
        }
    }
    if let Some(file) = &inputs.calibration {
        correction.push(format!("Standards as {} defines them.", base(file)));
    } else if inputs.recipes.iter().any(|r| r.standards.is_some()) {
        correction.push("The standards were taken for ideal.".to_owned());
    }
    let recipe = &inputs.recipes[0];
    let [one, two] = recipe.extension.map(|port| port.one_way_delay_s);
    if (one, two) != (0.0, 0.0) {
        correction.push(format!(
            "The planes were moved towards the part by {} at port 1 and {} at port 2, one way.",
            engineering(one, "s", 4),
            engineering(two, "s", 4)
        ));
    }
    let has_blanks = inputs.recipes.iter().any(|r| !r.blanks.is_empty());
    if has_blanks {
        correction.push(format!(
            "The fixture's blanks were taken out; {}\u{202f}% of what they take away is left as \
             uncertainty (k = 1).",
            jigwise_quantity::fixed(100.0 * recipe.blank_share, 0)
        ));
    }
    let mut left_out = Vec::new();
    for (sweep, survey) in part.ensemble.sweeps().zip(&part.surveys) {
        if let Some(first) = &survey.first_left_out {
            left_out.push(format!(
                "{}: {} of {} points could not be corrected by the blanks; the first, {first}.",
                base(inputs.name_of(sweep.fixture())),
                survey.left_out,
                sweep.len()
            ));
        }
    }
    Subject {
        part: common_name(&stems),
        files: inputs
            .names
            .iter()
            .zip(&inputs.sweeps)
            .zip(&inputs.fixtures)
            .map(|((name, sweep), fixture)| SubjectFile {
                name: base(name).to_owned(),
                fixture: *fixture,
                comments: sweep.comments().to_vec(),
            })
            .collect(),
        reference: part.ensemble.reference(),
        instrument: inputs
            .instrument
            .as_ref()
            .map(|named| (named.name.clone(), named.is_invented())),
        correction,
        beside: inputs
            .beside
            .iter()
            .map(|(what, name)| ((*what).to_owned(), base(name).to_owned()))
            .collect(),
        remarks: part
            .remarks()
            .into_iter()
            .map(|(name, remark)| (base(name).to_owned(), remark))
            .collect(),
        left_out,
        made: today(),
        has_blanks,
    }
}

/// What the names of one part's files begin with, where that says something.
fn common_name(stems: &[&str]) -> String {
    const LEAST: usize = 3;
    let mut common = stems[0];
    for stem in &stems[1..] {
        let same = common
            .char_indices()
            .zip(stem.chars())
            .find(|((_, a), b)| a != b)
            .map_or(common.len().min(stem.len()), |((at, _), _)| at);
        common = &common[..same];
    }
    let trimmed = common.trim_end_matches(|c: char| !c.is_alphanumeric());
    if stems.len() == 1 || trimmed.chars().count() < LEAST {
        return stems.join(" + ");
    }
    trimmed.to_owned()
}

/// A file's name without its folder, which is nobody else's business.
fn base(name: &str) -> &str {
    Path::new(name)
        .file_name()
        .and_then(|name| name.to_str())
        .unwrap_or(name)
}

/// A file's name without folder and ending.
fn stem(name: &str) -> &str {
    Path::new(name)
        .file_stem()
        .and_then(|stem| stem.to_str())
        .unwrap_or(name)
}

/// The date in UTC, year-month-day.
fn today() -> Option<String> {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).ok()?.as_secs();
    let days = i64::try_from(seconds / 86_400).ok()?;
    let (year, month, day) = civil(days);
    Some(format!("{year:04}-{month:02}-{day:02}"))
}

/// Year, month and day of the Gregorian calendar, from days since 1970-01-01. Years are counted
/// from March, so that the leap day is the last of its year.
fn civil(days: i64) -> (i64, i64, i64) {
    const OF_400_YEARS: i64 = 146_097;
    // Days from 0000-03-01 to 1970-01-01.
    let days = days + 719_468;
    let (era, day_of_era) = (days.div_euclid(OF_400_YEARS), days.rem_euclid(OF_400_YEARS));
    let year_of_era =
        (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = (month_from_march + 2) % 12 + 1;
    let year = era * 400 + year_of_era + i64::from(month <= 2);
    (year, month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Days from the calendar of any computer (`date -d @…`).
    #[test]
    fn dates() {
        for (days, date) in [
            (0, (1970, 1, 1)),
            (11_016, (2000, 2, 29)),
            (11_017, (2000, 3, 1)),
            (19_782, (2024, 2, 29)),
            (20_819, (2027, 1, 1)),
        ] {
            assert_eq!(civil(days), date, "{days}");
        }
    }
}
