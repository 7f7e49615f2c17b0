//! Quantiles of the products in a band.

use statrs::statistics::{Data, OrderStatistics};

/// Median and quartiles of a list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quartiles {
    /// How many values.
    pub n: usize,
    /// The lower quartile, p = 0.25.
    pub q1: f64,
    /// The median, p = 0.5.
    pub median: f64,
    /// The upper quartile, p = 0.75.
    pub q3: f64,
}

/// Values or a probability of which no quantile can be taken. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadQuantile {
    /// A value that is no finite number.
    #[error("value {place} is {value}; quantiles need finite numbers")]
    Value {
        /// Which value.
        place: usize,
        /// The value found.
        value: f64,
    },
    /// A probability outside 0 to 1.
    #[error("a quantile at {p} is asked for; write a probability from 0 to 1")]
    Probability {
        /// The probability found.
        p: f64,
    },
    /// More values than the functions of [`crate::one_group`] take.
    #[error("{n} values are too many; give at most {}", crate::two_groups::MAX_GROUP)]
    Group {
        /// How many there are.
        n: usize,
    },
    /// More values than the functions of [`crate::order`] take.
    #[error("{n} values are too many; give at most {}", crate::proportion::MAX_COUNT)]
    TooMany {
        /// How many there are.
        n: usize,
    },
}

/// Quantiles of `values` at the probabilities `at`, in their order; `None` for an empty list of values.
///
/// Type 8 of R. J. Hyndman, Y. Fan, *Sample Quantiles in Statistical Packages*, The American Statistician 50 (1996) 361-365, which
/// is about median-unbiased whatever the distribution: `h = (n + 1/3) p + 1/3`, `Q = x_[h] + (h - [h]) (x_[h]+1 - x_[h])` on the
/// sorted values, held to the ends. The unit is that of the values.
///
/// # Errors
/// [`BadQuantile`] for a value that is not finite and for a probability outside 0 to 1.
pub fn quantiles(values: &[f64], at: &[f64]) -> Result<Option<Vec<f64>>, BadQuantile> {
    if let Some((place, &value)) = (1..).zip(values).find(|(_, value)| !value.is_finite()) {
        return Err(BadQuantile::Value { place, value });
    }
    if let Some(&p) = at.iter().find(|p| !(0.0..=1.0).contains(*p)) {
        return Err(BadQuantile::Probability { p });
    }
    if values.is_empty() {
        return Ok(None);
    }
    // A copy, since taking a quantile reorders the values.
    let mut data = Data::new(values.to_vec());
    Ok(Some(at.iter().map(|&p| data.quantile(p)).collect()))
}

/// Median and quartiles by [`quantiles`]; `None` for an empty list.
///
/// # Errors
/// [`BadQuantile::Value`] for a value that is not finite.
pub fn quartiles(values: &[f64]) -> Result<Option<Quartiles>, BadQuantile> {
    Ok(match quantiles(values, &[0.25, 0.5, 0.75])?.as_deref() {
        Some(&[q1, median, q3]) => Some(Quartiles { n: values.len(), q1, median, q3 }),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{INDEX, near};

    /// Values by `numpy.quantile(.., method="median_unbiased")` (numpy 2.4.6), which equals type 8 of R 4.2.2.
    #[test]
    fn quantiles_of_the_twelve_agree_with_numpy_and_r() {
        let want = [48.696_666_666_7, 56.137_5, 66.975, 70.854_166_666_7, 74.953_333_333_3];
        let got = quantiles(&INDEX, &[0.1, 0.25, 0.5, 0.75, 0.9]).unwrap().unwrap();
        for (got, want) in got.into_iter().zip(want) {
            near(got, want, 1e-9);
        }
        let it = quartiles(&INDEX).unwrap().unwrap();
        assert_eq!(it.n, 12);
        near(it.q1, 56.137_5, 1e-9);
        near(it.median, 66.975, 1e-9);
        near(it.q3, 70.854_166_666_7, 1e-9);
    }

    #[test]
    fn short_lists_have_quartiles_and_an_empty_one_has_none() {
        assert_eq!(quartiles(&[]).unwrap(), None);
        assert_eq!(
            quartiles(&[7.0]).unwrap(),
            Some(Quartiles { n: 1, q1: 7.0, median: 7.0, q3: 7.0 })
        );
        assert_eq!(quantiles(&[3.0, 1.0], &[0.0, 0.5, 1.0]).unwrap(), Some(vec![1.0, 2.0, 3.0]));
        assert_eq!(quantiles(&[3.0], &[]).unwrap(), Some(vec![]));
    }

    #[test]
    fn values_without_quantile_are_refused() {
        let error = quartiles(&[1.0, f64::NAN]).unwrap_err();
        assert!(error.to_string().contains("value 2 is NaN"), "{error}");
        for p in [-0.1, 1.1, f64::NAN] {
            assert!(matches!(quantiles(&[], &[p]), Err(BadQuantile::Probability { .. })));
        }
    }

    proptest! {
        #[test]
        fn quantiles_follow_the_published_formula(
            values in prop::collection::vec(-100.0..100.0_f64, 1..30),
            p in 0.0..=1.0_f64,
        ) {
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            let n = f64::from(u32::try_from(sorted.len()).unwrap());
            let h = ((n + 1.0 / 3.0) * p + 1.0 / 3.0).clamp(1.0, n);
            let at = |rank: f64| sorted.iter().enumerate().find(|(i, _)| f64::from(u32::try_from(i + 1).unwrap()) >= rank).unwrap().1;
            let want = at(h.floor()) + (h - h.floor()) * (at(h.ceil()) - at(h.floor()));
            let got = quantiles(&values, &[p]).unwrap().unwrap()[0];
            prop_assert!((got - want).abs() < 1e-9, "{} instead of {}", got, want);
        }

        #[test]
        fn the_order_of_values_changes_nothing(
            (values, shuffled) in prop::collection::vec(-100.0..100.0_f64, 0..20)
                .prop_flat_map(|it| (Just(it.clone()), Just(it).prop_shuffle())),
        ) {
            prop_assert_eq!(quartiles(&values).unwrap(), quartiles(&shuffled).unwrap());
        }
    }
}
