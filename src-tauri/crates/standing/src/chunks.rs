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
    in_chunks_with(count, threads, || (), |(), piece| work(piece)).0
}

/// [`in_chunks`] by workers, one a thread, that come along: for memory that is used again, and for sums that are the same in any
/// order, since it is open which worker does which piece.
pub(crate) fn in_chunks_with<T: Send, W: Send>(
    count: usize,
    threads: usize,
    worker: impl Fn() -> W + Sync,
    work: impl Fn(&mut W, usize) -> T + Sync,
) -> (Vec<T>, Vec<W>) {
    let next = AtomicUsize::new(0);
    let take = || {
        let (mut worker, mut done) = (worker(), Vec::new());
        loop {
            let piece = next.fetch_add(1, Ordering::Relaxed);
            if piece >= count {
                return (worker, done);
            }
            done.push((piece, work(&mut worker, piece)));
        }
    };
    let (mut all, mut workers) = (Vec::with_capacity(count), Vec::new());
    thread::scope(|scope| {
        let others: Vec<_> = (1..threads.min(count)).map(|_| scope.spawn(take)).collect();
        let first = take();
        // A panic of the work goes on where the work was asked for.
        let others = others
            .into_iter()
            .map(|it| it.join().unwrap_or_else(|why| std::panic::resume_unwind(why)));
        for (worker, done) in std::iter::once(first).chain(others) {
            workers.push(worker);
            all.extend(done);
        }
    });
    all.sort_unstable_by_key(|(piece, _)| *piece);
    (all.into_iter().map(|(_, result)| result).collect(), workers)
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
                let add = |sum: &mut usize, piece| *sum += piece;
                let (_, sums) = in_chunks_with(count, threads, || 0, add);
                assert_eq!(sums.into_iter().sum::<usize>(), (0..count).sum(), "{threads} {count}");
            }
        }
    }
}
