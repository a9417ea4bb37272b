//! What contradicts itself, or does nothing in this call, refused before anything is read.

use std::path::{Path, PathBuf};

use jigwise_physics::{Fixture, Port};
use jigwise_quantity::engineering;
use jigwise_touchstone::Sweep;

use super::Reduce;
use super::inputs::{blank_share, delays};
use super::sweep_reader::name_of;
use crate::{CommandError, FixtureArgument};

/// Refuses options that do nothing beside the others.
pub(super) fn options(given: &Reduce) -> Result<(), CommandError> {
    if !(0.0..=1.0).contains(&blank_share(given)) {
        return Err(CommandError::Usage(
            "--blank-left is a share of what the blanks take away; expected 0 to 100 %".to_owned(),
        ));
    }
    let is_reflect = given
        .fixture
        .iter()
        .all(|fixture| *fixture == FixtureArgument::Reflect);
    let idle = [
        (
            given.csv
                && given.model.is_some()
                && given.files.len() == 1
                && !given.files[0].is_dir(),
            "--model finds values of a circuit, and --csv lists points alone; leave one of them \
             out, or take --json, which holds both",
        ),
        (
            given.connections.is_some() && given.instrument.is_none(),
            "--connections counts in the uncertainty, and without --instrument there is none; \
             name the instrument, or leave --connections out",
        ),
        (
            given.blank_left.is_some() && given.blank.is_empty(),
            "--blank-left is a share of what the blanks take away, and there is no --blank; give \
             one, or leave --blank-left out",
        ),
        (
            given.blank_left.is_some() && given.instrument.is_none(),
            "--blank-left counts in the uncertainty, and without --instrument there is none; \
             name the instrument, or leave --blank-left out",
        ),
        (
            is_reflect && given.thru.is_some(),
            "--thru does nothing in reflect, which is corrected by open, short and load alone; \
             leave it out",
        ),
        (
            given.port.is_some() && !given.fixture.contains(&FixtureArgument::Reflect),
            "--port chooses the port of a part in reflect, and none of the fixtures is; leave it \
             out: a through fixture is read from port 1 to port 2",
        ),
    ];
    if let Some((_, why)) = idle.into_iter().find(|(is_idle, _)| *is_idle) {
        return Err(CommandError::Usage(why.to_owned()));
    }
    if let (Some(from), Some(to)) = (given.from, given.to)
        && from > to
    {
        return Err(CommandError::Usage(format!(
            "--from {} is above --to {}; exchange them",
            engineering(from, "Hz", 6),
            engineering(to, "Hz", 6)
        )));
    }
    Ok(())
}

/// Refuses fixtures that don't go with the files, and what is named once too often.
pub(super) fn fixtures(given: &Reduce, files: &[PathBuf]) -> Result<(), CommandError> {
    let (count, named) = (files.len(), given.fixture.len());
    if named > 1 && named != count {
        return Err(CommandError::Usage(format!(
            "{named} fixtures for {count} file{}; name one fixture for each file of the \
             part, in the same order, or one for all",
            if count == 1 { "" } else { "s" }
        )));
    }
    let delays = delays(given).count();
    if delays > 2 {
        return Err(CommandError::Usage(format!(
            "{delays} delays for --extend, expected one for both ports or two"
        )));
    }
    let all = files.iter().chain(&given.open).chain(&given.short);
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
    Ok(())
}

/// Refuses a port that no file of a part in reflect has.
pub(super) fn ports(
    given: &Reduce,
    fixtures: &[Fixture],
    read: &[(&PathBuf, Sweep)],
) -> Result<(), CommandError> {
    if given.port() == Port::One {
        return Ok(());
    }
    for (at, (path, sweep)) in read.iter().enumerate() {
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
