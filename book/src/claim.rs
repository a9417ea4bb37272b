//! Whose a folder is. A build empties its folder first, so it touches only one that a build made.

use std::fmt;
use std::path::{Path, PathBuf};
use std::{fs, io};

/// The file that says whose a folder is.
pub const MARKER: &str = ".jigwise-book";

const SAYS: &str = "Made by cargo book build, which empties this folder before it writes into it \
                    again.\nTake this file away, and no build touches the folder.\n";

/// Why a folder can't be built into.
#[derive(Debug)]
pub enum ClaimError {
    /// Something that no build made is in the folder.
    NotOurs(PathBuf),
    /// It is no folder.
    NoFolder(PathBuf),
    /// The system refuses.
    System(PathBuf, io::Error),
}

impl std::error::Error for ClaimError {}

impl fmt::Display for ClaimError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotOurs(folder) => write!(
                f,
                "{} holds files that no build of the book made, and a build empties its folder. \
                 Nothing was changed. Name a new or an empty folder with --out, or move those \
                 files away",
                folder.display()
            ),
            Self::NoFolder(path) => write!(
                f,
                "{} is a file, and the book is a folder; name another with --out",
                path.display()
            ),
            Self::System(path, error) => write!(
                f,
                "{} can't be written ({error}); name another folder with --out",
                path.display()
            ),
        }
    }
}

/// Makes sure that nothing of somebody else's is in `folder`: it is new, empty or a build's.
///
/// # Errors
/// [`ClaimError`], with everything left as it was.
pub(crate) fn claim(folder: &Path) -> Result<(), ClaimError> {
    let system = |error| ClaimError::System(folder.to_owned(), error);
    match fs::metadata(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            fs::create_dir_all(folder).map_err(system)?;
        }
        Err(error) => return Err(system(error)),
        Ok(about) if !about.is_dir() => return Err(ClaimError::NoFolder(folder.to_owned())),
        Ok(_) => {
            let is_empty = fs::read_dir(folder).map_err(system)?.next().is_none();
            if !is_empty && !folder.join(MARKER).is_file() {
                return Err(ClaimError::NotOurs(folder.to_owned()));
            }
        }
    }
    mark(folder)
}

/// Says that a build made what is in `folder`.
///
/// # Errors
/// [`ClaimError::System`].
pub(crate) fn mark(folder: &Path) -> Result<(), ClaimError> {
    fs::write(folder.join(MARKER), SAYS)
        .map_err(|error| ClaimError::System(folder.to_owned(), error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn new_empty_and_own_folders_are_taken() {
        let scratch = tempfile::tempdir().unwrap();
        let folder = scratch.path().join("a/b");
        claim(&folder).unwrap();
        fs::write(folder.join("index.html"), "").unwrap();
        claim(&folder).unwrap();
    }

    #[test]
    fn what_somebody_else_put_there_stays() {
        let scratch = tempfile::tempdir().unwrap();
        let file = scratch.path().join("thesis.txt");
        fs::write(&file, "years of work").unwrap();
        let refused = claim(scratch.path()).unwrap_err();
        assert!(matches!(refused, ClaimError::NotOurs(_)));
        assert!(refused.to_string().contains("--out"), "{refused}");
        assert!(matches!(claim(&file), Err(ClaimError::NoFolder(_))));
        assert_eq!(fs::read_to_string(&file).unwrap(), "years of work");
        assert_eq!(fs::read_dir(scratch.path()).unwrap().count(), 1);
    }
}
