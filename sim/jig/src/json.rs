//! What every JSON document of `jig` begins with.

use std::io::Write;

use jigwise_physics::Agreement;
use serde::Serialize;

use crate::CommandError;

/// Changes where a key changes its name or its meaning, or goes.
const SCHEMA_VERSION: u32 = 1;

/// One document: which command wrote it, from which files, and what should be said beside it.
#[derive(Serialize)]
pub(crate) struct Document<T> {
    schema_version: u32,
    command: &'static str,
    files: Vec<String>,
    warnings: Vec<Warning>,
    #[serde(flatten)]
    body: T,
}

/// Something that should be said, and of which file.
#[derive(Debug, Clone, Serialize)]
pub(crate) struct Warning {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) file: Option<String>,
    pub(crate) text: String,
}

impl<T: Serialize> Document<T> {
    pub(crate) fn new(command: &'static str, body: T) -> Self {
        Self {
            schema_version: SCHEMA_VERSION,
            command,
            files: Vec::new(),
            warnings: Vec::new(),
            body,
        }
    }

    /// The files that were read.
    pub(crate) fn read(self, files: Vec<String>) -> Self {
        Self { files, ..self }
    }

    /// What should be said.
    pub(crate) fn warned(self, warnings: Vec<Warning>) -> Self {
        Self { warnings, ..self }
    }
}

pub(crate) fn write_json<T: Serialize>(
    document: &Document<T>,
    out: &mut dyn Write,
) -> Result<(), CommandError> {
    serde_json::to_writer_pretty(&mut *out, document)?;
    writeln!(out)?;
    Ok(())
}

/// Whether the fixtures tell of one part.
#[derive(Serialize)]
pub(crate) struct AgreementJson {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) chi_square: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) degrees_of_freedom: Option<u32>,
    pub(crate) p: f64,
    pub(crate) doubtful: bool,
    pub(crate) contradiction: bool,
}

impl From<Agreement> for AgreementJson {
    fn from(found: Agreement) -> Self {
        Self {
            chi_square: None,
            degrees_of_freedom: None,
            p: found.p,
            doubtful: found.is_doubtful(),
            contradiction: found.is_contradiction(),
        }
    }
}
