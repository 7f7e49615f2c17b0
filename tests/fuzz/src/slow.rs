//! Which inputs of `compute` take long, so that a target each searches the quick and the slow ones.

/// Calculations that can take a thousand times as long as the others. A search that holds both kinds
/// spends nearly all of its time on these.
const SLOW: [&str; 3] = ["cavity", "impedance-fit", "network"];

/// Whether an input is for one of the slow calculations.
pub(crate) fn is_slow(data: &[u8]) -> bool {
    let list = compute::list();
    data.first().is_some_and(|name| SLOW.contains(&list[usize::from(*name) % list.len()].name))
}
