//! The simulator: a device dragged on a chart, and what the three fixtures read of it.
//!
//! [`Simulator`] is the whole state, in four parts. [`Desk`] is the physical question and its
//! answer. [`View`] is how it is looked at. [`Teach`] is the mode
//! that teaches. [`FrameMemory`](face::FrameMemory) is what drawing
//! keeps from one frame to the next. [`face`] draws the state: plain functions over an
//! `egui::Ui` and those parts that they need, so that every panel is tested without a window.
//! [`host`] carries the face into Bevy, one plugin function per concern, as a window or as one
//! frame in a file. Nothing here computes physics; every number and every picture comes from
//! `jigwise_bench`.

#![warn(clippy::unwrap_used, clippy::expect_used, clippy::too_many_lines)]
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod desk;
pub mod face;
mod guide;
pub mod host;
mod simulator;
#[cfg_attr(target_arch = "wasm32", path = "start_web.rs")]
mod start;
pub mod teach;
mod view;

pub use desk::Desk;
pub use guide::Guide;
pub use jigwise_bench::Trials;
pub use simulator::Simulator;
pub use start::start;
pub use teach::{Covers, Mode, Teach};
pub use view::{BenchPage, Drawer, Layers, Stage, Theme, View};

/// The program's name, as its messages begin.
#[cfg(not(target_arch = "wasm32"))]
const NAME: &str = "jigwise-sim";
