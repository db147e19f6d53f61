//! The same work on several things, on all cores.

use std::sync::Mutex;

/// What `run` gives for each item, in the items' order, by as many threads as the
/// machine has cores; the results do not depend on their number.
pub fn each<T: Send, R: Send>(items: Vec<T>, run: impl Fn(T) -> R + Sync) -> Vec<R> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let workers = cores.min(items.len());
    if workers <= 1 {
        return items.into_iter().map(run).collect();
    }
    // Each item is taken by one worker; the order is put right at the end.
    let left = Mutex::new(items.into_iter().enumerate());
    let work = || {
        let mut done = Vec::new();
        loop {
            let next = left.lock().expect("taking an item does not panic").next();
            match next {
                Some((i, item)) => done.push((i, run(item))),
                None => return done,
            }
        }
    };
    let mut done = std::thread::scope(|scope| {
        let others: Vec<_> = (1..workers).map(|_| scope.spawn(work)).collect();
        let mut done = work();
        for other in others {
            done.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        }
        done
    });
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_the_order_of_the_items() {
        let squares = each((0..1000_u64).collect(), |i| i * i);
        assert_eq!(squares, (0..1000).map(|i| i * i).collect::<Vec<u64>>());
        assert!(each(Vec::<u8>::new(), |i| i).is_empty());
    }

    #[test]
    #[should_panic = "item 7"]
    fn a_panic_of_one_item_is_a_panic_of_all() {
        each((0..20).collect(), |i| assert!(i != 7, "item {i}"));
    }
}
