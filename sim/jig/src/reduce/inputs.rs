//! What the command was given, read and put together.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jigwise_physics::{Budget, Fixture, LEFT_SHARE, Method, PortExtension, ReferenceImpedance};
use jigwise_touchstone::{Sweep, read_file, read_from};

use super::{Reduce, blanks_of};
use crate::CommandError;
use jigwise_bench::NamedInstrument;
use jigwise_bench::words::fixture_key;
use jigwise_reduce::CalibrationFile;
use jigwise_reduce::ports_of;
use jigwise_reduce::{Ensemble, EnsembleError, Recipe, ReduceError, Reducer, StandardSweeps};

/// The sweeps of one part and how they are reduced.
pub(super) struct Inputs {
    /// The part's files as errors and reports call them.
    pub(super) names: Vec<String>,
    /// The part's sweeps, in the order given.
    pub(super) sweeps: Vec<Sweep>,
    /// The fixture of each.
    pub(super) fixtures: Vec<Fixture>,
    /// How each is reduced.
    pub(super) recipes: Vec<Recipe>,
    pub(super) instrument: Option<NamedInstrument>,
    pub(super) budget: Option<Budget>,
    /// Files beside the part's, with the name they go by in messages.
    pub(super) beside: Vec<(&'static str, String)>,
    /// The calibration file.
    pub(super) calibration: Option<String>,
    /// Everything that was read; never written over.
    pub(super) read: Vec<PathBuf>,
}

/// Reads sweeps and keeps their paths.
#[derive(Default)]
struct SweepReader {
    read: Vec<PathBuf>,
}

/// What the standard input goes by.
const STANDARD_INPUT: &str = "standard input";

fn name_of(path: &Path) -> String {
    if path == Path::new("-") {
        STANDARD_INPUT.to_owned()
    } else {
        path.display().to_string()
    }
}

impl SweepReader {
    fn sweep(&mut self, path: &Path) -> Result<Sweep, CommandError> {
        if path != Path::new("-") {
            self.read.push(path.to_owned());
            return Ok(read_file(path)?);
        }
        Ok(read_from(std::io::stdin().lock(), STANDARD_INPUT)?)
    }
}

/// The standards and what is known of them beside their sweeps.
#[derive(Default)]
struct Standards {
    sweeps: Option<Arc<StandardSweeps>>,
    beside: Vec<(&'static str, String)>,
    notes: Vec<String>,
}

impl Inputs {
    /// Reads everything; a part for each entry, and what should be said.
    pub(super) fn gather(given: &Reduce) -> Result<(Vec<Self>, Vec<String>), CommandError> {
        let fixtures: Vec<Fixture> = given.fixture.iter().map(|f| (*f).into()).collect();
        let (files, named) = (given.files.len(), fixtures.len());
        if named > 1 && named != files {
            return Err(CommandError::Usage(format!(
                "{named} fixtures for {files} file{}; name one fixture for each file of the \
                 part, in the same order, or one for all",
                if files == 1 { "" } else { "s" }
            )));
        }
        let extend: Vec<f64> = given
            .extend
            .iter()
            .flat_map(|delays| delays.0.iter().copied())
            .collect();
        if extend.len() > 2 {
            return Err(CommandError::Usage(format!(
                "{} delays for --extend, expected one for both ports or two",
                extend.len()
            )));
        }
        let all = given.files.iter().chain(&given.open).chain(&given.short);
        let all = all
            .chain(&given.load)
            .chain(&given.thru)
            .chain(&given.isolation)
            .chain(&given.blank);
        if all.filter(|path| *path == Path::new("-")).count() > 1 {
            return Err(CommandError::Usage(
                "- stands for the standard input, which can be read only once; save the others \
                 as files"
                    .to_owned(),
            ));
        }
        let blank_share = given.blank_left.unwrap_or(LEFT_SHARE);
        if !(0.0..=1.0).contains(&blank_share) {
            return Err(CommandError::Usage(
                "--blank-left is a share of what the blanks take away; expected 0 to 100 %"
                    .to_owned(),
            ));
        }
        let mut reader = SweepReader::default();
        let sweeps = given
            .files
            .iter()
            .map(|path| reader.sweep(path))
            .collect::<Result<Vec<_>, _>>()?;
        let reference = ReferenceImpedance::new(sweeps[0].references_ohm()[0])?;
        let standards = standards(given, &fixtures, reference, &mut reader)?;
        let instrument = given
            .instrument
            .as_deref()
            .map(NamedInstrument::named_or_read)
            .transpose()?;
        let blanks = given
            .blank
            .iter()
            .map(|path| reader.sweep(path))
            .collect::<Result<Vec<_>, _>>()?;
        let delays = match extend[..] {
            [] => [0.0; 2],
            [one] => [one; 2],
            [one, two, ..] => [one, two],
        };
        let extension = delays.map(|one_way_delay_s| PortExtension {
            one_way_delay_s,
            ..PortExtension::default()
        });
        let mut read = reader.read;
        read.extend(given.calibration.clone());
        read.extend(given.instrument.as_ref().map(PathBuf::from));
        for (_, path) in &standards.beside {
            read.push(PathBuf::from(path));
        }
        let mut blank_names = Vec::new();
        for path in &given.blank {
            blank_names.push(name_of(path));
        }

        let one_part = named > 1;
        let mut parts: Vec<Self> = Vec::new();
        for (at, (sweep, path)) in sweeps.into_iter().zip(&given.files).enumerate() {
            let fixture = if one_part { fixtures[at] } else { fixtures[0] };
            if at == 0 || !one_part {
                let reference = ReferenceImpedance::new(sweep.references_ohm()[0])?;
                let budget = instrument
                    .as_ref()
                    .map(|named| Budget::new(&named.figures, reference, given.connections))
                    .transpose()?;
                parts.push(Self {
                    names: Vec::new(),
                    sweeps: Vec::new(),
                    fixtures: Vec::new(),
                    recipes: Vec::new(),
                    instrument: instrument.clone(),
                    budget,
                    beside: standards.beside.clone(),
                    calibration: given.calibration.as_deref().map(name_of),
                    read: read.clone(),
                });
            }
            // The entry was pushed above.
            let Some(part) = parts.last_mut() else {
                continue;
            };
            part.names.push(name_of(path));
            part.sweeps.push(sweep);
            part.fixtures.push(fixture);
            part.recipes.push(Recipe {
                standards: standards.sweeps.clone(),
                extension,
                blanks: Vec::new(),
                blank_share,
                budget: part.budget,
            });
        }
        for part in &mut parts {
            part.share_blanks(&blanks, &blank_names)?;
        }
        Ok((parts, standards.notes))
    }

    /// Gives each fixture of the part its blanks, in order.
    fn share_blanks(&mut self, blanks: &[Sweep], names: &[String]) -> Result<(), CommandError> {
        if blanks.is_empty() {
            return Ok(());
        }
        if let [fixture] = self.fixtures[..] {
            self.recipes[0].blanks = blanks.to_vec();
            self.name_blanks(fixture, names);
            return Ok(());
        }
        let wanted: usize = self.fixtures.iter().copied().map(blanks_of).sum();
        if wanted != blanks.len() {
            return Err(CommandError::Usage(format!(
                "{} blanks for {} fixtures, expected {wanted}: one for each through fixture and \
                 two for reflect, in the order of the files",
                blanks.len(),
                self.fixtures.len()
            )));
        }
        let mut from = 0;
        for at in 0..self.fixtures.len() {
            let fixture = self.fixtures[at];
            let to = from + blanks_of(fixture);
            self.recipes[at].blanks = blanks[from..to].to_vec();
            self.name_blanks(fixture, &names[from..to]);
            from = to;
        }
        Ok(())
    }

    fn name_blanks(&mut self, fixture: Fixture, names: &[String]) {
        let what = jigwise_reduce::blank_names(fixture);
        self.beside
            .extend(what.iter().copied().zip(names.iter().cloned()));
    }

    /// Files of the part that are given in another place as well, with what that is called.
    pub(super) fn given_twice(&self) -> Vec<(&str, &'static str)> {
        let same = |a: &str, b: &str| {
            a == b || fs::canonicalize(a).is_ok_and(|a| fs::canonicalize(b).is_ok_and(|b| a == b))
        };
        let names = self.names.iter();
        names
            .flat_map(|name| {
                let beside = self.beside.iter();
                beside
                    .filter(move |(_, other)| same(name, other))
                    .map(move |(what, _)| (name.as_str(), *what))
            })
            .collect()
    }

    /// The part's files in one line.
    pub(super) fn title(&self) -> String {
        self.names.join(", ")
    }

    pub(super) fn name_of(&self, fixture: Fixture) -> &str {
        let at = self.fixtures.iter().position(|one| *one == fixture);
        &self.names[at.unwrap_or_default()]
    }

    /// A refusal with the names of the files it is about.
    pub(super) fn refused(&self, fixture: Fixture, error: ReduceError) -> CommandError {
        let file = self.name_of(fixture).to_owned();
        let other = error.what().and_then(|what| {
            let (_, name) = self.beside.iter().find(|(known, _)| *known == what)?;
            Some(format!("{error} ({what} is {name})"))
        });
        match other {
            Some(message) => CommandError::InFile { file, message },
            None => CommandError::Reduce { file, error },
        }
    }

    /// The part's sweeps, checked against each other.
    pub(super) fn ensemble(&self) -> Result<Ensemble<'_>, CommandError> {
        let sweeps = self
            .sweeps
            .iter()
            .zip(&self.fixtures)
            .zip(&self.recipes)
            .map(|((sweep, fixture), recipe)| {
                Reducer::new(sweep, *fixture, recipe).map_err(|error| self.refused(*fixture, error))
            })
            .collect::<Result<Vec<_>, CommandError>>()?;
        Ensemble::new(sweeps, self.budget.as_ref()).map_err(|error| {
            let file = match error {
                EnsembleError::MissesFrequency { which, .. }
                | EnsembleError::OtherReference { which, .. } => self.names[which].clone(),
                _ => self.title(),
            };
            CommandError::InFile {
                file,
                message: error.to_string(),
            }
        })
    }
}

fn standards(
    given: &Reduce,
    fixtures: &[Fixture],
    reference: ReferenceImpedance,
    reader: &mut SweepReader,
) -> Result<Standards, CommandError> {
    if let Some(path) = &given.calibration {
        let file = CalibrationFile::read(path, reference)?;
        return Ok(Standards {
            sweeps: Some(file.standards),
            beside: file
                .files
                .iter()
                .map(|(what, path)| (*what, path.display().to_string()))
                .collect(),
            notes: Vec::new(),
        });
    }
    let flags = [
        ("--open", &given.open),
        ("--short", &given.short),
        ("--load", &given.load),
    ];
    let missing: Vec<&str> = flags
        .iter()
        .filter(|(_, files)| files.is_empty())
        .map(|(flag, _)| *flag)
        .collect();
    if missing.len() == flags.len() && given.thru.is_none() {
        return Ok(Standards::default());
    }
    if !missing.is_empty() {
        return Err(CommandError::Usage(format!(
            "a correction needs open, short and load, and {} {} missing; give all three, or a \
             calibration file with another method by --calibration",
            missing.join(" and "),
            if missing.len() == 1 { "is" } else { "are" }
        )));
    }
    let through_fixture = fixtures.iter().find(|f| **f != Fixture::Reflect);
    let Some(through_fixture) = through_fixture else {
        let mut standards = reflections(given, Method::OnePort, reference, reader)?;
        if given.thru.is_some() {
            standards.notes.push(
                "reflect is corrected by open, short and load alone; what --thru and --isolation \
                 name was not read"
                    .to_owned(),
            );
        }
        return Ok(standards);
    };
    let Some(thru) = &given.thru else {
        return Err(CommandError::Usage(format!(
            "{} needs a through as well: join the two ports where the part sits, sweep that, and \
             give the file with --thru",
            fixture_key(*through_fixture)
        )));
    };
    let mut standards = reflections(given, Method::Full, reference, reader)?;
    let through = reader.sweep(thru)?;
    standards.beside.push(("the through", name_of(thru)));
    let isolation = given.isolation.as_deref();
    let isolation = match isolation {
        Some(path) => {
            standards.beside.push(("the isolation", name_of(path)));
            Some(reader.sweep(path)?)
        }
        None => None,
    };
    if let Some(sweeps) = standards.sweeps.as_mut().and_then(Arc::get_mut) {
        sweeps.through = Some(through);
        sweeps.isolation = isolation;
        let two_ways = sweeps.through.as_ref().is_some_and(|t| !t.is_one_path());
        if !sweeps.missing().is_empty() || !two_ways {
            sweeps.method = Method::OnePath;
            let why = if two_ways {
                "the standards were measured at port 1 alone"
            } else {
                "the through was measured in one direction"
            };
            standards.notes.push(format!(
                "{why}, so the one-path correction is used: exact for a part that looks the same \
                 from both sides, as one part in a fixture does"
            ));
        }
    }
    Ok(standards)
}

/// Open, short and load from their flags.
fn reflections(
    given: &Reduce,
    method: Method,
    reference: ReferenceImpedance,
    reader: &mut SweepReader,
) -> Result<Standards, CommandError> {
    let mut sweeps = StandardSweeps::ideal(method, reference);
    let mut beside = Vec::new();
    let [one, two] = &mut sweeps.reflections;
    for (files, names, slots) in [
        (
            &given.open,
            ["the open at port 1", "the open at port 2"],
            [&mut one.open, &mut two.open],
        ),
        (
            &given.short,
            ["the short at port 1", "the short at port 2"],
            [&mut one.short, &mut two.short],
        ),
        (
            &given.load,
            ["the load at port 1", "the load at port 2"],
            [&mut one.load, &mut two.load],
        ),
    ] {
        let in_file = |path: &Path, message: String| CommandError::InFile {
            file: name_of(path),
            message,
        };
        let [first, second] = slots;
        [*first, *second] =
            ports_of(reader.sweep(&files[0])?).map_err(|message| in_file(&files[0], message))?;
        beside.push((names[0], name_of(&files[0])));
        if second.is_some() {
            beside.push((names[1], name_of(&files[0])));
        }
        match &files[1..] {
            [] => {}
            [_] if second.is_some() => {
                return Err(in_file(
                    &files[0],
                    "holds both ports already; leave the second file of this standard out"
                        .to_owned(),
                ));
            }
            [path] => {
                let [sweep, more] =
                    ports_of(reader.sweep(path)?).map_err(|message| in_file(path, message))?;
                if more.is_some() {
                    return Err(in_file(
                        path,
                        "has two ports, expected one: it is the standard at port 2".to_owned(),
                    ));
                }
                *second = sweep;
                beside.push((names[1], name_of(path)));
            }
            more => {
                return Err(CommandError::Usage(format!(
                    "{} files for one standard, expected port 1 and port 2 at most",
                    more.len() + 1
                )));
            }
        }
    }
    Ok(Standards {
        sweeps: Some(Arc::new(sweeps)),
        beside,
        notes: Vec::new(),
    })
}
