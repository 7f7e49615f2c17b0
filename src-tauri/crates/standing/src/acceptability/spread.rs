//! What is made of the places: ties spread evenly, and central weights.

use crate::kernel::places::Places;
use crate::weighting::Weightings;

/// The counts with ties split evenly over the places that they take up, a row a product.
pub(super) fn split(places: &Places, n: usize) -> Vec<f64> {
    let mut split: Vec<f64> =
        (0..n).flat_map(|i| places.counts(i)).copied().map(f64::from).collect();
    // In a fixed order for each product, so that the sums round alike every time.
    for (tie, count) in places.ties() {
        let [product, top, size] = [tie.product, tie.top, tie.size].map(usize::from);
        let at = product * n + top;
        split[at] -= f64::from(*count);
        for it in &mut split[at..at + size] {
            *it += f64::from(*count) / size as f64;
        }
    }
    split
}

/// For each product the mean of the weights of the draws in which it is first.
pub(super) fn central(places: &Places, n: usize, weights: &Weightings) -> Vec<Option<Vec<f64>>> {
    let mut sums = vec![vec![0.0; weights.n_parts()]; n];
    for (draw, product) in places.firsts() {
        for (sum, weight) in sums[product].iter_mut().zip(weights.row(draw)) {
            *sum += weight;
        }
    }
    let mean = |(i, sums): (usize, Vec<f64>)| {
        let count = places.counts(i)[0];
        (count > 0).then(|| sums.into_iter().map(|it| it / f64::from(count)).collect())
    };
    sums.into_iter().enumerate().map(mean).collect()
}
