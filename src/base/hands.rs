//! Many pieces of work done on every core.
//!
//! Comes in: items and what to do with each. Goes out: what came of each, in their order, as if they had been
//! taken one after the other.

use std::{
    num::NonZeroUsize,
    sync::atomic::{AtomicUsize, Ordering},
};

/// Does `work` with each item, on as many cores as have at least `fewest` items each to do.
pub fn each<T: Sync, R: Send>(items: &[T], fewest: NonZeroUsize, work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let hands = cores.min(items.len() / fewest).max(1);
    // Whoever is free takes the next: items differ in how long they take.
    let next = AtomicUsize::new(0);
    let take = || {
        let places = std::iter::repeat_with(|| next.fetch_add(1, Ordering::Relaxed));
        places.map_while(|at| Some((at, work(items.get(at)?)))).collect::<Vec<_>>()
    };
    let mut all = std::thread::scope(|scope| {
        let others: Vec<_> = (1..hands).map(|_| scope.spawn(take)).collect();
        let mut all = take();
        for other in others {
            match other.join() {
                Ok(done) => all.extend(done),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().map(|(_, done)| done).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_of_each_stands_in_the_order_of_the_items() {
        let items: Vec<u64> = (0..100).collect();
        let squares: Vec<u64> = items.iter().map(|n| n * n).collect();
        for fewest in [1, 7, 1000] {
            let fewest = NonZeroUsize::new(fewest).unwrap_or(NonZeroUsize::MIN);
            assert_eq!(each(&items, fewest, |n| n * n), squares);
        }
        assert_eq!(each(&[], NonZeroUsize::MIN, |n: &u64| *n), Vec::<u64>::new());
    }
}
