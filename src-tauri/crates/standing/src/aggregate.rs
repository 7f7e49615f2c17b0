//! The weighted mean of a plain list of scores, with the geometric mean beside it as a cross-check.

use crate::{
    index::{BadIndex, SubsystemScore, blend, check_weight},
    rank::Interval,
};

/// Least points in a geometric mean, which is not defined at 0.
const GEOMETRIC_FLOOR: f64 = 1.0;

/// A weighted mean of scores and what it leaves open, in points.
#[derive(Debug, Clone, PartialEq)]
pub struct Aggregate {
    /// `S = sum w x`, only when no score is missing.
    pub value: Option<f64>,
    /// The sum with 0 for the missing scores.
    pub low: f64,
    /// The sum with 100 for the missing scores.
    pub high: f64,
    /// Weight of the scores that are there, 0 to 1.
    pub coverage: f64,
    /// `G = exp(sum w ln max(x, 1))`, which punishes unevenness, only when no score is missing.
    pub geometric: Option<f64>,
    /// `S - G`, only when no score is missing. At least 0 unless the floor of 1 point is at work.
    pub unevenness: Option<f64>,
    /// `w x` of every score, `None` for a missing one.
    pub contributions: Vec<Option<f64>>,
}

/// The weighted mean of `scores` (points 0 to 100, `None` for a missing one) with `weights` that sum to 1; nothing is rescaled.
///
/// A missing score leaves value, geometric mean and unevenness open, even at weight 0. OECD/JRC, *Handbook on Constructing
/// Composite Indicators*, 2008, additive and geometric aggregation; the floor of 1 point is editorial.
///
/// # Errors
/// [`BadIndex`] for an empty list, lists of different lengths, a score outside 0 to 100, a negative weight, and weights whose sum
/// is further than 1e-9 from 1.
pub fn aggregate(scores: &[Option<f64>], weights: &[f64]) -> Result<Aggregate, BadIndex> {
    if scores.is_empty() {
        return Err(BadIndex::Empty);
    }
    if scores.len() != weights.len() {
        return Err(BadIndex::Lengths { scores: scores.len(), weights: weights.len() });
    }
    let mut parts = Vec::with_capacity(scores.len());
    for (place, (&score, &weight)) in (1..).zip(scores.iter().zip(weights)) {
        check_weight(place, weight)?;
        let part = match score {
            Some(value) => SubsystemScore::of_known(place, value, true)?,
            None => SubsystemScore::of_missing(Interval::UNKNOWN),
        };
        parts.push((weight, part));
    }
    let sum: f64 = weights.iter().sum();
    if (sum - 1.0).abs() > 1e-9 {
        return Err(BadIndex::WeightSum { sum });
    }
    let SubsystemScore { value, interval, coverage, .. } = blend(&parts, 1.0);
    let log_mean: Option<f64> = scores
        .iter()
        .zip(weights)
        .map(|(score, weight)| score.map(|x| weight * x.max(GEOMETRIC_FLOOR).ln()))
        .sum();
    let geometric = log_mean.map(f64::exp);
    Ok(Aggregate {
        value,
        low: interval.low(),
        high: interval.high(),
        coverage,
        geometric,
        unevenness: value.zip(geometric).map(|(value, geometric)| value - geometric),
        contributions: scores
            .iter()
            .zip(weights)
            .map(|(score, weight)| score.map(|x| weight * x))
            .collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture::{INDEX, TWELVE, WEIGHTS, near, place};

    fn of(name: &str) -> Aggregate {
        aggregate(&TWELVE[place(name)].2.map(Some), &WEIGHTS).unwrap()
    }

    /// Arithmetic means by scikit-criteria and pymcdm; equal weights by hand.
    #[test]
    fn arithmetic_means_agree_with_the_weighted_sum_model() {
        for ((name, _, _), want) in TWELVE.into_iter().zip(INDEX) {
            let got = of(name);
            near(got.value.unwrap(), want, 1e-9);
            near(got.low, got.high, 0.0);
            near(got.coverage, 1.0, 1e-12);
        }
        for (name, want) in [("L", 77.0), ("J", 72.5), ("I", 70.75), ("F", 68.0), ("H", 68.0)] {
            near(
                aggregate(&TWELVE[place(name)].2.map(Some), &[0.25; 4]).unwrap().value.unwrap(),
                want,
                1e-9,
            );
        }
        for (got, want) in of("F").contributions.into_iter().zip([22.5, 24.15, 17.5, 5.8]) {
            near(got.unwrap(), want, 1e-9);
        }
    }

    /// Geometric means by pymcdm's WPM with identity.
    #[test]
    fn geometric_means_agree_with_the_weighted_product_model() {
        for (name, want) in [
            ("A", 51.786_637_366_4),
            ("C", 60.834_281_561_4),
            ("F", 69.780_306_089_1),
            ("I", 70.803_721_541_7),
            ("J", 70.843_255_990_8),
            ("K", 64.945_214_992_0),
            ("L", 78.386_608_540_8),
        ] {
            near(of(name).geometric.unwrap(), want, 1e-9);
        }
        for (name, want) in [("F", 0.169_693_910_9), ("J", 1.206_744_009_2), ("K", 0.804_785_008_0)]
        {
            near(of(name).unevenness.unwrap(), want, 1e-9);
        }
    }

    /// numpy 2.4.6: scaled by what is in the set, two products change places when a third joins; on fixed scales nothing moves.
    #[test]
    fn check_1_2_scales_with_fixed_ends_keep_the_order_when_a_product_joins() {
        let (p, q, r, t) = ([60.0, 40.0], [45.0, 58.0], [40.0, 30.0], [100.0, 45.0]);
        let mean = |it: [f64; 2]| aggregate(&it.map(Some), &[0.5, 0.5]).unwrap().value.unwrap();
        let scaled = |it: [f64; 2], set: &[[f64; 2]]| {
            let end = |k: usize, pick: fn(f64, f64) -> f64| {
                set.iter().map(|it| it[k]).reduce(pick).unwrap()
            };
            let part =
                |k: usize| (it[k] - end(k, f64::min)) / (end(k, f64::max) - end(k, f64::min));
            mean([100.0 * part(0), 100.0 * part(1)]) / 100.0
        };
        let (three, four) = ([p, q, r], [p, q, r, t]);
        near(scaled(p, &three), 0.678_571_43, 1e-8);
        near(scaled(q, &three), 0.625, 1e-8);
        near(scaled(r, &three), 0.0, 1e-8);
        near(scaled(p, &four), 0.345_238_10, 1e-8);
        near(scaled(q, &four), 0.541_666_67, 1e-8);
        assert!(mean(q) > mean(p) && scaled(p, &three) > scaled(q, &three));
    }

    /// By hand: a score of 0 counts 1 in the geometric mean, so sqrt(1 x 100) = 10.
    #[test]
    fn the_geometric_mean_has_a_floor_of_one_point() {
        let got = aggregate(&[Some(0.0), Some(100.0)], &[0.5, 0.5]).unwrap();
        near(got.geometric.unwrap(), 10.0, 1e-12);
        near(got.unevenness.unwrap(), 40.0, 1e-12);
    }

    /// Bounds by numpy: G of the twelve without its driver.
    #[test]
    fn a_missing_score_leaves_bounds_only_even_at_weight_0() {
        let got = aggregate(&[Some(68.0), None, Some(55.0), Some(71.0)], &WEIGHTS).unwrap();
        near(got.low, 41.25, 1e-9);
        near(got.high, 76.25, 1e-9);
        near(got.coverage, 0.65, 1e-9);
        assert_eq!(
            (got.value, got.geometric, got.unevenness, got.contributions[1]),
            (None, None, None, None)
        );
        near(got.contributions[0].unwrap(), 20.4, 1e-9);
        let got = aggregate(&[Some(50.0), None], &[1.0, 0.0]).unwrap();
        assert_eq!((got.value, got.low, got.high, got.coverage), (None, 50.0, 50.0, 1.0));
    }

    #[test]
    fn bad_lists_are_refused() {
        let half = [0.5, 0.5];
        assert_eq!(aggregate(&[], &[]), Err(BadIndex::Empty));
        assert_eq!(aggregate(&[None], &half), Err(BadIndex::Lengths { scores: 1, weights: 2 }));
        assert!(matches!(
            aggregate(&[None, Some(101.0)], &half),
            Err(BadIndex::Score { place: 2, .. })
        ));
        assert!(matches!(
            aggregate(&[None, Some(f64::NAN)], &half),
            Err(BadIndex::Score { place: 2, .. })
        ));
        assert!(matches!(
            aggregate(&[None, None], &[1.5, -0.5]),
            Err(BadIndex::Weight { place: 2, .. })
        ));
        assert!(matches!(
            aggregate(&[None, None], &[0.5, 0.500_001]),
            Err(BadIndex::WeightSum { .. })
        ));
        assert!(aggregate(&[None, None], &[0.5, 0.500_000_000_5]).is_ok());
    }
}
