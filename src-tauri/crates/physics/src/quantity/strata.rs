//! Evenly spread draws: one in the middle of each of equally likely strata.
//!
//! In random order they are a Latin hypercube (McKay, Beckman, Conover, Technometrics 21 (1979) 239-245) with centred
//! cells (H. D. Patterson, Journal of the Royal Statistical Society B 16 (1954) 140-149; from memory), which needs fewer
//! draws than plain ones wherever few sources weigh most.

use statrs::distribution::{ContinuousCDF, Normal};

use super::bench::Shape;

/// The middles of `n` equally likely strata, as probabilities.
pub(super) fn middles(n: usize) -> impl Iterator<Item = f64> {
    (0..n).map(move |it| (it as f64 + 0.5) / n as f64)
}

/// What lies in the middle of each of `n` strata, in order, with mean 0 and standard deviation 1: middles lie closer
/// together than what they stand for, so they are scaled.
pub(super) fn deviates(shape: Shape, n: usize) -> Vec<f64> {
    let normal = Normal::standard();
    let mut list: Vec<f64> = middles(n).map(|it| quantile(shape, it, &normal)).collect();
    let variance = list.iter().map(|it| it * it).sum::<f64>() / n as f64;
    if variance > 0.0 {
        list.iter_mut().for_each(|it| *it /= variance.sqrt());
    }
    list
}

/// What lies at a probability between 0 and 1, of mean 0 and standard deviation 1.
pub(super) fn quantile(shape: Shape, probability: f64, normal: &Normal) -> f64 {
    match shape {
        Shape::Normal => normal.inverse_cdf(probability),
        Shape::Rectangular => 3_f64.sqrt() * (2.0 * probability - 1.0),
        Shape::Triangular if probability < 0.5 => 6_f64.sqrt() * ((2.0 * probability).sqrt() - 1.0),
        Shape::Triangular => 6_f64.sqrt() * (1.0 - (2.0 * (1.0 - probability)).sqrt()),
    }
}
