//! What the test files share. The checks themselves are in `tests/*/`, a folder for each room
//! of the project and a file in it for each source they check against.
//!
//! Each check names where its expected value comes from. "\[M\]" after a source means that
//! the book's page was not at hand and the numbers were recomputed independently.

pub mod answers;
pub mod blended_loop;
pub mod claim;
pub mod closed_loop;
pub mod distance;
pub mod divider;
pub mod exact;
pub mod expected;
pub mod families;
pub mod fifty_ohm;
pub mod folder;
pub mod frequencies;
pub mod jig;
pub mod lab;
pub mod one_band;
pub mod parts;
pub mod pressed_book;
pub mod raw_chain;
pub mod scenarios;
pub mod second_budget;
pub mod seed;
pub mod shown;
pub mod strays;
pub mod student;
pub mod touchstone;
pub mod workbench;
pub mod workspace;
