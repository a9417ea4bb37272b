//! The project about itself: which crate may use which, and the commands its pages print.

mod arrows;
mod mains;
mod readme;
