//! What the test files share. The checks themselves are in `tests/*.rs`, one file per
//! source they check against.
//!
//! Each check names where its expected value comes from. "\[M\]" after a source means that
//! the book's page was not at hand and the numbers were recomputed independently.

pub mod closed_loop;
pub mod divider;
pub mod exact;
pub mod jig;
pub mod parts;
pub mod raw_chain;
pub mod scenarios;
pub mod second_budget;
pub mod seed;
pub mod shown;
pub mod strays;
pub mod touchstone;
pub mod workbench;
