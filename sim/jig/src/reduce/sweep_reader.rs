//! Sweeps from files and from the standard input.

use std::io::Read;
use std::path::{Path, PathBuf};

use jigwise_reduce::SweepsAhead;
use jigwise_touchstone::{Sweep, read_text};

use super::provenance::digest;
use crate::CommandError;

/// Reads sweeps and keeps their paths.
#[derive(Default)]
pub(super) struct SweepReader {
    pub(super) read: Vec<PathBuf>,
    /// The digest of what came from the standard input, which can't be read again.
    pub(super) stdin_sha256: Option<String>,
    ahead: SweepsAhead,
}

/// What the standard input goes by.
pub(super) const STANDARD_INPUT: &str = "standard input";

/// A file as errors and reports call it.
pub(super) fn name_of(path: &Path) -> String {
    if path == Path::new("-") {
        STANDARD_INPUT.to_owned()
    } else {
        path.display().to_string()
    }
}

impl SweepReader {
    /// Reads what will be asked for, on all cores.
    pub(super) fn read_ahead<'a>(&mut self, paths: impl IntoIterator<Item = &'a PathBuf>) {
        let files = paths.into_iter().filter(|path| path.as_os_str() != "-");
        self.ahead = SweepsAhead::of(&files.cloned().collect::<Vec<_>>());
    }

    pub(super) fn sweep(&mut self, path: &Path) -> Result<Sweep, CommandError> {
        if path != Path::new("-") {
            self.read.push(path.to_owned());
            return Ok(self.ahead.take(path)?);
        }
        let mut text = Vec::new();
        std::io::stdin()
            .lock()
            .read_to_end(&mut text)
            .map_err(|error| CommandError::InFile {
                file: STANDARD_INPUT.to_owned(),
                message: format!("can't be read: {error}"),
            })?;
        self.stdin_sha256 = Some(digest(&text));
        Ok(read_text(&text, STANDARD_INPUT)?)
    }

    /// Several of them.
    pub(super) fn sweeps(&mut self, paths: &[PathBuf]) -> Result<Vec<Sweep>, CommandError> {
        paths.iter().map(|path| self.sweep(path)).collect()
    }
}
