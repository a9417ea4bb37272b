//! The command of the exercises: tasks, hints and checked answers.

use std::process::ExitCode;

fn main() -> ExitCode {
    jigwise_bench::shell::clean_up_when_stopped("lab");
    jigwise_exercises::command::run(
        std::env::args_os(),
        &mut std::io::stdout().lock(),
        // Not locked: the handler of signals writes to it too, and would wait for ever.
        &mut std::io::stderr(),
    )
}
