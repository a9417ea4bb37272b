//! The command of the book: build it, serve it, test it.

use std::process::ExitCode;

fn main() -> ExitCode {
    jigwise_bench::shell::clean_up_when_stopped("book");
    jigwise_book::command::run(
        std::env::args_os(),
        &mut std::io::stdin().lock(),
        &mut std::io::stdout().lock(),
        // Not locked: the handler of signals writes to it too, and would wait for ever.
        &mut std::io::stderr(),
    )
}
