//! How far long work has come, told to the page.

use std::cell::Cell;
use std::sync::atomic::{AtomicU32, Ordering};

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
    /// Hundredths told. Atomic because the native one may be shared by threads.
    shown: AtomicU32,
}

impl Progress {
    /// Work called `label`; a page has words of its own.
    pub fn new(_label: &'static str) -> Self {
        Self {
            shown: AtomicU32::new(0),
        }
    }

    /// Tells that `share` of the work, 0 to 1, is done; in steps of a hundredth.
    pub fn at(&self, share: f64) {
        let hundredths = (100.0 * share.clamp(0.0, 1.0)) as u32;
        if self.shown.fetch_max(hundredths, Ordering::Relaxed) < hundredths {
            TOLD.get()(share);
        }
    }
}
