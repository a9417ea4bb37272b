//! Trays: a group's sealed set of questions and data.
//!
//! A [`TraySet`] is a lab, a seed and a count of groups. All files follow from it, and everything
//! here goes from bytes to bytes: no file, no clock, no source of chance. A student's folder holds
//! the answers in no form. The [`Key`] holds the seed.

mod card;
mod form;
mod group;
mod key;
mod lab;
mod make;
mod page;
mod seed;
mod sheet;

pub use group::{Group, Question};
pub use key::{Key, KeyError, PATH as KEY_PATH, is_key};
pub use lab::{Lab, UnknownLab, lab, labs};
pub use make::{MOST_GROUPS, MOST_PRINTED, TrayFile, TraySet};
pub use seed::{Seed, SeedError};

pub(crate) use page::page;
pub(crate) use seed::{Purpose, Stream};
