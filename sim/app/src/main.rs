//! `cargo run --release` opens the simulator.

use std::process::ExitCode;

fn main() -> ExitCode {
    jigwise_sim::start()
}
