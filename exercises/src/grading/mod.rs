//! Grading: forms in, marks and pages out, from bytes to bytes.
//!
//! Nothing that is wrong with one form touches another. Each form, each answer and each group that
//! handed in nothing has its line in the [`Gradebook`].

mod book;
mod csv;
mod form;
mod handed_in;
mod pages;

pub use book::{Gradebook, Marked, Row, Status, grade};
pub use form::{FormError, FormFile, LARGEST};
pub use handed_in::{DEEPEST, NoTime, check_time, is_form};
pub use pages::GradePage;
#[cfg(feature = "shell")]
pub(crate) use pages::times;
