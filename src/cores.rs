//! Work on a list shared by all processors. What comes of it does not depend on how many there are.

use std::sync::atomic::{AtomicUsize, Ordering};

/// How many threads run at once, at least 1.
pub fn count() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Does `work` to every item on up to `workers` threads, this one among them; the results are in the order of the items.
/// `tools` makes what each thread keeps from one item to the next. Items are taken one after another, so that long and
/// short ones even out.
///
/// # Panics
/// Where the work does.
pub fn share<T: Sync, W, R: Send>(
    workers: usize,
    items: &[T],
    tools: impl Fn() -> W + Sync,
    work: impl Fn(&mut W, &T) -> R + Sync,
) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let take = || {
        let (mut tools, mut done) = (tools(), Vec::new());
        loop {
            // Nothing but the number itself is shared.
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(at) else { return done };
            done.push((at, work(&mut tools, item)));
        }
    };
    let mut done = std::thread::scope(|scope| {
        let others: Vec<_> = (1..workers.min(items.len())).map(|_| scope.spawn(take)).collect();
        let mut done = take();
        for other in others {
            match other.join() {
                Ok(more) => done.extend(more),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_is_done_once_and_in_order() {
        for workers in [0, 1, 2, 3, 64] {
            for items in [0, 1, 2, 100] {
                let items: Vec<u64> = (0..items).collect();
                let done = share(
                    workers,
                    &items,
                    || 0_u64,
                    |count, item| {
                        *count += 1;
                        (item * item, *count)
                    },
                );
                assert!(done.iter().map(|(square, _)| *square).eq(items.iter().map(|item| item * item)));
                // Each thread counts what it did from 1 without a gap, so there are as many 1s as threads.
                let threads = done.iter().filter(|(_, count)| *count == 1).count();
                assert!(threads <= workers.max(1), "{threads} of {workers}");
            }
        }
    }

    #[test]
    fn a_panic_comes_through() {
        let share = || share(3, &[1, 2, 3, 4], || (), |(), item| assert_ne!(*item, 3));
        assert!(std::panic::catch_unwind(share).is_err());
    }
}
