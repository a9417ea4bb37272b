//! What the command was given, read and put together.

use std::fs;
use std::path::{Path, PathBuf};

use jigwise_bench::{Blank, NamedInstrument, NamedStrays};
use jigwise_physics::{Bands, Fixture, LEFT_SHARE, Port, PortExtension, ReferenceImpedance};
use jigwise_reduce::{Beside, Ensemble, EnsembleError, Recipe, ReduceError, Reducer};
use jigwise_touchstone::Sweep;

use super::Reduce;
use super::standards::standards;
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
    pub(super) budget: Option<Bands>,
    pub(super) strays: Option<NamedStrays>,
    /// Files beside the part's, with what each is of.
    pub(super) beside: Vec<(Beside, String)>,
    /// The calibration file.
    pub(super) calibration: Option<String>,
    /// Everything that was read; never written over.
    pub(super) read: Vec<PathBuf>,
}

impl Inputs {
    /// Reads everything; a part for each entry, and what should be said.
    pub(super) fn gather(given: &Reduce) -> Result<(Vec<Self>, Vec<String>), CommandError> {
        check(given)?;
        let fixtures: Vec<Fixture> = given.fixture.iter().map(|f| (*f).into()).collect();
        let mut reader = SweepReader::default();
        let sweeps = reader.sweeps(&given.files)?;
        let reference = ReferenceImpedance::new(sweeps[0].references_ohm()[0])?;
        let standards = standards(given, &fixtures, reference, &mut reader)?;
        check_ports(given, &fixtures, &sweeps)?;
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
        let blanks = reader.sweeps(&given.blank)?;
        let blank_names: Vec<String> = given.blank.iter().map(|path| name_of(path)).collect();
        let mut read = reader.read;
        read.extend(given.calibration.clone());
        read.extend(given.instrument.as_ref().map(PathBuf::from));
        read.extend(given.strays.as_ref().map(PathBuf::from));
        for (_, path) in &standards.beside {
            read.push(PathBuf::from(path));
        }
        let of_all = Self {
            names: Vec::new(),
            sweeps: Vec::new(),
            fixtures: Vec::new(),
            recipes: Vec::new(),
            instrument,
            budget: None,
            strays,
            beside: standards.beside,
            calibration: given.calibration.as_deref().map(name_of),
            read,
        };
        // One fixture for all files makes each a part of its own.
        let one_part = fixtures.len() > 1;
        let mut parts: Vec<Self> = Vec::new();
        for (at, (sweep, path)) in sweeps.into_iter().zip(&given.files).enumerate() {
            let fixture = if one_part { fixtures[at] } else { fixtures[0] };
            let mut part = match parts.pop_if(|_| one_part) {
                Some(begun) => begun,
                None => of_all.with_budget(&sweep, given.connections)?,
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
        Ok((parts, standards.notes))
    }

    /// What all parts share, with the instrument's budget at the reference of one of them.
    fn with_budget(&self, sweep: &Sweep, connections: u32) -> Result<Self, CommandError> {
        let reference = ReferenceImpedance::new(sweep.references_ohm()[0])?;
        let budget = self
            .instrument
            .as_ref()
            .map(|named| named.budgets(reference, connections))
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
                "{} blanks for {} fixtures, expected {wanted}: one for each through fixture and \
                 two for reflect, in the order of the files",
                blanks.len(),
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

/// Refuses what contradicts itself before anything is read.
fn check(given: &Reduce) -> Result<(), CommandError> {
    let (files, named) = (given.files.len(), given.fixture.len());
    if named > 1 && named != files {
        return Err(CommandError::Usage(format!(
            "{named} fixtures for {files} file{}; name one fixture for each file of the \
             part, in the same order, or one for all",
            if files == 1 { "" } else { "s" }
        )));
    }
    let delays = delays(given).count();
    if delays > 2 {
        return Err(CommandError::Usage(format!(
            "{delays} delays for --extend, expected one for both ports or two"
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
    if !(0.0..=1.0).contains(&blank_share(given)) {
        return Err(CommandError::Usage(
            "--blank-left is a share of what the blanks take away; expected 0 to 100 %".to_owned(),
        ));
    }
    Ok(())
}

/// Refuses a port that no file of a part in reflect has.
fn check_ports(given: &Reduce, fixtures: &[Fixture], sweeps: &[Sweep]) -> Result<(), CommandError> {
    if given.port() == Port::One {
        return Ok(());
    }
    if !fixtures.contains(&Fixture::Reflect) {
        return Err(CommandError::Usage(
            "--port chooses the port of a part in reflect, and none of the fixtures is; leave it \
             out: a through fixture is read from port 1 to port 2"
                .to_owned(),
        ));
    }
    let all = sweeps.iter().zip(&given.files).enumerate();
    for (at, (sweep, path)) in all {
        let fixture = fixtures.get(at).unwrap_or(&fixtures[0]);
        if *fixture == Fixture::Reflect && sweep.ports() < 2 {
            return Err(CommandError::InFile {
                file: name_of(path),
                message: "has one port, and --port 2 asks for the second; give a file with both \
                          (.s2p), or leave --port out"
                    .to_owned(),
            });
        }
    }
    Ok(())
}

fn blank_share(given: &Reduce) -> f64 {
    given.blank_left.unwrap_or(LEFT_SHARE)
}

fn delays(given: &Reduce) -> impl Iterator<Item = f64> {
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
