//! Work that is the same for each of a list and independent, shared among all cores.

use std::{
    num::NonZero,
    sync::{Mutex, PoisonError},
    thread,
};

/// How many there are.
pub(crate) fn count() -> usize {
    thread::available_parallelism().map_or(1, NonZero::get)
}

/// Does something for each of a list, on all cores; the results are in its order. A core takes the next one when it is done with
/// the last, since some take ten times as long as others.
pub(crate) fn on_all_cores<T: Send, R: Send>(
    list: impl IntoIterator<Item = T>,
    work: impl Fn(T) -> R + Sync,
) -> Vec<R> {
    let list: Vec<T> = list.into_iter().collect();
    let n = list.len();
    let cores = count().min(n);
    let rest = Mutex::new(list.into_iter().enumerate());
    let some = || {
        let mut done = Vec::with_capacity(n / cores.max(1) + 1);
        loop {
            let next = rest.lock().unwrap_or_else(PoisonError::into_inner).next();
            let Some((at, it)) = next else { return done };
            done.push((at, work(it)));
        }
    };
    let mut done: Vec<(usize, R)> = thread::scope(|scope| {
        let threads: Vec<_> = (0..cores).map(|_| scope.spawn(some)).collect();
        // A panic here would be a fault of the program, and goes on as one.
        threads
            .into_iter()
            .flat_map(|it| it.join().unwrap_or_else(|why| std::panic::resume_unwind(why)))
            .collect()
    });
    done.sort_unstable_by_key(|it| it.0);
    done.into_iter().map(|it| it.1).collect()
}
