//! The standards that the command was given, by flags or in a calibration file.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jigwise_bench::words::fixture_key;
use jigwise_physics::{Fixture, Method, Port, ReferenceImpedance, ReflectionStandard};
use jigwise_reduce::{Beside, CalibrationFile, StandardSweeps, ports_of};
use jigwise_touchstone::Sweep;

use super::Reduce;
use super::sweep_reader::{SweepReader, name_of};
use crate::CommandError;

/// The standards and what is known of them beside their sweeps.
#[derive(Default)]
pub(super) struct Standards {
    pub(super) sweeps: Option<Arc<StandardSweeps>>,
    pub(super) beside: Vec<(Beside, String)>,
    pub(super) notes: Vec<String>,
}

pub(super) fn standards(
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
    let missing: Vec<String> = ReflectionStandard::ALL
        .into_iter()
        .filter(|of| files_of(given, *of).is_empty())
        .map(|of| format!("--{}", of.name()))
        .collect();
    if missing.len() == ReflectionStandard::ALL.len() && given.thru.is_none() {
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
    match &given.thru {
        Some(thru) => with_through(given, thru, reference, reader),
        None => Err(CommandError::Usage(format!(
            "{} needs a through as well: join the two ports where the part sits, sweep that, and \
             give the file with --thru",
            fixture_key(*through_fixture)
        ))),
    }
}

/// Open, short, load and through from their flags: a correction of both directions, or of one where
/// no more was measured.
fn with_through(
    given: &Reduce,
    thru: &Path,
    reference: ReferenceImpedance,
    reader: &mut SweepReader,
) -> Result<Standards, CommandError> {
    let mut standards = reflections(given, Method::BothDirections, reference, reader)?;
    let through = reader.sweep(thru)?;
    standards.beside.push((Beside::Through, name_of(thru)));
    let isolation = given.isolation.as_deref();
    let isolation = match isolation {
        Some(path) => {
            standards.beside.push((Beside::Isolation, name_of(path)));
            Some(reader.sweep(path)?)
        }
        None => None,
    };
    if let Some(sweeps) = standards.sweeps.as_mut().and_then(Arc::get_mut) {
        sweeps.through = Some(through);
        sweeps.isolation = isolation;
        let two_ways = sweeps
            .through
            .as_ref()
            .is_some_and(|t| !t.is_one_direction());
        if !sweeps.missing().is_empty() || !two_ways {
            sweeps.method = Method::OneDirection;
            let why = if two_ways {
                "the standards were measured at port 1 alone"
            } else {
                "the through was measured in one direction"
            };
            standards.notes.push(format!(
                "{why}, so the calibration is \"{}\": exact for a part that looks the same from \
                 both sides, as one part in a fixture does",
                Method::OneDirection
            ));
        }
    }
    Ok(standards)
}

/// The files given for a reflection standard.
fn files_of(given: &Reduce, of: ReflectionStandard) -> &[PathBuf] {
    match of {
        ReflectionStandard::Open => &given.open,
        ReflectionStandard::Short => &given.short,
        ReflectionStandard::Load => &given.load,
    }
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
    for of in ReflectionStandard::ALL {
        let found = reflection(files_of(given, of), reader)?;
        let slots = [of.of_mut(one), of.of_mut(two)];
        for ((port, slot), found) in Port::ALL.into_iter().zip(slots).zip(found) {
            let Some((sweep, name)) = found else { continue };
            beside.push((Beside::Standard(of, port), name));
            *slot = Some(sweep);
        }
    }
    Ok(Standards {
        sweeps: Some(Arc::new(sweeps)),
        beside,
        notes: Vec::new(),
    })
}

/// The sweeps of one standard at each port, port 1 first, with the names of their files: from
/// one file of both ports, or from one for each.
fn reflection(
    files: &[PathBuf],
    reader: &mut SweepReader,
) -> Result<[Option<(Sweep, String)>; 2], CommandError> {
    let in_file = |path: &Path, message: &str| CommandError::InFile {
        file: name_of(path),
        message: message.to_owned(),
    };
    let mut ports = |path: &Path| {
        let found = ports_of(reader.sweep(path)?).map_err(|message| in_file(path, &message))?;
        Ok::<_, CommandError>(found.map(|sweep| Some((sweep?, name_of(path)))))
    };
    match files {
        [] => Ok([None, None]),
        [both] => ports(both),
        [first, second] => {
            let [one, two] = ports(first)?;
            if two.is_some() {
                return Err(in_file(
                    first,
                    "holds both ports already; leave the second file of this standard out",
                ));
            }
            let [two, more] = ports(second)?;
            if more.is_some() {
                return Err(in_file(
                    second,
                    "has two ports, expected one: it is the standard at port 2",
                ));
            }
            Ok([one, two])
        }
        more => Err(CommandError::Usage(format!(
            "{} files for one standard, expected port 1 and port 2 at most",
            more.len()
        ))),
    }
}
