//! Means between the weakest part and the strongest: whether a strength may pay for a weakness.

use crate::index::BadIndex;

/// Least points in a mean of exponent 0 or below, which is not defined at 0.
const FLOOR: f64 = 1.0;

/// `M_r = (sum w x^r)^(1/r)` of `scores` (points 0 to 100) with `weights` that sum to 1, in points.
///
/// Exponent 1 is the weighted mean, 0 the geometric one (the limit), -1 the harmonic one, minus infinity the weakest score of
/// any weight; the lower it is, the less a strength pays for a weakness. From 0 down, scores below 1 point count as 1. A cross-check
/// beside the weighted mean, never in its place. G. H. Hardy, J. E. Littlewood, G. Polya, *Inequalities*, 1934, chapter 2 (from
/// memory); the floor is editorial.
///
/// # Errors
/// [`BadIndex`] as for [`crate::aggregate::aggregate`], and for an exponent that is NaN or plus infinity.
pub fn power_mean(scores: &[f64], weights: &[f64], exponent: f64) -> Result<f64, BadIndex> {
    let given: Vec<Option<f64>> = scores.iter().copied().map(Some).collect();
    let plain = crate::aggregate::aggregate(&given, weights)?;
    if exponent.is_nan() || exponent == f64::INFINITY {
        return Err(BadIndex::Exponent { exponent });
    }
    let floor = if exponent > 0.0 { 0.0 } else { FLOOR };
    let points = || scores.iter().map(|x| x.max(floor)).zip(weights).filter(|it| *it.1 > 0.0);
    let weakest = points().map(|it| it.0).fold(100.0, f64::min);
    let strongest = points().map(|it| it.0).fold(floor, f64::max);
    let mean = if exponent == f64::NEG_INFINITY {
        weakest
    } else if exponent.abs() < 1e-9 {
        plain.geometric.unwrap_or(weakest)
    } else {
        // Relative to the end that counts most, so that no power leaves the range of numbers.
        let scale = if exponent > 0.0 { strongest } else { weakest };
        if scale <= 0.0 {
            return Ok(0.0);
        }
        let sum: f64 = points().map(|(x, weight)| weight * (x / scale).powf(exponent)).sum();
        scale * sum.powf(1.0 / exponent)
    };
    Ok(mean.clamp(weakest, strongest.max(weakest)))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{TWELVE, WEIGHTS, near, place};

    /// scipy 1.17.1 `pmean` with weights; exponent 0 also by pymcdm 1.4.0 WPM.
    #[test]
    fn check_1_3_power_means_agree_with_scipy() {
        let f = TWELVE[place("F")].2;
        for (exponent, want) in [
            (-1.0, 69.598_962_499_9),
            (0.0, 69.780_306_089_1),
            (0.5, 69.866_560_740_8),
            (1.0, 69.95),
            (2.0, 70.108_843_950_0),
            (f64::NEG_INFINITY, 58.0),
        ] {
            near(power_mean(&f, &WEIGHTS, exponent).unwrap(), want, 1e-9);
        }
    }

    /// By hand: 2/(1/1 + 1/100) = 1.980, with 0 counted as 1; a score without weight does not count.
    #[test]
    fn a_score_of_0_counts_as_1_from_the_geometric_mean_down() {
        near(power_mean(&[0.0, 100.0], &[0.5, 0.5], -1.0).unwrap(), 2.0 / 1.01, 1e-12);
        near(power_mean(&[0.0, 100.0], &[0.5, 0.5], 0.0).unwrap(), 10.0, 1e-12);
        near(power_mean(&[0.0, 100.0], &[0.5, 0.5], 2.0).unwrap(), 5000.0_f64.sqrt(), 1e-9);
        near(power_mean(&[0.0, 40.0], &[0.0, 1.0], f64::NEG_INFINITY).unwrap(), 40.0, 0.0);
        near(power_mean(&[0.0, 0.0], &[0.5, 0.5], 1.0).unwrap(), 0.0, 0.0);
    }

    #[test]
    fn what_is_no_exponent_is_refused() {
        for exponent in [f64::NAN, f64::INFINITY] {
            let error = power_mean(&[1.0], &[1.0], exponent).unwrap_err().to_string();
            assert!(error.contains("exponent"), "{error}");
        }
        assert!(power_mean(&[1.0, 2.0], &[0.5, 0.6], 1.0).is_err());
    }

    proptest! {
        #[test]
        fn a_lower_exponent_never_raises_the_mean(
            scores in prop::array::uniform4(1.0..100.0_f64),
            exponent in -400.0..400.0_f64,
            less in 0.0..400.0_f64,
        ) {
            let at = |exponent| power_mean(&scores, &WEIGHTS, exponent).unwrap();
            prop_assert!(at(exponent - less) <= at(exponent) + 1e-6);
        }
    }
}
