//! The command `lab`, run without a process.

use std::process::ExitCode;

/// What a run of `lab` left behind.
#[derive(Debug)]
pub struct Ran {
    /// How it ended.
    pub code: ExitCode,
    /// What it wrote to its output.
    pub out: String,
    /// What it wrote to its error output.
    pub err: String,
}

impl Ran {
    /// True where it ended well.
    pub fn is_good(&self) -> bool {
        self.code == ExitCode::SUCCESS
    }
}

/// Runs `lab` with `arguments`, its own name left out.
///
/// # Panics
/// Where the output is not UTF-8, and wherever `lab` panics.
pub fn lab(arguments: &[&str]) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let named = std::iter::once("lab").chain(arguments.iter().copied());
    let code = jigwise_exercises::command::run(named, &mut out, &mut err);
    Ran {
        code,
        out: String::from_utf8(out).expect("UTF-8"),
        err: String::from_utf8(err).expect("UTF-8"),
    }
}
