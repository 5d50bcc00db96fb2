//! Work on all threads whose result does not depend on how many there are.

use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};

/// `work` of every item, in the order of the items, on up to `threads` threads. Each item must depend on nothing but itself.
pub(super) fn map<T: Sync, R: Send>(items: &[T], threads: NonZeroUsize, work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let take = || {
        let mut done = Vec::new();
        loop {
            let i = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(i) else { return done };
            done.push((i, work(item)));
        }
    };
    let helpers = threads.get().min(items.len()).saturating_sub(1);
    let mut done = std::thread::scope(|scope| {
        let handles: Vec<_> = (0..helpers).map(|_| scope.spawn(take)).collect();
        let mut done = take();
        for handle in handles {
            match handle.join() {
                Ok(part) => done.extend(part),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, r)| r).collect()
}
