//! Files that are written whole or not at all.

use std::io::{self, ErrorKind};
use std::path::Path;

use super::{Staged, Taken, WholeFile};

/// Writes a file as a set of one, [`Staged`]: the old one is replaced only by a whole new one.
///
/// Where `path` is a link, the link is replaced, not what it points to.
///
/// # Errors
/// What `write` returns, and what the system refuses; the old file is left as it was.
pub fn write_whole<E: From<io::Error>>(
    path: &Path,
    write: impl FnOnce(&mut WholeFile<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let Some(name) = path.file_name() else {
        return Err(io::Error::new(ErrorKind::InvalidInput, "no file name").into());
    };
    let staged = Staged::begin(folder_of(path), name)?;
    staged.write(name, write)?;
    staged.publish(Taken::Replace)?;
    Ok(())
}

/// The folder that a path is in, as the system takes it.
pub fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::io::Write;

    use super::*;

    /// A writer that fails half way leaves the old file and nothing beside it.
    #[test]
    fn a_failure_half_way_changes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("coil.s1p");
        fs::write(&path, "old").unwrap();
        let failed = write_whole::<io::Error>(&path, |out| {
            out.write_all(&[b'n'; 100_000])?;
            out.flush()?;
            Err(io::Error::other("disk full"))
        });
        assert!(failed.is_err());
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_folder_is_never_replaced_by_a_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("thesis");
        fs::create_dir(&path).unwrap();
        fs::write(path.join("chapter.txt"), "years").unwrap();
        let refused = write_whole::<io::Error>(&path, |out| out.write_all(b"new"));
        assert_eq!(refused.unwrap_err().kind(), ErrorKind::IsADirectory);
        let kept = fs::read_to_string(path.join("chapter.txt")).unwrap();
        assert_eq!(kept, "years");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    /// A file replaced is one that others may read, as any file that a program makes.
    #[test]
    #[cfg(unix)]
    fn a_file_has_the_usual_permissions() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let mode = |name: &str| {
            let found = fs::metadata(folder.path().join(name)).unwrap();
            found.permissions().mode()
        };
        fs::write(folder.path().join("usual"), "").unwrap();
        let path = folder.path().join("whole");
        write_whole::<io::Error>(&path, |out| out.write_all(b"new")).unwrap();
        assert_eq!(mode("whole"), mode("usual"));
    }
}
