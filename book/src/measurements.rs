//! The shipped measurements, read from their files.

use std::fmt::Display;
use std::path::PathBuf;
use std::sync::Arc;

use jigwise_bench::{ReferenceImpedance, Sweep, read_file};
use jigwise_page::{MeasurementError, Measurements};
use jigwise_reduce::{CalibrationFile, StandardSweeps};

use crate::folders::{project, without_project};

/// Where they are, below the project.
const MEASUREMENTS: &str = "exercises/measurements";

/// The measurements that come with the project.
pub(crate) struct Shipped;

fn path(folder: &str) -> PathBuf {
    project().join(MEASUREMENTS).join(folder)
}

fn refused(error: impl Display) -> MeasurementError {
    MeasurementError::new(without_project(&error.to_string()))
}

impl Measurements for Shipped {
    fn find(&self, folder: &str) -> Result<(), MeasurementError> {
        if path(folder).is_dir() {
            return Ok(());
        }
        Err(MeasurementError::new(format!(
            "there is no measurement in {MEASUREMENTS}/{folder}; name a folder of {MEASUREMENTS}"
        )))
    }

    fn sweep(&self, folder: &str, file: &str) -> Result<Sweep, MeasurementError> {
        read_file(path(folder).join(file)).map_err(refused)
    }

    fn standards(
        &self,
        folder: &str,
        file: &str,
        reference: ReferenceImpedance,
    ) -> Result<Arc<StandardSweeps>, MeasurementError> {
        CalibrationFile::read(&path(folder).join(file), reference)
            .map(|read| read.standards)
            .map_err(refused)
    }
}
