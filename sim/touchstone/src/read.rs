use std::io::{BufRead, BufReader};
use std::path::Path;

use crate::error::TouchstoneError;
use crate::problem::Problem;
use crate::{Entry, Records, Sweep, files};

/// Bytes taken from a file at a time.
const BUFFER: usize = 1 << 16;
/// Points for which room is made at most before they are seen, whatever a file announces.
const MOST_ANNOUNCED: usize = 1 << 12;

/// Reads a file of any version and number of ports.
///
/// Takes memory for the data (8 bytes a frequency, 16 an S-parameter) and, while they grow, up
/// to twice that again; the text is never held as a whole.
///
/// # Errors
/// [`TouchstoneError`] with file, line and column: what was found, what was expected, what to
/// do next.
pub fn read_file(path: impl AsRef<Path>) -> Result<Sweep, TouchstoneError> {
    let path = path.as_ref();
    let name = path.display().to_string();
    if path.is_dir() {
        return Err(TouchstoneError::whole(&name, Problem::Folder));
    }
    let file = files::open(path).map_err(|error| {
        TouchstoneError::whole(
            &name,
            Problem::Unreadable {
                reason: error.to_string(),
            },
        )
    })?;
    read_from(BufReader::with_capacity(BUFFER, file), &name)
}

/// Reads a file's content. The extension of `name` (.s1p, .s2p, …) tells the number of ports
/// of a version 1 file; with any other name it is taken from the shape of the first record.
///
/// Bytes outside ASCII are accepted in comments only, where old exporters leave them.
///
/// # Errors
/// As [`read_file`].
pub fn read_text(bytes: &[u8], name: &str) -> Result<Sweep, TouchstoneError> {
    read_from(bytes, name)
}

/// Reads a source to its end; `name` as for [`read_text`].
///
/// # Errors
/// As [`read_file`].
pub fn read_from(source: impl BufRead, name: &str) -> Result<Sweep, TouchstoneError> {
    let mut records = Records::new(source, name)?;
    let room = records.announced().unwrap_or(0).min(MOST_ANNOUNCED);
    let mut frequency_hz = Vec::with_capacity(room);
    let mut values = Vec::new();
    let mut noise = Vec::new();
    while let Some(entry) = records.next_entry()? {
        match entry {
            Entry::Point { freq_hz, s } => {
                frequency_hz.push(freq_hz);
                values.extend_from_slice(s);
            }
            Entry::Noise(point) => noise.push(point),
        }
    }
    frequency_hz.shrink_to_fit();
    values.shrink_to_fit();
    Ok(Sweep {
        ports: records.ports(),
        references_ohm: records.references_ohm().to_vec(),
        frequency_hz,
        s: values,
        noise,
        modes: records.modes().to_vec(),
        comments: records.comments().to_vec(),
        remarks: records.remarks().to_vec(),
    })
}
