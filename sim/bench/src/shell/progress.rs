//! How far long work has come, on the terminal.

use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Work shorter than this goes by in silence.
const PATIENCE: Duration = Duration::from_millis(500);
/// Steps of the bar.
const STEPS: u64 = 1_000;

/// A bar on the terminal that says how far long work has come; nothing where the error output
/// is no terminal.
#[derive(Debug)]
pub struct Progress {
    bar: ProgressBar,
    began: Instant,
}

impl Progress {
    /// Work called `label`.
    pub fn new(label: &'static str) -> Self {
        let bar = ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template("{msg} {bar:24} {percent:>3} %") {
            bar.set_style(style.progress_chars("▪▪·"));
        }
        bar.set_message(label);
        Self {
            bar,
            began: Instant::now(),
        }
    }

    /// Shows that `share` of the work, 0 to 1, is done.
    pub fn at(&self, share: f64) {
        if self.bar.is_hidden() && self.began.elapsed() >= PATIENCE {
            // Stays hidden where the error output is no terminal.
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.bar
            .set_position((share.clamp(0.0, 1.0) * STEPS as f64) as u64);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
