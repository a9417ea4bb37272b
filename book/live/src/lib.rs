//! The book's pages in a browser: a part is moved, and every number, table and figure of the page
//! is computed again by the functions that built it.
//!
//! The scripts of the book know places, keys and fingers; what a place means and what is shown
//! stands here and below. Nothing here panics on what a reader or a link brings. What a script
//! calls is in `web`, which only a browser's build has.

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod checked;
mod part;
mod piece;
#[cfg(target_arch = "wasm32")]
mod web;

pub use checked::{check_answer, check_formula};
pub use part::{MovedPart, PartError};
pub use piece::Piece;
