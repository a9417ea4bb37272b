//! In a page: no command line, the default scenario on the page's canvas.

use std::process::ExitCode;

use jigwise_bench::Scenario;

use crate::Simulator;
use crate::host::window;

/// The canvas decides the size.
const ANY_SIZE: [u32; 2] = [1280, 720];

/// Fills the page's canvas.
pub fn start() -> ExitCode {
    let opened = Simulator::new(Scenario::default())
        .ok()
        .and_then(|simulator| window::open(simulator, ANY_SIZE).ok());
    match opened {
        Some(_) => ExitCode::SUCCESS,
        None => ExitCode::FAILURE,
    }
}
