//! Tasks as data, and their checking.
//!
//! A [`Task`] is a scenario, a question about it and hints. What is right is computed from the
//! scenario, and so is what each usual [`Slip`] would have given: an answer that is wrong in a
//! known way is told which way. The book prints tasks, the command `lab` checks them.
//!
//! ```
//! use jigwise_exercises::{catalogue, Slip};
//!
//! let task = catalogue().task("reflect-level")?;
//! assert!(task.check("-12.3 dB")?.is_right());
//!
//! let verdict = task.check("-6.15")?;
//! assert_eq!(verdict.slip(), Some(Slip::TenLog));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod answer;
pub mod archive;
mod area;
mod catalogue;
mod check;
mod choices;
pub mod claim;
#[cfg(feature = "shell")]
pub mod command;
mod cover;
pub mod explain;
mod formula;
pub mod grading;
mod handout;
pub mod predict;
pub mod progress;
#[cfg(test)]
mod quoted;
mod read_task;
pub mod round;
mod scenarios;
mod slip;
mod solution;
mod solve;
pub mod talk;
mod task;
mod tolerance;
pub mod tray;

pub use answer::{Answer, AnswerError};
pub use area::Area;
pub use catalogue::{Catalogue, CatalogueError, catalogue};
pub use check::Verdict;
pub use choices::{Choices, Criterion};
pub use cover::Cover;
pub use formula::FormulaVerdict;
pub use handout::DataFile;
pub use scenarios::{UnknownScenario, scenario, scenario_names};
pub use slip::Slip;
pub use task::{Asks, Task};
pub use tolerance::Tolerance;
