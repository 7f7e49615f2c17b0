//! Work in fixed pieces on several threads, with results in the order of the pieces.
//!
//! The pieces do not depend on the number of threads, so whoever adds up their results in order gets the same to the last bit.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// The results of `work` on the pieces 0 up to `count`, in their order. No more threads than pieces; at least one.
pub(crate) fn in_chunks<T: Send>(
    count: usize,
    threads: usize,
    work: impl Fn(usize) -> T + Sync,
) -> Vec<T> {
    let threads = threads.min(count);
    if threads <= 1 {
        return (0..count).map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let take = || {
        let mut done = Vec::new();
        loop {
            let piece = next.fetch_add(1, Ordering::Relaxed);
            if piece >= count {
                return done;
            }
            done.push((piece, work(piece)));
        }
    };
    let mut all: Vec<(usize, T)> = thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(take)).collect();
        let mut all = take();
        for other in others {
            // A panic of the work goes on where the work was asked for.
            all.extend(other.join().unwrap_or_else(|why| std::panic::resume_unwind(why)));
        }
        all
    });
    all.sort_unstable_by_key(|(piece, _)| *piece);
    all.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_piece_is_done_once_and_stands_at_its_place() {
        for threads in [0, 1, 2, 7] {
            for count in [0, 1, 5, 100] {
                let got = in_chunks(count, threads, |piece| piece * piece);
                assert!(got.into_iter().eq((0..count).map(|it| it * it)), "{threads} {count}");
            }
        }
    }
}
