//! What every command of ours does alike: it parses its arguments, prints help, tells an error
//! in one sentence and ends with the right exit code.

mod open_end;
#[cfg_attr(target_arch = "wasm32", path = "progress_web.rs")]
mod progress;
#[cfg_attr(target_arch = "wasm32", path = "staged_web.rs")]
mod staged;
#[cfg(not(target_arch = "wasm32"))]
mod unfinished;
mod whole_file;

pub use progress::Progress;
#[cfg(target_arch = "wasm32")]
pub use progress::tell_progress_to;
pub use staged::{Staged, Taken, WholeFile, make_folder};
#[cfg(not(target_arch = "wasm32"))]
pub use unfinished::clean_up_when_stopped;
pub use whole_file::{folder_of, write_whole};

use std::ffi::OsString;
use std::fmt::Display;
use std::io::{self, Write};
use std::process::ExitCode;

use clap::Parser;

use open_end::OpenEnd;

/// The exit code of a command on bad input.
pub const BAD_INPUT: u8 = 2;

/// Runs a command: `work` gets the parsed arguments and the two outputs. Help goes to `out`
/// and ends with 0; wrong arguments and errors go to `err`, the latter after the command's
/// `name`, and end with [`BAD_INPUT`]. Who reads an output may stop reading: that is no error, and
/// the rest of the work is done.
pub fn run<C, E>(
    name: &str,
    arguments: impl IntoIterator<Item: Into<OsString> + Clone>,
    out: &mut dyn Write,
    err: &mut dyn Write,
    work: impl FnOnce(C, &mut dyn Write, &mut dyn Write) -> Result<ExitCode, E>,
) -> ExitCode
where
    C: Parser,
    E: Display + From<io::Error>,
{
    let (out, err) = (&mut OpenEnd::new(out), &mut OpenEnd::new(err));
    let done = match C::try_parse_from(arguments) {
        Ok(command) => work(command, out, err).and_then(|code| {
            out.flush()?;
            Ok(code)
        }),
        Err(usage) if usage.use_stderr() => {
            // Where an output is closed there is nobody left to tell; here and below.
            let _ = write!(err, "{}", without_idle_advice(&usage.render().to_string()));
            Ok(ExitCode::from(BAD_INPUT))
        }
        Err(help) => write!(out, "{}", help.render())
            .and_then(|()| out.flush())
            .map(|()| ExitCode::SUCCESS)
            .map_err(E::from),
    };
    done.unwrap_or_else(|error| {
        tell(name, err, &error);
        ExitCode::from(BAD_INPUT)
    })
}

/// Without the tip to write `-- -1`, which makes a file of a number that an option was to have, and
/// without what a terminal would obey.
fn without_idle_advice(said: &str) -> String {
    let lines = said.split('\n').filter(|line| !line.contains("use '-- "));
    let kept: Vec<&str> = lines.collect();
    let printable = |c: char| {
        if c.is_control() && c != '\n' {
            '\u{fffd}'
        } else {
            c
        }
    };
    let text: String = kept.join("\n").chars().map(printable).collect();
    // What stood around the tip leaves one blank line, not two.
    text.replace("\n\n\n", "\n\n")
}

/// Says in one line what went wrong, after the command's `name`.
pub fn tell(name: &str, err: &mut dyn Write, error: &dyn Display) {
    let _ = writeln!(err, "{name}: {error}");
}
