//! Work shared among the machine's cores.

use std::ops::Range;
use std::sync::atomic::{AtomicUsize, Ordering};

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

/// `make` of every item, in order, where one takes long and another does not: a core that is done
/// with one takes the next.
pub fn each_on_all_cores<T: Sync, U: Send>(items: &[T], make: impl Fn(&T) -> U + Sync) -> Vec<U> {
    let threads = cores().min(items.len());
    if threads < 2 {
        return items.iter().map(make).collect();
    }
    let next = AtomicUsize::new(0);
    let work = || {
        let taken = || next.fetch_add(1, Ordering::Relaxed);
        let own = std::iter::repeat_with(taken).map_while(|k| Some((k, make(items.get(k)?))));
        own.collect::<Vec<_>>()
    };
    let mut made = std::thread::scope(|scope| {
        let workers: Vec<_> = (1..threads).map(|_| scope.spawn(work)).collect();
        let mut made = work();
        for worker in workers {
            match worker.join() {
                Ok(own) => made.extend(own),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        made
    });
    made.sort_unstable_by_key(|(k, _)| *k);
    made.into_iter().map(|(_, made)| made).collect()
}

/// How many threads may work at once; one in a browser.
fn cores() -> usize {
    if cfg!(target_arch = "wasm32") {
        1
    } else {
        std::thread::available_parallelism().map_or(1, usize::from)
    }
}

/// As [`on_all_cores`], into a list for each core. What the lists held is dropped and their
/// memory used again.
pub(crate) fn fill_on_all_cores<T: Send>(
    lists: &mut Vec<Vec<T>>,
    run: Range<usize>,
    make: impl Fn(usize) -> T + Sync,
) {
    let threads = cores().min(run.len() / MIN_PER_THREAD).max(1);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_item_once_and_in_order() {
        for count in [0, 1, 2, 3, 1_000] {
            let items: Vec<usize> = (0..count).collect();
            let made = each_on_all_cores(&items, |k| {
                // The first takes longest, so that the others overtake it.
                std::thread::sleep(std::time::Duration::from_millis(u64::from(*k == 0) * 20));
                k * k
            });
            assert_eq!(made, items.iter().map(|k| k * k).collect::<Vec<_>>());
        }
    }
}
