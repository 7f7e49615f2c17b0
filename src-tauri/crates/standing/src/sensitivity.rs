//! Which input an index owes its uncertainty to, and how far two orders differ.

/// The standard uncertainty of a weighted sum and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Propagated {
    /// The standard uncertainty, in the unit of the sum.
    pub u: f64,
    /// The share of each term in its square, in the order given; `None` where nothing is uncertain.
    pub shares: Vec<Option<f64>>,
}

/// Terms of which no uncertainty follows. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadTerm {
    /// A weight that is no finite number.
    #[error("the weight of term {place} is {weight}; give a finite number")]
    Weight {
        /// Which term.
        place: usize,
        /// The weight found.
        weight: f64,
    },
    /// An uncertainty that is none.
    #[error("the standard uncertainty of term {place} is {u}; give a finite number from 0 up")]
    Uncertainty {
        /// Which term.
        place: usize,
        /// The uncertainty found.
        u: f64,
    },
    /// Terms beyond the range of numbers.
    #[error("the terms are so large that their uncertainty is beyond the range of numbers")]
    Range,
}

/// The standard uncertainty of `sum w_k x_k` from pairs of weight (any finite number) and standard uncertainty, for
/// inputs that do not depend on each other: `u^2 = sum w_k^2 u_k^2` (JCGM 100:2008, 5.1.2, number from memory), each
/// term's share `w_k^2 u_k^2 / u^2`.
///
/// For a weighted sum the shares are the first-order indices of sensitivity exactly (M. Saisana, A. Saltelli, S.
/// Tarantola, *Uncertainty and Sensitivity Analysis Techniques as Tools for the Quality Assessment of Composite
/// Indicators*, Journal of the Royal Statistical Society A 168 (2005) 307-323): the largest names the input to look
/// at first.
///
/// # Errors
/// [`BadTerm`] for numbers that are not finite, an uncertainty below 0, or a result beyond the range of numbers.
pub fn propagate(terms: &[(f64, f64)]) -> Result<Propagated, BadTerm> {
    for (place, &(weight, u)) in (1..).zip(terms) {
        if !weight.is_finite() {
            return Err(BadTerm::Weight { place, weight });
        }
        if !(u.is_finite() && u >= 0.0) {
            return Err(BadTerm::Uncertainty { place, u });
        }
    }
    let parts: Vec<f64> = terms.iter().map(|(weight, u)| (weight * u).abs()).collect();
    let largest = parts.iter().copied().fold(0.0, f64::max);
    if largest <= 0.0 {
        return Ok(Propagated { u: 0.0, shares: vec![None; terms.len()] });
    }
    // In units of the largest, so that no square leaves the range of numbers.
    let squares: Vec<f64> = parts.iter().map(|it| (it / largest).powi(2)).collect();
    let sum: f64 = squares.iter().sum();
    let u = largest * sum.sqrt();
    if u.is_finite() {
        Ok(Propagated { u, shares: squares.iter().map(|it| Some(it / sum)).collect() })
    } else {
        Err(BadTerm::Range)
    }
}

/// The mean number of places by which a product moves between two orders: `(1/n) sum |a_i - b_i|` of its ranks
/// (Saisana, Saltelli, Tarantola 2005). `None` for no products or lists of different lengths.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "ranks are small")]
pub fn mean_rank_shift(a: &[usize], b: &[usize]) -> Option<f64> {
    if a.is_empty() || a.len() != b.len() {
        return None;
    }
    let sum: usize = a.iter().zip(b).map(|(a, b)| a.abs_diff(*b)).sum();
    Some(sum as f64 / a.len() as f64)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::{
        conformity,
        fixture::{INDEX, TWELVE, WEIGHTS, near},
        rank::quantise,
        value::value_points,
    };

    /// Ranks from the highest down; those level share the better one.
    fn ranks(list: &[f64]) -> Vec<usize> {
        let of = |x: &f64| quantise(*x);
        list.iter().map(|x| 1 + list.iter().filter(|other| of(other) > of(x)).count()).collect()
    }

    /// numpy 2.4.6.
    #[test]
    fn check_1_5_and_5_2_uncertainty_of_an_index_and_the_share_of_each_subsystem() {
        let terms: Vec<(f64, f64)> = WEIGHTS.into_iter().zip([2.0, 4.0, 6.0, 10.0]).collect();
        let it = propagate(&terms).unwrap();
        near(it.u, 2.360_084_744_241, 1e-12);
        near(2.0 * it.u, 4.720_169_488_8, 1e-9);
        let want = [0.064_631_96, 0.351_885_1, 0.403_949_73, 0.179_533_21];
        for (got, want) in it.shares.iter().zip(want) {
            near(got.unwrap(), want, 1e-8);
        }
        // The lead of J over I, 0.55 points: as good as a coin toss (scipy 1.17.1 `norm.cdf`).
        let u = it.u * 2_f64.sqrt();
        near(conformity::at_least(0.55, u, 0.0).unwrap(), 0.565_443_755_6, 1e-9);
    }

    /// numpy 2.4.6: points per dollar against value points, and the index against points per dollar.
    #[test]
    fn check_1_5_mean_rank_shift_between_ways_to_order_the_twelve() {
        let points: Vec<(f64, f64)> = TWELVE.iter().zip(INDEX).map(|(it, s)| (it.1, s)).collect();
        let ratio = ranks(&points.iter().map(|(price, s)| s / price).collect::<Vec<_>>());
        let value = value_points(&points).unwrap().value;
        near(mean_rank_shift(&ratio, &ranks(&value)).unwrap(), 2.666_666_666_7, 1e-9);
        near(mean_rank_shift(&ranks(&INDEX), &ratio).unwrap(), 4.666_666_666_7, 1e-9);
        assert_eq!(mean_rank_shift(&ratio, &ratio), Some(0.0));
        assert_eq!((mean_rank_shift(&[], &[]), mean_rank_shift(&[1], &[1, 2])), (None, None));
    }

    #[test]
    fn where_nothing_is_uncertain_nothing_has_a_share() {
        let none = Propagated { u: 0.0, shares: vec![None; 2] };
        assert_eq!(propagate(&[(1.0, 0.0), (0.0, 5.0)]).unwrap(), none);
        assert_eq!(propagate(&[]).unwrap(), Propagated { u: 0.0, shares: vec![] });
    }

    #[test]
    fn terms_without_uncertainty_are_refused() {
        assert!(matches!(propagate(&[(f64::NAN, 1.0)]), Err(BadTerm::Weight { place: 1, .. })));
        for u in [-1.0, f64::NAN, f64::INFINITY] {
            let error = propagate(&[(1.0, 1.0), (1.0, u)]).unwrap_err();
            assert!(matches!(error, BadTerm::Uncertainty { place: 2, .. }), "{error}");
        }
        assert_eq!(propagate(&[(1e200, 1e200)]), Err(BadTerm::Range));
        near(propagate(&[(-1e150, 3e10), (1e150, 4e10)]).unwrap().u / 5e160, 1.0, 1e-12);
    }

    proptest! {
        #[test]
        fn shares_sum_to_one_and_follow_the_terms(
            terms in prop::collection::vec((-10.0..10.0_f64, 0.001..10.0_f64), 1..10),
        ) {
            let it = propagate(&terms).unwrap();
            let sum: f64 = it.shares.iter().map(|it| it.unwrap_or(0.0)).sum();
            let square: f64 = terms.iter().map(|(w, u)| (w * u).powi(2)).sum();
            prop_assert!(square == 0.0 || (sum - 1.0).abs() < 1e-12);
            prop_assert!((it.u * it.u - square).abs() <= 1e-9 * square);
        }
    }
}
