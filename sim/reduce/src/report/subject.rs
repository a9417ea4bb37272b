//! What a report is about, beside its points.

use std::path::Path;

use jigwise_bench::words::{fixture_key, strays_words};
use jigwise_physics::{Fixture, Method, ReferenceImpedance};
use jigwise_quantity::{engineering, fixed};

use crate::{Beside, Ensemble, Survey};

/// What a report is about, beside its points.
#[derive(Debug, Clone)]
pub struct Subject {
    /// The part's name: what the names of its files begin with.
    pub part: String,
    /// The files, each with its fixture.
    pub files: Vec<SubjectFile>,
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
    /// The name of the instrument, where one was given, and whether it is one of the invented
    /// presets.
    pub instrument: Option<(String, bool)>,
    /// How the readings were corrected, a sentence each.
    pub correction: Vec<String>,
    /// Files beside the part's: what each is of, and its name.
    pub beside: Vec<(Beside, String)>,
    /// What should be said beside the numbers, each with the name of its file.
    pub remarks: Vec<(String, String)>,
    /// Points that blanks could not correct, and the first reason.
    pub left_out: Vec<String>,
    /// When the report was made, as written on it.
    pub made: Option<String>,
    /// What somebody needs to make it again.
    pub provenance: Provenance,
}

/// What somebody needs to make a report again.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Provenance {
    /// The command that made it.
    pub command: Option<String>,
    /// Every file that was read.
    pub inputs: Vec<InputFile>,
    /// How often the part was connected after the calibration, where that counts in u.
    pub connections: Option<u32>,
    /// Who measured.
    pub operator: Option<String>,
    /// The serial number of the analyzer.
    pub serial: Option<String>,
    /// What else a reader should know.
    pub notes: Vec<String>,
    /// Which program, on which system; empty where that is not told.
    pub versions: String,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputFile {
    /// What it is of.
    pub what: String,
    /// Its name.
    pub name: String,
    /// The SHA-256 of its bytes, in hexadecimal digits.
    pub sha256: Option<String>,
    /// When it was last changed.
    pub changed: Option<String>,
}

/// One file of a report.
#[derive(Debug, Clone)]
pub struct SubjectFile {
    /// Its name.
    pub name: String,
    /// The fixture.
    pub fixture: Fixture,
    /// Its leading comments.
    pub comments: Vec<String>,
}

/// What a [`Subject`] is composed from. Names of files may have folders before them, which the
/// report leaves out: they are nobody else's business.
#[derive(Debug, Clone)]
pub struct SubjectInput<'a> {
    /// The sweeps.
    pub ensemble: &'a Ensemble<'a>,
    /// What a first walk through each of them found, in their order.
    pub surveys: &'a [Survey],
    /// The part's files, in the order given.
    pub files: Vec<SubjectFile>,
    /// The name of the instrument, and whether it is one of the invented presets.
    pub instrument: Option<(String, bool)>,
    /// The calibration file.
    pub calibration: Option<&'a str>,
    /// Files beside the part's.
    pub beside: &'a [(Beside, String)],
    /// What should be said beside the numbers, each with the name of its file.
    pub remarks: Vec<(String, String)>,
    /// When the report is made, as it is to be written on it.
    pub made: Option<String>,
    /// What somebody needs to make it again.
    pub provenance: Provenance,
}

impl Subject {
    /// Composes what a report says of its part.
    pub fn of(input: SubjectInput<'_>) -> Self {
        let stems: Vec<&str> = input.files.iter().map(|file| stem(&file.name)).collect();
        Self {
            part: common_name(&stems),
            reference: input.ensemble.reference(),
            correction: correction(&input),
            left_out: left_out(&input),
            files: input
                .files
                .into_iter()
                .map(|file| SubjectFile {
                    name: base(&file.name).to_owned(),
                    ..file
                })
                .collect(),
            instrument: input.instrument,
            beside: input
                .beside
                .iter()
                .map(|(what, name)| (*what, base(name).to_owned()))
                .collect(),
            remarks: input
                .remarks
                .into_iter()
                .map(|(name, remark)| (base(&name).to_owned(), remark))
                .collect(),
            made: input.made,
            provenance: Provenance {
                inputs: input
                    .provenance
                    .inputs
                    .into_iter()
                    .map(|file| InputFile {
                        name: base(&file.name).to_owned(),
                        ..file
                    })
                    .collect(),
                ..input.provenance
            },
        }
    }
}

/// How the readings were corrected, a sentence each.
fn correction(input: &SubjectInput<'_>) -> Vec<String> {
    let ensemble = input.ensemble;
    let mut said = Vec::new();
    for sweep in ensemble.sweeps() {
        let words = correction_words(sweep.method());
        let words = if ensemble.fixtures() > 1 && sweep.method() != Method::Raw {
            format!("{}: {words}", fixture_key(sweep.fixture()))
        } else {
            words.to_owned()
        };
        if !said.contains(&words) {
            said.push(words);
        }
    }
    let recipes = || ensemble.sweeps().map(|sweep| sweep.recipe());
    if let Some(file) = input.calibration {
        said.push(format!("Standards as {} defines them.", base(file)));
    } else if recipes().any(|recipe| recipe.standards.is_some()) {
        said.push("The standards were taken for ideal.".to_owned());
    }
    let Some(recipe) = recipes().next() else {
        return said;
    };
    let [one, two] = recipe.extension.map(|port| port.one_way_delay_s);
    if (one, two) != (0.0, 0.0) {
        said.push(format!(
            "The planes were moved towards the part by {} at port 1 and {} at port 2, one way.",
            engineering(one, "s", 4),
            engineering(two, "s", 4)
        ));
    }
    if recipes().any(|recipe| recipe.blanks.is_empty()) {
        said.push("No blank was taken off: these are the ohms of part and fixture.".to_owned());
    }
    if let Some(strays) = recipe.strays {
        said.push(format!(
            "What the fixture may add is in every uncertainty, each stray at full size with \
             unknown sign: {}.",
            strays_words(&strays)
        ));
    }
    if recipes().any(|recipe| !recipe.blanks.is_empty()) {
        said.push(format!(
            "The fixture's blanks were taken out; {}\u{202f}% of what they take away is left as \
             standard uncertainty u (k = 1).",
            fixed(100.0 * recipe.blank_share, 0)
        ));
    }
    said
}

/// How a calibration is told.
fn correction_words(method: Method) -> &'static str {
    match method {
        Method::Raw => "None here: the readings are taken as corrected where the part sits.",
        Method::Scaled(_) => {
            "The readings are divided by those of a standard: directivity and both matches are left."
        }
        Method::OnePort => "One port: three terms from open, short and load.",
        Method::OnePortAndThrough => {
            "One port and through: three terms of port 1 and the through's tracking; the match of \
             port 2 is left."
        }
        Method::OneDirection => {
            "One direction, six terms of it: exact for a part that looks the same \
             from both sides, as one part in a fixture does."
        }
        Method::BothDirections => "Both directions, twelve terms.",
        Method::UnknownThrough => {
            "Both directions, through unknown: twelve terms from a through of which only the rough phase is known."
        }
    }
}

/// Points that blanks could not correct, a sentence for each sweep.
fn left_out(input: &SubjectInput<'_>) -> Vec<String> {
    let sweeps = input.ensemble.sweeps().zip(input.surveys);
    sweeps
        .filter_map(|(sweep, survey)| {
            let first = survey.first_left_out.as_ref()?;
            let of_fixture = |file: &&SubjectFile| file.fixture == sweep.fixture();
            let file = input.files.iter().find(of_fixture)?;
            Some(format!(
                "{}: {} of {} points could not be corrected by the blanks; the first, {first}.",
                base(&file.name),
                survey.left_out,
                sweep.len()
            ))
        })
        .collect()
}

/// What the names of one part's files begin with, where that says something.
fn common_name(stems: &[&str]) -> String {
    const MIN_LETTERS: usize = 3;
    let Some((first, others)) = stems.split_first() else {
        return String::new();
    };
    let mut common = *first;
    for stem in others {
        let same = common
            .char_indices()
            .zip(stem.chars())
            .find(|((_, a), b)| a != b)
            .map_or(common.len().min(stem.len()), |((at, _), _)| at);
        common = &common[..same];
    }
    let trimmed = common.trim_end_matches(|c: char| !c.is_alphanumeric());
    if others.is_empty() || trimmed.chars().count() < MIN_LETTERS {
        return stems.join(" + ");
    }
    trimmed.to_owned()
}

/// A file's name without its folder.
fn base(name: &str) -> &str {
    Path::new(name)
        .file_name()
        .and_then(|name| name.to_str())
        .unwrap_or(name)
}

/// A file's name without folder and ending.
pub fn stem(name: &str) -> &str {
    Path::new(name)
        .file_stem()
        .and_then(|stem| stem.to_str())
        .unwrap_or(name)
}
