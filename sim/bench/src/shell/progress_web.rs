//! How far long work has come, told to the page.

use std::cell::Cell;

thread_local! {
    static TOLD: Cell<fn(f64)> = const { Cell::new(|_| {}) };
}

/// Who is told how far long work has come, as a share from 0 to 1.
pub fn tell_progress_to(told: fn(f64)) {
    TOLD.set(told);
}

/// How far long work has come, for the page that waits for it.
#[derive(Debug)]
pub struct Progress {
    shown: Cell<f64>,
}

impl Progress {
    /// Work called `label`; a page has words of its own.
    pub fn new(_label: &'static str) -> Self {
        Self {
            shown: Cell::new(0.0),
        }
    }

    /// Tells that `share` of the work, 0 to 1, is done; in steps of a hundredth.
    pub fn at(&self, share: f64) {
        const STEP: f64 = 0.01;
        let shown = self.shown.get();
        if share >= shown + STEP || (share >= 1.0 && shown < 1.0) {
            self.shown.set(share);
            TOLD.get()(share);
        }
    }
}
