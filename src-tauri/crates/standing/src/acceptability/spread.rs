//! What is made of the places: ties spread evenly, and central weights.

use crate::kernel::places::Places;
use crate::weighting::Weightings;

/// The counts with ties split evenly over the places that they take up, a row a product.
pub(super) fn split(places: &Places, n: usize) -> Vec<f64> {
    let mut split: Vec<f64> =
        (0..n).flat_map(|i| places.counts(i)).copied().map(f64::from).collect();
    // In a fixed order for each product, so that the sums round alike every time.
    for (tie, count) in places.ties() {
        let [product, top, size] =
            [tie.product, tie.top, tie.size].map(|it| usize::from(it.unsigned_abs()));
        let at = product * n + top;
        split[at] -= f64::from(*count);
        for it in &mut split[at..at + size] {
            *it += f64::from(*count) / size as f64;
        }
    }
    split
}

/// The mean of the weights of the draws in which product `i` is first.
pub(super) fn central(places: &Places, i: usize, weights: &Weightings) -> Option<Vec<f64>> {
    let count = places.counts(i)[0];
    if count == 0 {
        return None;
    }
    let mut sums = vec![0.0; weights.n_parts()];
    for d in places.firsts(i) {
        for (sum, weight) in sums.iter_mut().zip(weights.row(d)) {
            *sum += weight;
        }
    }
    Some(sums.into_iter().map(|it| it / f64::from(count)).collect())
}
