//! Work in fixed pieces on several threads, with results in the order of the pieces.
//!
//! The pieces do not depend on the number of threads, so whoever adds up their results in order gets the same to the last bit.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// The results of `work` on the pieces 0 up to `count`, in their order. No more threads than pieces; at least one.
pub(crate) fn in_chunks<T: Send>(
    count: usize,
    threads: usize,
    work: impl Fn(usize) -> T + Sync,
) -> Vec<T> {
    in_chunks_with(count, threads, || (), |(), piece| work(piece)).0
}

/// [`in_chunks`] by workers, at most one a thread, that come along: for memory that is used again, and for sums that are the same in
/// any order, since it is open which worker does which piece.
pub(crate) fn in_chunks_with<T: Send, W: Send>(
    count: usize,
    threads: usize,
    worker: impl Fn() -> W + Sync,
    work: impl Fn(&mut W, usize) -> T + Sync,
) -> (Vec<T>, Vec<W>) {
    let next = AtomicUsize::new(0);
    let take = || {
        let mut piece = next.fetch_add(1, Ordering::Relaxed);
        // A thread that comes late makes no memory.
        let mut worker = (piece < count).then(&worker)?;
        let mut done = Vec::new();
        while piece < count {
            done.push((piece, work(&mut worker, piece)));
            piece = next.fetch_add(1, Ordering::Relaxed);
        }
        Some((worker, done))
    };
    let took = Mutex::new(Vec::new());
    let put = |it| took.lock().unwrap_or_else(PoisonError::into_inner).extend(it);
    // Threads that wait for work are there at once; to start one takes longer than much of what is done here. A panic of the work
    // goes on where the work was asked for.
    rayon_core::in_place_scope(|scope| {
        for _ in 1..threads.min(count) {
            scope.spawn(|_| put(take()));
        }
        put(take());
    });
    let (mut all, mut workers) = (Vec::with_capacity(count), Vec::new());
    for (worker, done) in took.into_inner().unwrap_or_else(PoisonError::into_inner) {
        workers.push(worker);
        all.extend(done);
    }
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
