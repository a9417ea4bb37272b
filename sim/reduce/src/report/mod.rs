//! The report of a reduced sweep: one page that needs nothing else, and its figures.
//!
//! [`Gatherer`] takes the points as they go by, [`Report`] makes the page. What was asked, what
//! was found, what was checked and what that means, how it was done, what was left out: each in
//! plain words, with the numbers.

mod checks;
mod figures;
mod gather;
mod page;

pub use self::checks::{Check, Holds};
pub use self::figures::{Figure, figures};
pub use self::gather::{Gathered, Gatherer, PlotPoint};
pub use self::page::{correction_words, page};

use jigwise_physics::{Fixture, ReferenceImpedance};

use crate::Findings;

/// What a report is about, beside its points.
#[derive(Debug, Clone)]
pub struct Subject {
    /// The part's name: a title found in the file, or the file's name.
    pub part: String,
    /// The files, each with its fixture.
    pub files: Vec<SubjectFile>,
    /// The analyzer's reference.
    pub reference: ReferenceImpedance,
    /// The name of the instrument, where one was given, and whether it is one of the invented
    /// presets.
    pub instrument: Option<(String, bool)>,
    /// How the readings were corrected, a sentence each.
    pub correction: Vec<String>,
    /// Files beside the part's: what they are, and their names.
    pub beside: Vec<(String, String)>,
    /// What should be said beside the numbers, each with the name of its file.
    pub remarks: Vec<(String, String)>,
    /// Points that blanks could not correct, and the first reason.
    pub left_out: Vec<String>,
    /// When the report was made, as written on it.
    pub made: Option<String>,
    /// True where blanks were taken out.
    pub has_blanks: bool,
}

/// One file of a report.
#[derive(Debug, Clone)]
pub struct SubjectFile {
    /// Its name.
    pub name: String,
    /// The fixture.
    pub fixture: Fixture,
    /// Its leading comments.
    pub comments: Vec<String>,
}

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

/// Expanded uncertainties are given at this multiple: about 95 %.
pub const K: f64 = 2.0;
