//! Weights and their concentration from what a reviewer can state.

/// What is stated and gives no weights. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadStatement {
    /// Points of a swing that are none.
    #[error("swing {place} is {points}; give the largest 100 and the others 0 to 100 beside it")]
    Swing {
        /// Which swing.
        place: usize,
        /// The points found.
        points: f64,
    },
    /// No swing has 100 points.
    #[error("the largest swing is {largest}; give the swing that matters most 100")]
    Largest {
        /// The most points found.
        largest: f64,
    },
    /// A weight or its spread that gives no concentration.
    #[error(
        "a weight of {weight} with a standard deviation of {sd} gives no concentration; \
         give a weight between 0 and 1 and a deviation above 0 and below sqrt(w (1 - w))"
    )]
    Spread {
        /// The weight found.
        weight: f64,
        /// The standard deviation found.
        sd: f64,
    },
}

/// Weights of which only the order is known, from the largest down: `w_k = (1/K) sum_{i >= k} 1/i`, the mean of all
/// that keep the order (F. H. Barron, B. E. Barrett, *Decision Quality Using Ranked Attribute Weights*, Management
/// Science 42 (1996) 1515-1523, pages from memory). Empty for no weights.
#[must_use]
#[expect(clippy::cast_precision_loss, reason = "a number of weights is small")]
pub fn rank_order_centroid(n_parts: usize) -> Vec<f64> {
    let mut sum = 0.0;
    let mut weights: Vec<f64> = (1..=n_parts)
        .rev()
        .map(|i| {
            sum += 1.0 / i as f64;
            sum / n_parts as f64
        })
        .collect();
    weights.reverse();
    weights
}

/// Weights from swings: the step from worst to best that matters most has 100 points, the others theirs beside it; a
/// weight is its share of their sum (D. von Winterfeldt, W. Edwards, *Decision Analysis and Behavioral Research*,
/// 1986, from memory).
///
/// # Errors
/// [`BadStatement`] for points outside 0 to 100, or when none has 100.
pub fn swing(points: &[f64]) -> Result<Vec<f64>, BadStatement> {
    if let Some((place, &points)) = (1..).zip(points).find(|(_, it)| !(0.0..=100.0).contains(*it)) {
        return Err(BadStatement::Swing { place, points });
    }
    let largest = points.iter().copied().fold(0.0, f64::max);
    if largest < 100.0 {
        return Err(BadStatement::Largest { largest });
    }
    let sum: f64 = points.iter().sum();
    Ok(points.iter().map(|it| it / sum).collect())
}

/// The concentration of a Dirichlet distribution in which a weight has the standard deviation `sd`: `w (1 - w) / sd^2
/// - 1`, from the variance `w (1 - w) / (kappa + 1)` of a share.
///
/// # Errors
/// [`BadStatement::Spread`] unless 0 < w < 1 and the concentration is a finite number above 0.
pub fn kappa_from_sd(weight: f64, sd: f64) -> Result<f64, BadStatement> {
    let kappa = weight * (1.0 - weight) / (sd * sd) - 1.0;
    if weight > 0.0 && weight < 1.0 && sd > 0.0 && kappa > 0.0 && kappa.is_finite() {
        Ok(kappa)
    } else {
        Err(BadStatement::Spread { weight, sd })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::near;

    /// Rank-order centroids of four and three weights, as the formula of Barron and Barrett 1996 gives them (numpy
    /// 2.4.6).
    #[test]
    fn check_1_4_rank_order_centroids_of_four_and_of_three() {
        let four = [0.520_833_333_3, 0.270_833_333_3, 0.145_833_333_3, 0.0625];
        let three = [0.611_111_111_1, 0.277_777_777_8, 0.111_111_111_1];
        for want in [&four[..], &three] {
            let got = rank_order_centroid(want.len());
            assert_eq!(got.len(), want.len());
            for (got, want) in got.iter().zip(want) {
                near(*got, *want, 1e-10);
            }
        }
        assert!(rank_order_centroid(0).is_empty());
    }

    /// The concentration that gives a weight of 0.35 the standard deviation 0.05: 0.2275 / 0.0025 - 1 = 90, by hand.
    #[test]
    fn check_6_2_concentration_from_a_stated_deviation() {
        near(kappa_from_sd(0.35, 0.05).unwrap(), 90.0, 1e-12);
        for (weight, sd) in [(0.35, 0.0), (0.35, 0.5), (0.0, 0.1), (1.0, 0.1), (0.35, -0.05)] {
            assert!(kappa_from_sd(weight, sd).is_err(), "{weight} {sd}");
        }
        assert!(kappa_from_sd(f64::NAN, 0.1).is_err() && kappa_from_sd(0.5, 1e-200).is_err());
    }

    #[test]
    fn swings_are_shares_of_their_sum() {
        let got = swing(&[100.0, 60.0, 40.0, 0.0]).unwrap();
        for (got, want) in got.into_iter().zip([0.5, 0.3, 0.2, 0.0]) {
            near(got, want, 1e-15);
        }
        assert_eq!(swing(&[80.0, 20.0]), Err(BadStatement::Largest { largest: 80.0 }));
        assert_eq!(swing(&[100.0, 120.0]), Err(BadStatement::Swing { place: 2, points: 120.0 }));
        assert!(matches!(swing(&[f64::NAN]), Err(BadStatement::Swing { place: 1, .. })));
        assert_eq!(swing(&[]), Err(BadStatement::Largest { largest: 0.0 }));
    }
}
