//! What the command was given, read and put together.

use std::fs;
use std::path::{Path, PathBuf};

use jigwise_bench::{Blank, NamedInstrument, NamedStrays};
use jigwise_physics::{Bands, Fixture, LEFT_SHARE, PortExtension, ReferenceImpedance};
use jigwise_quantity::engineering;
use jigwise_reduce::{Beside, Ensemble, EnsembleError, Recipe, ReduceError, Reducer};
use jigwise_touchstone::Sweep;

use super::Reduce;
use super::check;
use super::standards::{Standards, standards};
use super::sweep_reader::{SweepReader, name_of};
use crate::CommandError;

/// The sweeps of one part and how they are reduced.
#[derive(Clone)]
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
    /// How often the part was connected after the calibration.
    pub(super) connections: u32,
    pub(super) budget: Option<Bands>,
    pub(super) strays: Option<NamedStrays>,
    /// Files beside the part's, with what each is of.
    pub(super) beside: Vec<(Beside, String)>,
    /// The calibration file.
    pub(super) calibration: Option<String>,
    /// Everything that was read; never written over.
    pub(super) read: Vec<PathBuf>,
    /// The digest of what came from the standard input.
    pub(super) stdin_sha256: Option<String>,
}

/// Everything that was read.
pub(super) struct Gathered {
    /// The parts that could be read, in the order of their files.
    pub(super) parts: Vec<Inputs>,
    /// Files of parts that could not, where there are several parts.
    pub(super) refused: Vec<(String, CommandError)>,
    /// What should be said.
    pub(super) notes: Vec<String>,
}

impl Inputs {
    /// Reads everything. A file that can't be read ends it, but for one of several parts.
    pub(super) fn gather(given: &Reduce) -> Result<Gathered, CommandError> {
        let files = expanded(&given.files)?;
        check::fixtures(given, &files)?;
        let fixtures: Vec<Fixture> = given.fixture.iter().map(|f| (*f).into()).collect();
        // One fixture for all files makes each a part of its own.
        let is_one_part = fixtures.len() > 1 || files.len() == 1;
        let mut reader = SweepReader::default();
        reader.read_ahead(files.iter().chain(given.beside()));
        let (mut read, mut refused) = (Vec::new(), Vec::new());
        for path in &files {
            let sweep = reader
                .sweep(path)
                .and_then(|sweep| within(given, path, sweep));
            match sweep {
                Ok(sweep) => read.push((path, sweep)),
                Err(error) if is_one_part => return Err(error),
                Err(error) => refused.push((name_of(path), error)),
            }
        }
        let Some((_, first)) = read.first() else {
            // Nothing is left to reduce, so the first refusal is the answer.
            let (_, error) = refused.swap_remove(0);
            return Err(error);
        };
        let reference = ReferenceImpedance::new(first.references_ohm()[0])?;
        let standards = standards(given, &fixtures, reference, &mut reader)?;
        check::ports(given, &fixtures, &read)?;
        let of_all = Self::of_all(given, &standards, &mut reader)?;
        let blanks = reader.sweeps(&given.blank)?;
        let blank_names: Vec<String> = given.blank.iter().map(|path| name_of(path)).collect();
        let of_all = Self {
            stdin_sha256: reader.stdin_sha256,
            read: of_all.read.into_iter().chain(reader.read).collect(),
            ..of_all
        };
        let mut parts: Vec<Self> = Vec::new();
        for (at, (path, sweep)) in read.into_iter().enumerate() {
            let fixture = *fixtures.get(at).unwrap_or(&fixtures[0]);
            let mut part = match parts.pop_if(|_| is_one_part) {
                Some(begun) => begun,
                None => of_all.with_budget(&sweep)?,
            };
            part.names.push(name_of(path));
            part.sweeps.push(sweep);
            part.fixtures.push(fixture);
            part.recipes.push(Recipe {
                port: given.port(),
                standards: standards.sweeps.clone(),
                extension: extension(given),
                blanks: Vec::new(),
                blank_share: blank_share(given),
                strays: part.strays.as_ref().map(|named| named.strays),
                budget: part.budget.clone(),
            });
            parts.push(part);
        }
        for part in &mut parts {
            part.share_blanks(&blanks, &blank_names)?;
        }
        Ok(Gathered {
            parts,
            refused,
            notes: standards.notes,
        })
    }

    /// What all parts share.
    fn of_all(
        given: &Reduce,
        standards: &Standards,
        reader: &mut SweepReader,
    ) -> Result<Self, CommandError> {
        let instrument = given
            .instrument
            .as_deref()
            .map(NamedInstrument::named_or_read)
            .transpose()?;
        let strays = given
            .strays
            .as_deref()
            .map(NamedStrays::named_or_read)
            .transpose()?;
        let mut read: Vec<PathBuf> = given.calibration.iter().cloned().collect();
        read.extend(given.instrument.as_ref().map(PathBuf::from));
        read.extend(given.strays.as_ref().map(PathBuf::from));
        read.extend(standards.beside.iter().map(|(_, path)| PathBuf::from(path)));
        read.append(&mut reader.read);
        Ok(Self {
            names: Vec::new(),
            sweeps: Vec::new(),
            fixtures: Vec::new(),
            recipes: Vec::new(),
            instrument,
            connections: given.connections.unwrap_or(0),
            budget: None,
            strays,
            beside: standards.beside.clone(),
            calibration: given.calibration.as_deref().map(name_of),
            read,
            stdin_sha256: None,
        })
    }

    /// What all parts share, with the instrument's budget at the reference of one of them.
    fn with_budget(&self, sweep: &Sweep) -> Result<Self, CommandError> {
        let reference = ReferenceImpedance::new(sweep.references_ohm()[0])?;
        let budget = self
            .instrument
            .as_ref()
            .map(|named| named.budgets(reference, self.connections))
            .transpose()?;
        Ok(Self {
            budget,
            ..self.clone()
        })
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
        let wanted: usize = self
            .fixtures
            .iter()
            .copied()
            .map(|fixture| Blank::of(fixture).len())
            .sum();
        if wanted != blanks.len() {
            return Err(CommandError::Usage(format!(
                "{} {} for {} fixtures, expected {wanted}: one for each through fixture and two for \
                 reflect, in the order of the files",
                blanks.len(),
                if blanks.len() == 1 { "blank" } else { "blanks" },
                self.fixtures.len()
            )));
        }
        let mut from = 0;
        for at in 0..self.fixtures.len() {
            let fixture = self.fixtures[at];
            let to = from + Blank::of(fixture).len();
            self.recipes[at].blanks = blanks[from..to].to_vec();
            self.name_blanks(fixture, &names[from..to]);
            from = to;
        }
        Ok(())
    }

    fn name_blanks(&mut self, fixture: Fixture, names: &[String]) {
        let what = Blank::of(fixture).iter().copied().map(Beside::Blank);
        self.beside.extend(what.zip(names.iter().cloned()));
    }

    /// Files beside the part's but for blanks of the other fixtures.
    pub(super) fn beside_in(&self, fixture: Fixture) -> Vec<(Beside, String)> {
        let is_of = |what: &Beside| match what {
            Beside::Blank(blank) => Blank::of(fixture).contains(blank),
            _ => true,
        };
        let kept = self.beside.iter().filter(|(what, _)| is_of(what));
        kept.cloned().collect()
    }

    /// Files of the part that are given in another place as well, with what that is called.
    pub(super) fn given_twice(&self) -> Vec<(&str, Beside)> {
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

    /// Everything that was read, the part's own files first.
    pub(super) fn files(&self) -> Vec<String> {
        let beside = self.beside.iter().map(|(_, name)| name);
        let named = self.calibration.iter();
        self.names
            .iter()
            .chain(named)
            .chain(beside)
            .cloned()
            .collect()
    }

    /// The part's files in one line.
    pub(super) fn title(&self) -> String {
        self.names.join(", ")
    }

    /// What the ohms are of, for the head of a table: without a blank the fixture is in them.
    pub(super) fn what(&self) -> &'static str {
        if self.recipes.iter().all(|recipe| !recipe.blanks.is_empty()) {
            return "part";
        }
        "part and fixture"
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
        Ensemble::new(sweeps).map_err(|error| {
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

/// The files named, with those of each folder in the order of their names.
fn expanded(named: &[PathBuf]) -> Result<Vec<PathBuf>, CommandError> {
    let mut files = Vec::new();
    for path in named {
        if !path.is_dir() {
            files.push(path.clone());
            continue;
        }
        let refused = |error: std::io::Error| CommandError::InFile {
            file: path.display().to_string(),
            message: format!("the folder can't be read: {error}"),
        };
        let mut inside = Vec::new();
        for entry in fs::read_dir(path).map_err(refused)? {
            let file = entry.map_err(refused)?.path();
            if is_touchstone(&file) && file.is_file() {
                inside.push(file);
            }
        }
        if inside.is_empty() {
            return Err(CommandError::InFile {
                file: path.display().to_string(),
                message: "no sweep is in this folder; expected files that end in .s1p, .s2p or \
                          .ts"
                .to_owned(),
            });
        }
        inside.sort();
        files.append(&mut inside);
    }
    Ok(files)
}

/// True for the endings of one or two ports, and for that of version 2.
fn is_touchstone(path: &Path) -> bool {
    let ending = path.extension().unwrap_or_default().to_string_lossy();
    matches!(ending.to_ascii_lowercase().as_str(), "s1p" | "s2p" | "ts")
}

/// The part of a sweep that is asked for.
fn within(given: &Reduce, path: &Path, sweep: Sweep) -> Result<Sweep, CommandError> {
    if given.from.is_none() && given.to.is_none() {
        return Ok(sweep);
    }
    let (from, to) = (given.from.unwrap_or(0.0), given.to.unwrap_or(f64::INFINITY));
    sweep.between(from, to).ok_or_else(|| {
        let all = sweep.frequency_hz();
        CommandError::InFile {
            file: name_of(path),
            message: format!(
                "no point is left by --from and --to: the sweep runs from {} to {}",
                engineering(all[0], "Hz", 4),
                engineering(all[all.len() - 1], "Hz", 4)
            ),
        }
    })
}

pub(super) fn blank_share(given: &Reduce) -> f64 {
    given.blank_left.unwrap_or(LEFT_SHARE)
}

pub(super) fn delays(given: &Reduce) -> impl Iterator<Item = f64> {
    given
        .extend
        .iter()
        .flat_map(|delays| delays.0.iter().copied())
}

/// How far the planes are moved, port 1 first.
fn extension(given: &Reduce) -> [PortExtension; 2] {
    let given: Vec<f64> = delays(given).collect();
    let delays = match given[..] {
        [] => [0.0; 2],
        [one] => [one; 2],
        [one, two, ..] => [one, two],
    };
    delays.map(|one_way_delay_s| PortExtension {
        one_way_delay_s,
        ..PortExtension::default()
    })
}
