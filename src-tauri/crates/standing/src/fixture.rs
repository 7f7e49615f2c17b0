//! Twelve invented products for checks, and a comparison of numbers.
//!
//! Reference values for them were computed with numpy 2.4.6, scipy 1.17.1, scikit-criteria 0.10 and pymcdm 1.4.0.

use crate::rank::Interval;

/// Share of cabinet, driver, crossover and wiring.
pub(crate) const WEIGHTS: [f64; 4] = [0.30, 0.35, 0.25, 0.10];

/// Name, price per pair in USD, and points for cabinet, driver, crossover and wiring.
pub(crate) const TWELVE: [(&str, f64, [f64; 4]); 12] = [
    ("A", 129.0, [52.0, 61.0, 40.0, 55.0]),
    ("B", 149.0, [48.0, 66.0, 35.0, 60.0]),
    ("C", 159.0, [70.0, 58.0, 62.0, 45.0]),
    ("D", 179.0, [63.0, 71.0, 48.0, 66.0]),
    ("E", 199.0, [41.0, 55.0, 30.0, 50.0]),
    ("F", 199.0, [75.0, 69.0, 70.0, 58.0]),
    ("G", 229.0, [68.0, 77.0, 55.0, 71.0]),
    ("H", 249.0, [80.0, 64.0, 66.0, 62.0]),
    ("I", 279.0, [58.0, 82.0, 74.0, 69.0]),
    ("J", 299.0, [85.0, 73.0, 52.0, 80.0]),
    ("K", 299.0, [66.0, 60.0, 81.0, 47.0]),
    ("L", 349.0, [78.0, 88.0, 69.0, 73.0]),
];

/// Their index: weighted arithmetic means by scikit-criteria's `WeightedSumModel`, which equals pymcdm's WSM with identity.
pub(crate) const INDEX: [f64; 12] =
    [52.45, 52.25, 61.3, 62.35, 44.05, 69.95, 68.2, 69.1, 71.5, 72.05, 65.75, 78.75];

/// A product's place in [`TWELVE`].
pub(crate) fn place(name: &str) -> usize {
    TWELVE.iter().position(|it| it.0 == name).unwrap()
}

/// An interval of points.
pub(crate) fn interval(low: f64, high: f64) -> Interval {
    Interval::new(low, high).unwrap()
}

/// Fails unless `got` is within `tolerance` of `want`.
#[track_caller]
pub(crate) fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got:?} instead of {want:?}");
}
