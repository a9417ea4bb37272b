//! The report of a reduced sweep: one page that needs nothing else, and its figures.
//!
//! [`Gatherer`] takes the points as they go by, [`Report`] makes the page. What was asked, what
//! was found, what was checked and what that means, how it was done, what was left out: each in
//! plain words, with the numbers.

mod checks;
mod figures;
mod gather;
mod page;
mod subject;

pub use self::checks::{Check, Outcome};
pub use self::figures::{Figure, figures};
pub use self::gather::{Gathered, Gatherer, PlotPoint};
pub use self::page::page;
pub use self::subject::{InputFile, Provenance, Subject, SubjectFile, SubjectInput, stem};

use crate::Findings;

/// A report, ready to be written.
#[derive(Debug, Clone)]
pub struct Report {
    /// What it is about.
    pub subject: Subject,
    /// What the points told.
    pub gathered: Gathered,
    /// What the sweep says of the part, or why there is nothing to say.
    pub findings: Result<Findings, String>,
}
