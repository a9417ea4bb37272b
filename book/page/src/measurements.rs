//! Where measured sweeps come from: this crate opens no file.

use std::fmt;
use std::sync::Arc;

use jigwise_bench::{ReferenceImpedance, Sweep};
use jigwise_reduce::StandardSweeps;

/// Folders of measured sweeps. The press reads the shipped ones from files; a page in a
/// browser may hold its own.
pub trait Measurements {
    /// Finds out whether there is a folder of that name.
    ///
    /// # Errors
    /// [`MeasurementError`] naming the place that was looked at.
    fn find(&self, folder: &str) -> Result<(), MeasurementError>;

    /// The sweep of a file in a folder.
    ///
    /// # Errors
    /// [`MeasurementError`] naming file and line.
    fn sweep(&self, folder: &str, file: &str) -> Result<Sweep, MeasurementError>;

    /// The standards that a calibration file in a folder names.
    ///
    /// # Errors
    /// [`MeasurementError`] naming file, line and value.
    fn standards(
        &self,
        folder: &str,
        file: &str,
        reference: ReferenceImpedance,
    ) -> Result<Arc<StandardSweeps>, MeasurementError>;
}

/// A measurement that can't be had, in a sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MeasurementError {
    message: String,
}

impl MeasurementError {
    /// An error from its sentence, which names the file and what to do next.
    pub fn new(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
        }
    }
}

impl std::error::Error for MeasurementError {}

impl fmt::Display for MeasurementError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

/// No measurements at all: for a page whose blocks are all of scenarios.
#[derive(Debug, Clone, Copy)]
pub struct NoMeasurements;

impl NoMeasurements {
    fn none(folder: &str) -> MeasurementError {
        MeasurementError::new(format!(
            "there is no measurement \"{folder}\" here; show a scenario instead"
        ))
    }
}

impl Measurements for NoMeasurements {
    fn find(&self, folder: &str) -> Result<(), MeasurementError> {
        Err(Self::none(folder))
    }

    fn sweep(&self, folder: &str, _file: &str) -> Result<Sweep, MeasurementError> {
        Err(Self::none(folder))
    }

    fn standards(
        &self,
        folder: &str,
        _file: &str,
        _reference: ReferenceImpedance,
    ) -> Result<Arc<StandardSweeps>, MeasurementError> {
        Err(Self::none(folder))
    }
}
