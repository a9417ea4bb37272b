//! Files that a page holds, whole or not at all.

use std::io;
use std::path::Path;

use jigwise_touchstone::files::hold;

/// A file on its way into what the page holds.
pub type WholeFile<'a> = &'a mut Vec<u8>;

/// Writes a file into what the page holds, if `write` comes to its end.
///
/// # Errors
/// What `write` returns; a file of that name is left as it was.
pub fn write_whole<E: From<io::Error>>(
    path: &Path,
    write: impl FnOnce(&mut WholeFile<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let mut bytes = Vec::new();
    write(&mut &mut bytes)?;
    hold(path, bytes);
    Ok(())
}
