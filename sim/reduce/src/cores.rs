//! Work shared among the machine's cores.

use std::ops::Range;

/// A run shorter than this is not worth a thread.
const MIN_PER_THREAD: usize = 512;

/// `make` of every index, in order, in one list for each core; a thread for each core where the run is long, and one after
/// the other in a browser, which has no threads for it.
pub(crate) fn on_all_cores<T: Send>(
    run: Range<usize>,
    make: impl Fn(usize) -> T + Sync,
) -> Vec<Vec<T>> {
    let cores = if cfg!(target_arch = "wasm32") {
        1
    } else {
        std::thread::available_parallelism().map_or(1, usize::from)
    };
    let threads = cores.min(run.len() / MIN_PER_THREAD).max(1);
    if threads == 1 {
        return vec![run.map(make).collect()];
    }
    let share = run.len().div_ceil(threads);
    let mut all = Vec::with_capacity(threads);
    std::thread::scope(|scope| {
        let make = &make;
        let workers: Vec<_> = run
            .clone()
            .step_by(share)
            .map(|start| {
                let part = start..(start + share).min(run.end);
                scope.spawn(move || part.map(make).collect::<Vec<T>>())
            })
            .collect();
        for worker in workers {
            match worker.join() {
                Ok(part) => all.push(part),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
    });
    all
}
