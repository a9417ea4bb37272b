//! Sweeps read before they are asked for.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use jigwise_touchstone::{Sweep, TouchstoneError, read_file};

use crate::cores::each_on_all_cores;

/// Sweeps from files, read on all cores: a calibration has up to a dozen of them.
#[derive(Debug, Default)]
pub struct SweepsAhead(HashMap<PathBuf, Result<Sweep, TouchstoneError>>);

impl SweepsAhead {
    /// Reads files; what is wrong with one is said when it is asked for.
    pub fn of(paths: &[PathBuf]) -> Self {
        let read = each_on_all_cores(paths, |path| read_file(path));
        Self(paths.iter().cloned().zip(read).collect())
    }

    /// A file's sweep, read now where it was not read before.
    ///
    /// # Errors
    /// What [`read_file`] refuses.
    pub fn take(&mut self, path: &Path) -> Result<Sweep, TouchstoneError> {
        self.0.remove(path).unwrap_or_else(|| read_file(path))
    }
}
