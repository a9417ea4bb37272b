//! A sweep written to a file, whole or not at all.

use std::path::Path;

use jigwise_bench::shell::write_whole;
use jigwise_touchstone::{Options, Sweep, WriteError, check_name, write_to};

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
