//! Files that are written whole or not at all.

use std::fs::File;
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::Path;

use tempfile::Builder;

/// A file on its way onto the disk.
pub type WholeFile<'a> = BufWriter<&'a File>;

/// Writes a file: the text goes to a new file beside it, onto the disk, and takes the old one's
/// place only then. A run that is killed half way leaves the old file as it was (and perhaps the
/// new one beside it, named `.NAME.….part`).
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
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let mut prefix = std::ffi::OsString::from(".");
    prefix.push(name);
    prefix.push(".");
    // Made as any new file is, so that others may read it; a temporary one would be the owner's
    // alone.
    let beside = Builder::new()
        .prefix(&prefix)
        .suffix(".part")
        .make_in(folder, |path| File::create_new(path))?;
    let mut out = BufWriter::new(beside.as_file());
    write(&mut out)?;
    out.flush()?;
    drop(out);
    beside.as_file().sync_all()?;
    beside.persist(path).map_err(|error| error.error)?;
    // The new name itself has to reach the disk too. Where folders can't be opened the system
    // does that by itself.
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::fs;

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
