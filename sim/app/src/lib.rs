//! The simulator: a device dragged on a chart, and what the three fixtures read of it.
//!
//! [`Desk`] is the state. [`face`] draws it: plain functions over an `egui::Ui` and the state,
//! so that every panel is tested without a window. [`host`] carries the face into Bevy, one
//! plugin function per concern, as a window or as one frame in a file. Nothing here computes
//! physics; every number and every picture comes from `jigwise_bench`.

mod desk;
pub mod face;
pub mod host;
#[cfg_attr(target_arch = "wasm32", path = "start_web.rs")]
mod start;

pub use desk::{Announcement, Desk, Layers, Stage, Theme};
pub use start::start;
