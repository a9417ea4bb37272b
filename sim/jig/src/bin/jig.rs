//! The text command: what a fixture reads, and a measured sweep in ohms.

use std::process::ExitCode;

fn main() -> ExitCode {
    jigwise_bench::shell::clean_up_when_stopped("jig");
    jigwise_jig::run(
        std::env::args_os(),
        &mut std::io::stdout().lock(),
        // Not locked: the handler of signals writes to it too, and would wait for ever.
        &mut std::io::stderr(),
    )
}
