//! The text command `jig`, run without a process.

use std::io::{self, Write};
use std::process::ExitCode;

use serde_json::Value;

/// What a run of `jig` left behind.
#[derive(Debug)]
pub struct Outcome {
    /// How it ended.
    pub code: ExitCode,
    /// What it wrote to its output.
    pub out: String,
    /// What it wrote to its error output.
    pub err: String,
}

/// Runs `jig` with `arguments`, its own name left out.
///
/// # Panics
/// Where the output is not UTF-8, and wherever `jig` panics.
pub fn jig(arguments: &[&str]) -> Outcome {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let code = run(arguments, &mut out, &mut err);
    Outcome {
        code,
        out: String::from_utf8(out).expect("UTF-8"),
        err: String::from_utf8(err).expect("UTF-8"),
    }
}

/// Runs `jig` with an output of the caller's.
pub fn run(arguments: &[&str], out: &mut dyn Write, err: &mut dyn Write) -> ExitCode {
    let named = std::iter::once("jig").chain(arguments.iter().copied());
    jigwise_jig::run(named, out, err)
}

/// Runs `jig … --json` and reads its JSON.
///
/// # Panics
/// Where the command fails or its output is not one JSON value.
#[track_caller]
pub fn json(arguments: &[&str]) -> Value {
    let outcome = jig(&[arguments, &["--json"]].concat());
    assert_eq!(outcome.code, ExitCode::SUCCESS, "{}", outcome.err);
    // Outside of texts, which may speak of a resonance.
    let outside = outcome.out.split('"').step_by(2).collect::<String>();
    for word in ["inf", "Inf", "NaN", "nan"] {
        assert!(!outside.contains(word), "{word} in {}", outcome.out);
    }
    serde_json::from_str(&outcome.out).expect("one JSON value")
}

/// Runs `jig` on bad input: exit code 2, nothing on the output, and on the error output one
/// message that holds each of `words` and no trace of a panic.
///
/// # Panics
/// Where one of these is not so.
#[track_caller]
pub fn refuses(arguments: &[&str], words: &[&str]) -> String {
    let outcome = jig(arguments);
    assert_eq!(
        outcome.code,
        ExitCode::from(2),
        "{arguments:?}: {outcome:?}"
    );
    assert_eq!(outcome.out, "", "{arguments:?}");
    for word in words {
        assert!(
            outcome.err.contains(word),
            "{arguments:?}: no \"{word}\" in: {}",
            outcome.err
        );
    }
    assert!(!outcome.err.contains("panicked"), "{}", outcome.err);
    outcome.err
}

/// An output whose reader goes away after `room` bytes.
#[derive(Debug)]
pub struct ClosedPipe {
    /// Bytes still taken.
    pub room: usize,
}

impl Write for ClosedPipe {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.room == 0 {
            return Err(io::ErrorKind::BrokenPipe.into());
        }
        let taken = bytes.len().min(self.room);
        self.room -= taken;
        Ok(taken)
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.room == 0 {
            return Err(io::ErrorKind::BrokenPipe.into());
        }
        Ok(())
    }
}
