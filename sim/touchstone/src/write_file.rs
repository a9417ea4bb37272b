use std::fs::{self, File, OpenOptions};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

use crate::header::ports_of_name;
use crate::{Options, Sweep, Version, WriteError, write_to};

/// Names tried for the file beside, in case an earlier run left its own behind.
const TRIES: u32 = 100;

/// Writes a sweep to a file, whole or not at all: the text goes to a new file beside it, onto
/// the disk, and takes the old one's place only then. A run that is killed half way leaves the
/// old file as it was (and perhaps the new one beside it, named `.NAME.….part`).
///
/// Where `path` is a link, the link is replaced, not what it points to.
///
/// # Errors
/// [`WriteError`] where the name's ending contradicts the number of ports, the sweep can't be
/// said in this version, or the system refuses.
pub fn write_file(
    path: impl AsRef<Path>,
    sweep: &Sweep,
    options: &Options,
) -> Result<(), WriteError> {
    let path = path.as_ref();
    let name = path.display().to_string();
    let ports = sweep.ports();
    let fits = match ports_of_name(&name) {
        Some(named) => named == ports,
        None => options.version != Version::One,
    };
    if !fits {
        return Err(WriteError::Name { file: name, ports });
    }
    let written = write_whole(path, |out| write_to(out, sweep, options));
    written.map_err(|error| match error {
        WriteError::Io { file: None, source } => WriteError::Io {
            file: Some(name),
            source,
        },
        other => other,
    })
}

/// Writes any file whole or not at all, in the way of [`write_file`].
///
/// # Errors
/// What `write` returns, and what the system refuses; the old file is left as it was.
pub fn write_whole<E: From<io::Error>>(
    path: &Path,
    write: impl FnOnce(&mut BufWriter<&File>) -> Result<(), E>,
) -> Result<(), E> {
    let (beside, file) = create_beside(path)?;
    let filled = (|| {
        let mut out = BufWriter::new(&file);
        write(&mut out)?;
        out.flush()?;
        file.sync_all()?;
        drop(out);
        fs::rename(&beside, path)?;
        Ok::<(), E>(())
    })();
    if filled.is_err() {
        // The first error is the one to report; what is left over does no harm.
        let _ = fs::remove_file(&beside);
        return filled;
    }
    // The new name itself has to reach the disk too. Where folders can't be opened the system
    // does that by itself.
    if let Ok(folder) = File::open(folder_of(path)) {
        let _ = folder.sync_all();
    }
    Ok(())
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

fn create_beside(path: &Path) -> io::Result<(PathBuf, File)> {
    let Some(name) = path.file_name() else {
        return Err(io::Error::new(ErrorKind::InvalidInput, "no file name"));
    };
    for number in 0..TRIES {
        let mut beside = std::ffi::OsString::from(".");
        beside.push(name);
        beside.push(format!(".{}-{number}.part", std::process::id()));
        let beside = folder_of(path).join(beside);
        match OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&beside)
        {
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            opened => return opened.map(|file| (beside, file)),
        }
    }
    Err(io::Error::new(
        ErrorKind::AlreadyExists,
        "too many unfinished files beside it; delete those that end in .part",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A writer that fails half way leaves the old file and nothing beside it.
    #[test]
    fn a_failure_half_way_changes_nothing() {
        let folder = std::env::temp_dir().join(format!("jigwise-write-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let path = folder.join("coil.s1p");
        fs::write(&path, "old").unwrap();
        let failed = write_whole::<WriteError>(&path, |out| {
            out.write_all(&[b'n'; 100_000])?;
            out.flush()?;
            Err(io::Error::other("disk full").into())
        });
        assert!(failed.is_err());
        assert_eq!(fs::read_to_string(&path).unwrap(), "old");
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
        fs::remove_dir_all(&folder).unwrap();
    }
}
