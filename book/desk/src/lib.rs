//! The teacher's page of the book: trays made and forms graded in a browser.
//!
//! It is the library of the commands `lab tray` and `lab grade`, from bytes to bytes: a worker of the
//! page gives what the teacher chose and typed, and gets archives, tables and sentences. So the page
//! gives what the commands give, and nothing leaves the browser.

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]

mod grading;
mod making;
#[cfg(target_arch = "wasm32")]
mod web;

pub use grading::{Graded, Grading};
pub use making::{Asked, Made, make};
