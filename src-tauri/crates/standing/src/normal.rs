//! The standard normal distribution, accurate in its tails.

use std::f64::consts::SQRT_2;

use statrs::function::erf::erfc_inv;

/// The probability of a deviate below `z`: `erfc(-z/sqrt 2)/2`; small ones keep their relative accuracy.
#[must_use]
pub fn cdf(z: f64) -> f64 {
    // The library's own error function is good to ten digits only.
    0.5 * libm::erfc(-z / SQRT_2)
}

/// The deviate below which the probability is `p`, from 0 to 1: the inverse of [`cdf`], an infinity at the two ends.
#[must_use]
pub fn quantile(p: f64) -> f64 {
    -SQRT_2 * erfc_inv(2.0 * p)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::near;

    /// mpmath 1.4.1, `ncdf` at 40 digits.
    #[test]
    fn tails_keep_their_relative_accuracy() {
        for (z, want) in [
            (-3.0, 0.001_349_898_031_630_094_6),
            (-6.0, 9.865_876_450_376_98e-10),
            (-10.0, 7.619_853_024_160_525e-24),
            (-20.0, 2.753_624_118_606_233_7e-89),
            (-30.0, 4.906_713_927_148_187e-198),
            (-37.0, 5.725_571_222_524_577e-300),
        ] {
            let got = cdf(z);
            assert!((got / want - 1.0).abs() < 1e-12, "{z}: {got:e} instead of {want:e}");
        }
    }

    /// scipy 1.17.1, `norm.ppf`.
    #[test]
    fn quantiles_agree_with_scipy() {
        near(quantile(0.05), -1.644_853_626_951_472_2, 1e-12);
        near(quantile(0.975), 1.959_963_984_540_054, 1e-12);
        near(quantile(1e-10), -6.361_340_902_404_056, 1e-10);
        near(quantile(0.5), 0.0, 1e-15);
        assert!(quantile(0.0).is_infinite() && quantile(1.0).is_infinite());
        near(cdf(f64::INFINITY), 1.0, 0.0);
    }
}
