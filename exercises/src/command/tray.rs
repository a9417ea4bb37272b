//! `lab tray`: a folder of trays, whole or not at all.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::Args;
use jigwise_bench::shell::{Progress, Staged, Taken, folder_of};

use super::CommandError;
use crate::tray::{self, KEY_PATH, MOST_GROUPS, Seed, TrayFile, TraySet};

#[derive(Args)]
pub(super) struct Arguments {
    /// The lab, as `lab labs` prints it.
    #[arg(long)]
    lab: String,
    /// How many trays: one for each group, or for each student who works alone.
    #[arg(long, value_name = "COUNT")]
    class: String,
    /// The folder to make.
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// The same trays again: the seed that a key holds. Without it the seed comes from the operating
    /// system.
    #[arg(long)]
    seed: Option<String>,
    /// Replace a folder of trays that is there already.
    #[arg(long)]
    replace: bool,
}

pub(super) fn list(out: &mut dyn Write) -> io::Result<()> {
    let width = tray::labs().iter().map(|lab| lab.key().len()).max();
    let width = width.unwrap_or(0);
    for lab in tray::labs() {
        writeln!(
            out,
            "{:width$}  {} ({} min)",
            lab.key(),
            lab.title(),
            lab.minutes()
        )?;
    }
    Ok(())
}

pub(super) fn make(
    arguments: &Arguments,
    out: &mut dyn Write,
    err: &mut dyn Write,
) -> Result<(), CommandError> {
    let said = |error: &dyn std::fmt::Display| CommandError::Said(error.to_string());
    let lab = tray::lab(&arguments.lab).map_err(|error| said(&error))?;
    let groups = jigwise_bench::parse_count(&arguments.class, 1, MOST_GROUPS.into())
        .map_err(|error| CommandError::Said(format!("--class: {error}")))?;
    let seed = match &arguments.seed {
        Some(text) => text.parse::<Seed>().map_err(|error| said(&error))?,
        None => drawn()?,
    };
    if !seed.is_sealed() {
        writeln!(err, "lab: {}", Seed::SHORT)?;
    }
    // The count is at most MOST_GROUPS.
    let set = TraySet::new(lab, seed, groups as u32);
    let place = &arguments.out;
    check_place(place, arguments.replace)?;
    written_whole(place, |folder| {
        let progress = Progress::new("making trays");
        for number in 1..=set.groups() {
            let group = set.group(number)?;
            for file in set.files_of(&group)? {
                write(folder, &file)?;
            }
            progress.at(f64::from(number) / f64::from(set.groups()));
        }
        for file in set.teachers_files()? {
            write(folder, &file)?;
        }
        Ok(())
    })?;
    writeln!(
        out,
        "{}: {}. Hand out the folders group-…; {} is for you alone.",
        place.display(),
        set.title(),
        place.join(KEY_PATH).display()
    )?;
    Ok(())
}

/// 128 bits from the operating system.
fn drawn() -> Result<Seed, CommandError> {
    let mut bits = [0; 16];
    getrandom::fill(&mut bits).map_err(|error| {
        CommandError::Said(format!(
            "the operating system gives no random bits ({error}); give --seed with 32 hexadecimal \
             digits that nobody can guess"
        ))
    })?;
    Ok(Seed::new(bits))
}

/// A folder of trays is replaced where that is asked for, and nothing else ever.
fn check_place(place: &Path, replace: bool) -> Result<(), CommandError> {
    let is_empty = |folder: &Path| fs::read_dir(folder).is_ok_and(|mut dir| dir.next().is_none());
    if !place.exists() || is_empty(place) {
        return Ok(());
    }
    let message = match (replace, place.join(KEY_PATH).exists()) {
        (true, true) => return strangers(place),
        (false, true) => "holds trays already; name another folder with --out, or give --replace",
        _ => "is there and holds no trays; name another folder with --out",
    };
    Err(CommandError::Said(format!("{} {message}", place.display())))
}

/// What somebody has put beside the trays is not thrown away with them.
fn strangers(place: &Path) -> Result<(), CommandError> {
    let fault = |error| CommandError::File {
        path: place.to_owned(),
        error,
    };
    for entry in fs::read_dir(place).map_err(fault)? {
        let name = entry.map_err(fault)?.file_name();
        let known = name.as_encoded_bytes();
        if known != b"teacher" && !known.starts_with(b"group-") {
            return Err(CommandError::Said(format!(
                "{} holds {} too, which is no tray and would be lost; move it out, or name another \
                 folder with --out",
                place.display(),
                name.to_string_lossy()
            )));
        }
    }
    Ok(())
}

fn write(folder: &Path, file: &TrayFile) -> Result<(), CommandError> {
    let path = folder.join(&file.path);
    let fault = |error| CommandError::File {
        path: path.clone(),
        error,
    };
    if let Some(parent) = path.parent() {
        fs::create_dir_all(parent).map_err(fault)?;
    }
    fs::write(&path, &file.bytes).map_err(fault)
}

/// Makes a folder that appears when all of it is written. Whoever calls has judged what stands in
/// its place.
pub(super) fn written_whole(
    place: &Path,
    write: impl FnOnce(&Path) -> Result<(), CommandError>,
) -> Result<(), CommandError> {
    let fault = |error| CommandError::File {
        path: place.to_owned(),
        error,
    };
    let name = place
        .file_name()
        .ok_or_else(|| fault(io::Error::from(io::ErrorKind::InvalidFilename)))?;
    let beside = folder_of(place);
    fs::create_dir_all(beside).map_err(fault)?;
    let staged = Staged::begin(beside, name).map_err(fault)?;
    staged.make_folder(name).map_err(fault)?;
    write(&staged.path(name))?;
    staged.publish(Taken::Replace).map_err(fault)
}
