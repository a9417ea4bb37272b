//! The simulator: a device dragged on a chart, and what the three fixtures read of it.
//!
//! [`Desk`] is the state. [`face`] draws it: plain functions over an `egui::Ui` and the state,
//! so that every panel is tested without a window. [`host`] carries the face into Bevy, one
//! plugin function per concern, as a window or as one frame in a file. Nothing here computes
//! physics; every number and every picture comes from `jigwise_bench`.

mod desk;
pub mod face;
pub mod host;
#[cfg(not(target_arch = "wasm32"))]
mod start;

pub use desk::{Announcement, Desk, Theme};
#[cfg(not(target_arch = "wasm32"))]
pub use start::start;
