//! How far long work has come, on the terminal.

use std::io::{IsTerminal, Write, stderr};
use std::time::{Duration, Instant};

/// Work shorter than this goes by in silence.
const PATIENCE: Duration = Duration::from_millis(500);
const BETWEEN: Duration = Duration::from_millis(100);

/// A line on the terminal that says how far long work has come; nothing where the error output
/// is no terminal.
#[derive(Debug)]
pub struct Progress {
    label: &'static str,
    began: Instant,
    shown: Option<Instant>,
    is_terminal: bool,
}

impl Progress {
    /// Work called `label`.
    pub fn new(label: &'static str) -> Self {
        Self {
            label,
            began: Instant::now(),
            shown: None,
            is_terminal: stderr().is_terminal(),
        }
    }

    /// Shows that `share` of the work, 0 to 1, is done.
    pub fn at(&mut self, share: f64) {
        let due = match self.shown {
            None => self.began.elapsed() >= PATIENCE,
            Some(shown) => shown.elapsed() >= BETWEEN,
        };
        if !self.is_terminal || !due {
            return;
        }
        const CELLS: usize = 24;
        let full = ((share * CELLS as f64) as usize).min(CELLS);
        // A terminal that went away is no reason to stop the work.
        let _ = write!(
            stderr(),
            "\r{} {}{} {:3.0} %",
            self.label,
            "▪".repeat(full),
            "·".repeat(CELLS - full),
            100.0 * share
        );
        let _ = stderr().flush();
        self.shown = Some(Instant::now());
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown.is_some() {
            let _ = write!(stderr(), "\r\x1b[2K");
            let _ = stderr().flush();
        }
    }
}
