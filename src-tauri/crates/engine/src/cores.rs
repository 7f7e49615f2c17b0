//! Work that is the same for each of a list and independent, shared among all cores.

use std::{num::NonZero, thread};

/// Does something for each of a list, on all cores; the results are in its order.
pub(crate) fn on_all_cores<T: Send, R: Send>(
    list: impl IntoIterator<Item = T>,
    work: impl Fn(T) -> R + Sync,
) -> Vec<R> {
    let mut rest: Vec<T> = list.into_iter().collect();
    let cores = thread::available_parallelism().map_or(1, NonZero::get);
    let share = rest.len().div_ceil(cores).max(1);
    let mut shares = Vec::with_capacity(cores);
    while !rest.is_empty() {
        let next = rest.split_off(share.min(rest.len()));
        shares.push(std::mem::replace(&mut rest, next));
    }
    thread::scope(|scope| {
        let work = &work;
        let threads: Vec<_> = shares
            .into_iter()
            .map(|some| scope.spawn(move || some.into_iter().map(work).collect::<Vec<_>>()))
            .collect();
        // A panic here would be a fault of the program, and goes on as one.
        threads
            .into_iter()
            .flat_map(|it| it.join().unwrap_or_else(|why| std::panic::resume_unwind(why)))
            .collect()
    })
}
