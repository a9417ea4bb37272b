//! Sweeps and sets of files, whole or not at all.

use std::ffi::OsStr;
use std::io::{self, ErrorKind};
use std::path::Path;

use jigwise_bench::shell::{Staged, Taken, WholeFile, folder_of, write_whole};
use jigwise_touchstone::{Options, Sweep, WriteError, check_name, write_to};

use crate::CommandError;

/// Writes a sweep to a file, whole or not at all, as [`write_whole`].
///
/// # Errors
/// [`WriteError`] where the name's ending contradicts the number of ports, the sweep can't be
/// said in this version, or the system refuses.
pub fn write_sweep(
    path: impl AsRef<Path>,
    sweep: &Sweep,
    options: &Options,
) -> Result<(), WriteError> {
    let path = path.as_ref();
    let name = path.display().to_string();
    check_name(&name, sweep, options)?;
    write_whole(path, |out| write_to(out, sweep, options)).map_err(|error| match error {
        WriteError::Io { file: None, source } => WriteError::Io {
            file: Some(name),
            source,
        },
        other => other,
    })
}

/// Files of one folder that appear as one.
pub(crate) struct Set<'a> {
    staged: Staged,
    paths: Vec<&'a Path>,
    taken: Taken,
}

impl<'a> Set<'a> {
    /// Begins a set of `paths`, which share their folder.
    ///
    /// # Errors
    /// Where a path is taken and that is refused, or the folder can't be written to.
    pub(crate) fn begin(paths: &[&'a Path], taken: Taken) -> Result<Self, CommandError> {
        let set_name = paths.first().and_then(|path| path.file_name());
        let (Some(first), Some(name)) = (paths.first(), set_name) else {
            return Err(CommandError::Usage(
                "--out names no file; give one, for example --out choke.s2p".to_owned(),
            ));
        };
        for path in paths {
            if path.is_dir() {
                return Err(CommandError::InFile {
                    file: path.display().to_string(),
                    message: "is a folder, expected a name for the file; add one, for example \
                              choke.s2p"
                        .to_owned(),
                });
            }
            if taken == Taken::Refuse && path.symlink_metadata().is_ok() {
                return Err(is_taken(path));
            }
        }
        Ok(Self {
            staged: Staged::begin(folder_of(first), name)
                .map_err(|error| in_file(folder_of(first), error.into()))?,
            paths: paths.to_vec(),
            taken,
        })
    }

    /// Writes the file that will be at `path`.
    pub(crate) fn write(
        &self,
        path: &Path,
        write: impl FnOnce(&mut WholeFile<'_>) -> Result<(), CommandError>,
    ) -> Result<(), CommandError> {
        self.staged
            .write(path.file_name().unwrap_or(OsStr::new("")), write)
    }

    /// Puts all of them in their places.
    pub(crate) fn publish(self) -> Result<(), CommandError> {
        let paths = self.paths;
        self.staged.publish(self.taken).map_err(|error| {
            let made_meanwhile = paths.iter().find(|path| path.symlink_metadata().is_ok());
            match made_meanwhile {
                Some(path) if error.kind() == ErrorKind::AlreadyExists => is_taken(path),
                _ => in_file(paths[0], error.into()),
            }
        })
    }
}

/// Why nothing was written.
pub(crate) fn is_taken(path: &Path) -> CommandError {
    CommandError::InFile {
        file: path.display().to_string(),
        message: "is there already, and nothing was written; name another with --out, or add \
                  --replace to put the new one in its place"
            .to_owned(),
    }
}

/// What the system refused, with the file that it is about.
pub(crate) fn in_file(path: &Path, error: CommandError) -> CommandError {
    let source = match error {
        CommandError::Output(source) => source,
        CommandError::Write(WriteError::Io { source, .. }) => source,
        other => return other,
    };
    CommandError::InFile {
        file: path.display().to_string(),
        message: format!("can't be written: {}", refused_by_system(&source)),
    }
}

/// What the system refuses to write, in plain words, with what to do.
pub(crate) fn refused_by_system(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            "the disk is full; nothing was changed. Make room, or write elsewhere".to_owned()
        }
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "the system doesn't allow it; nothing was changed. Check the permissions of the \
             folder, or write elsewhere"
                .to_owned()
        }
        ErrorKind::NotFound => {
            "its folder is not there; make the folder first, or check its name".to_owned()
        }
        ErrorKind::NotADirectory => {
            "a part of the path is a file and no folder; check the path".to_owned()
        }
        _ => format!("the system says \"{error}\"; check the folder and the room on the disk"),
    }
}
