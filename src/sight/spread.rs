//! Work that many threads share.

use std::sync::atomic::{AtomicUsize, Ordering};

/// `work(0)` to `work(count - 1)`, in that order, done by as many threads as the
/// machine has cores. What the results are does not depend on their number.
pub fn many<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from).min(count);
    if cores <= 1 {
        return (0..count).map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let share = || {
        let mut done = Vec::new();
        loop {
            let i = next.fetch_add(1, Ordering::Relaxed);
            if i >= count {
                return done;
            }
            done.push((i, work(i)));
        }
    };
    let mut all = std::thread::scope(|scope| {
        let others: Vec<_> = (1..cores).map(|_| scope.spawn(share)).collect();
        let mut all = share();
        for other in others {
            match other.join() {
                Ok(done) => all.extend(done),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        all
    });
    all.sort_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, result)| result).collect()
}
