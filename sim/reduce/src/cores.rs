//! Work shared among the machine's cores.

use std::ops::Range;

/// A run shorter than this is not worth a thread.
const MIN_PER_THREAD: usize = 512;

/// `make` of every index, in order; a thread for each core where the run is long, and one after
/// the other in a browser, which has no threads for it.
pub fn on_all_cores<T: Send>(
    run: Range<usize>,
    make: impl Fn(usize) -> T + Sync,
) -> impl Iterator<Item = T> {
    let mut lists = Vec::new();
    fill_on_all_cores(&mut lists, run, make);
    lists.into_iter().flatten()
}

/// As [`on_all_cores`], into a list for each core. What the lists held is dropped and their
/// memory used again.
pub(crate) fn fill_on_all_cores<T: Send>(
    lists: &mut Vec<Vec<T>>,
    run: Range<usize>,
    make: impl Fn(usize) -> T + Sync,
) {
    let cores = if cfg!(target_arch = "wasm32") {
        1
    } else {
        std::thread::available_parallelism().map_or(1, usize::from)
    };
    let threads = cores.min(run.len() / MIN_PER_THREAD).max(1);
    let share = run.len().div_ceil(threads);
    lists.resize_with(threads, Vec::new);
    let make = &make;
    let parts = (0..threads).map(|core| {
        let start = (run.start + core * share).min(run.end);
        start..(start + share).min(run.end)
    });
    let mut shares = lists.iter_mut().zip(parts);
    let fill = |list: &mut Vec<T>, part: Range<usize>| {
        list.clear();
        list.extend(part.map(make));
    };
    let own = shares.next();
    std::thread::scope(|scope| {
        let workers: Vec<_> = shares
            .map(|(list, part)| scope.spawn(move || fill(list, part)))
            .collect();
        if let Some((list, part)) = own {
            fill(list, part);
        }
        for worker in workers {
            if let Err(panic) = worker.join() {
                std::panic::resume_unwind(panic);
            }
        }
    });
}
