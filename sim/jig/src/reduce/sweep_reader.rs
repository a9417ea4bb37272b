//! Sweeps from files and from the standard input.

use std::path::{Path, PathBuf};

use jigwise_touchstone::{Sweep, read_file, read_from};

use crate::CommandError;

/// Reads sweeps and keeps their paths.
#[derive(Default)]
pub(super) struct SweepReader {
    pub(super) read: Vec<PathBuf>,
}

/// What the standard input goes by.
const STANDARD_INPUT: &str = "standard input";

/// A file as errors and reports call it.
pub(super) fn name_of(path: &Path) -> String {
    if path == Path::new("-") {
        STANDARD_INPUT.to_owned()
    } else {
        path.display().to_string()
    }
}

impl SweepReader {
    pub(super) fn sweep(&mut self, path: &Path) -> Result<Sweep, CommandError> {
        if path != Path::new("-") {
            self.read.push(path.to_owned());
            return Ok(read_file(path)?);
        }
        Ok(read_from(std::io::stdin().lock(), STANDARD_INPUT)?)
    }

    /// Several of them.
    pub(super) fn sweeps(&mut self, paths: &[PathBuf]) -> Result<Vec<Sweep>, CommandError> {
        paths.iter().map(|path| self.sweep(path)).collect()
    }
}
