//! The middle and the spread of one group of values, little moved by a stray one.

use crate::{
    confidence::{Level, Limits},
    normal, rank_sums,
    summary::{BadQuantile, quantiles},
    two_groups::{MAX_GROUP, from_outside, middle, steps_within, whole},
};

/// Up to so many values the distribution is exact.
const EXACT: usize = 200;

/// The middle of a group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Centre {
    /// The median of the means of all pairs, each value with itself too, in the unit of the values.
    pub centre: f64,
    /// Its limits; `None` below 5 values at 90 %, below 6 at 95 %.
    pub interval: Option<Limits>,
}

/// The pseudo-median of values that spread evenly to both sides; `None` for an empty list.
///
/// J. L. Hodges, E. L. Lehmann, Annals of Mathematical Statistics 34 (1963) 598-611. The interval runs from the c-th smallest to
/// the c-th largest mean, c the largest number with `P(T <= c - 1) <= alpha/2` for Wilcoxon's signed-rank sum T; beyond 200 values by
/// its normal approximation.
///
/// # Errors
/// [`BadQuantile`] for a value that is not finite and for more than [`MAX_GROUP`] values.
pub fn centre(values: &[f64], level: Level) -> Result<Option<Centre>, BadQuantile> {
    let n = values.len();
    if n > MAX_GROUP {
        return Err(BadQuantile::Group { n });
    }
    if let Some((place, &value)) = (1..).zip(values).find(|(_, value)| !value.is_finite()) {
        return Err(BadQuantile::Value { place, value });
    }
    let mut means: Vec<f64> = (1..)
        .zip(values)
        .flat_map(|(up_to, x)| values.iter().take(up_to).map(move |y| f64::midpoint(*x, *y)))
        .collect();
    means.sort_by(f64::total_cmp);
    let half = means.len() / 2;
    let c = if n <= EXACT {
        steps_within(&rank_sums::signed_rank(n, half), level)
    } else {
        let n = n as f64;
        let spread = (n * (n + 1.0) * (2.0 * n + 1.0) / 24.0).sqrt();
        whole(n * (n + 1.0) / 4.0 - level.z() * spread + 0.5)
    };
    Ok(middle(&means).map(|centre| Centre { centre, interval: from_outside(&means, c) }))
}

/// The median distance from the median, times 1.4826: the standard deviation, if the values are normal; `None` for an empty list.
///
/// F. R. Hampel, Journal of the American Statistical Association 69 (1974) 383-393 (from memory). The factor is one over the
/// upper quartile of the standard normal distribution.
///
/// # Errors
/// [`BadQuantile::Value`] for a value that is not finite, or so far from the median that the distance is not.
pub fn spread(values: &[f64]) -> Result<Option<f64>, BadQuantile> {
    let half = |values: &[f64]| Ok(quantiles(values, &[0.5])?.and_then(|it| it.first().copied()));
    let Some(median) = half(values)? else {
        return Ok(None);
    };
    let distances: Vec<f64> = values.iter().map(|it| (it - median).abs()).collect();
    Ok(half(&distances)?.map(|it| it / normal::quantile(0.75)))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{INDEX, near};

    /// R 4.2.2 `wilcox.test(conf.int = TRUE)` and scipy 1.17.1 `median_abs_deviation(scale="normal")`; `mad` of R agrees.
    #[test]
    fn check_7_9_centre_and_spread_agree_with_r_and_scipy() {
        let it = centre(&INDEX, Level::NINETY_FIVE).unwrap().unwrap();
        near(it.centre, 65.387_5, 1e-9);
        let interval = it.interval.unwrap();
        near(interval.low, 57.0, 1e-9);
        near(interval.high, 70.55, 1e-9);
        near(spread(&INDEX).unwrap().unwrap(), 7.190_620_759_8, 1e-9);
    }

    #[test]
    fn few_values_have_no_interval() {
        for (n, level, has) in [
            (4, Level::NINETY, false),
            (5, Level::NINETY, true),
            (5, Level::NINETY_FIVE, false),
            (6, Level::NINETY_FIVE, true),
        ] {
            let it = centre(&INDEX[..n], level).unwrap().unwrap();
            assert_eq!(it.interval.is_some(), has, "{n}");
        }
        assert_eq!(centre(&[], Level::NINETY), Ok(None));
        assert_eq!(spread(&[]), Ok(None));
        near(spread(&[3.0]).unwrap().unwrap(), 0.0, 0.0);
    }

    /// On both sides of the limit between the exact and the approximate distribution the limits agree.
    #[test]
    fn many_values_are_approximated() {
        let values: Vec<f64> = (0..=200).map(|it| f64::from(it * 89 % 211)).collect();
        let exact = steps_within(&rank_sums::signed_rank(201, 10_150), Level::NINETY);
        let mut means: Vec<f64> = (1..)
            .zip(&values)
            .flat_map(|(up_to, x)| values.iter().take(up_to).map(move |y| f64::midpoint(*x, *y)))
            .collect();
        means.sort_by(f64::total_cmp);
        let (want, got) = (
            from_outside(&means, exact).unwrap(),
            centre(&values, Level::NINETY).unwrap().unwrap(),
        );
        near(got.interval.unwrap().low, want.low, 0.5);
        near(got.interval.unwrap().high, want.high, 0.5);
    }

    #[test]
    fn bad_lists_are_refused() {
        assert!(matches!(
            centre(&[1.0, f64::NAN], Level::NINETY),
            Err(BadQuantile::Value { place: 2, .. })
        ));
        assert!(matches!(spread(&[f64::INFINITY]), Err(BadQuantile::Value { place: 1, .. })));
        assert!(centre(&vec![0.0; MAX_GROUP + 1], Level::NINETY).is_err());
        assert!(spread(&[1.7e308, -1.7e308, -1.7e308]).is_err());
    }

    proptest! {
        #[test]
        fn the_centre_moves_with_the_values_and_lies_within_its_limits(
            values in prop::collection::vec((-50_i32..50).prop_map(f64::from), 1..15),
            far in -50_i32..50,
        ) {
            let far = f64::from(far);
            let moved: Vec<f64> = values.iter().map(|it| it + far).collect();
            let one = centre(&values, Level::NINETY).unwrap().unwrap();
            let other = centre(&moved, Level::NINETY).unwrap().unwrap();
            prop_assert!((one.centre + far - other.centre).abs() < 1e-12);
            if let Some(limits) = one.interval {
                prop_assert!(limits.low <= one.centre && one.centre <= limits.high);
            }
            prop_assert_eq!(spread(&values), spread(&moved));
        }
    }
}
