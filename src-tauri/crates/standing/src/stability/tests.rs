//! Checks of the stability of the first place.

use proptest::prelude::*;

use super::*;
use crate::fixture::{TWELVE, WEIGHTS, near, place};

/// Products F to K of the twelve.
fn six() -> Vec<Vec<f64>> {
    TWELVE[place("F")..=place("K")].iter().map(|it| it.2.to_vec()).collect()
}

fn index(row: &[f64], weights: &[f64]) -> f64 {
    row.iter().zip(weights).map(|(x, w)| x * w).sum()
}

/// Weights with weight `k` at `to` and the others rescaled in proportion.
fn rescaled(weights: &[f64], k: usize, to: f64) -> Vec<f64> {
    let rest = 1.0 - weights[k];
    (0..weights.len()).map(|l| if l == k { to } else { weights[l] * (1.0 - to) / rest }).collect()
}

/// Intervals by exact arithmetic in numpy 2.4.6. I takes over below the cabinet's, above the driver's and above the
/// crossover's limit and below the wiring's; H below the driver's.
#[test]
fn check_6_6_intervals_of_weights_and_who_takes_over() {
    let it = stability(&six(), &WEIGHTS).unwrap();
    let (h, i, j) = (2, 3, 4);
    assert_eq!(it.winner, j);
    let want = [
        (0.285_444_234_405, 1.0, Some(i), None),
        (0.033_057_851_240, 0.387_434_554_974, Some(h), Some(i)),
        (0.0, 0.268_292_682_927, None, Some(i)),
        (0.052_631_578_947, 1.0, Some(i), None),
    ];
    for (got, (low, high, rival_low, rival_high)) in it.intervals.iter().zip(want) {
        near(got.low.unwrap(), low, 1e-11);
        near(got.high.unwrap(), high, 1e-11);
        assert_eq!((got.rival_low, got.rival_high), (rival_low, rival_high));
    }
}

/// The least shift by `scipy.optimize.linprog` (scipy 1.17.1), against each of F, G, H, I and K.
#[test]
fn check_6_6_the_smallest_shift_that_brings_each_rival_level() {
    let it = stability(&six(), &WEIGHTS).unwrap();
    let want = [
        Some(0.0525),
        Some(0.183_333_333_3),
        Some(0.092_187_5),
        Some(0.011_224_489_796),
        None,
        Some(0.102_083_333_3),
    ];
    for (got, want) in it.smallest_shift.iter().zip(want) {
        match want {
            Some(want) => near(got.unwrap(), want, 1e-10),
            None => assert_eq!(*got, None),
        }
    }
    assert_eq!(it.nearest(), Some(3));
    let way = it.moves[3].as_ref().unwrap();
    assert_eq!((way.from.len(), way.from[0].0, way.to), (1, 0, 2), "from cabinet to crossover");
}

/// The shortest move by numpy 2.4.6, against I and F.
#[test]
fn check_6_6_the_shortest_move_in_the_plane_of_weights() {
    let it = stability(&six(), &WEIGHTS).unwrap();
    near(it.shortest[3].unwrap(), 0.014_684_952_7, 1e-10);
    near(it.shortest[0].unwrap(), 0.072_327_842_0, 1e-10);
    assert_eq!(it.shortest[4], None, "the winner needs no move");
    // Over G, J leads by 17, -4, -3, 9 points, and the nearest level weights leave all weights above 0.
    assert!(it.shortest[1].is_some());
}

#[test]
fn a_move_that_would_leave_a_weight_below_zero_is_none() {
    let it = stability(&[vec![90.0, 50.0], vec![10.0, 51.0]], &[1.0, 0.0]).unwrap();
    near(it.smallest_shift[1].unwrap(), 80.0 / 81.0, 1e-12);
    // D = 21.5, d - mean d = (50, -40, -10): the first weight would have to give 0.256 of its 0.05.
    let three = [vec![90.0, 50.0, 60.0], vec![10.0, 60.0, 40.0]];
    let it = stability(&three, &[0.05, 0.05, 0.9]).unwrap();
    assert_eq!(it.shortest[1], None);
}

#[test]
fn of_products_level_with_each_other_the_first_wins_and_the_twin_is_no_shift_away() {
    let twins = [vec![50.0, 10.0], vec![60.0, 40.0], vec![60.0, 40.0], vec![40.0, 60.0]];
    let it = stability(&twins, &[0.5, 0.5]).unwrap();
    assert_eq!(it.winner, 1);
    assert_eq!(it.smallest_shift[1..], [None, Some(0.0), Some(0.0)]);
    assert_eq!(it.moves[2], None);
    // The twin never takes over; the product that is level by chance does at once.
    assert_eq!(
        it.intervals[0],
        WeightInterval { low: Some(0.5), high: Some(1.0), rival_low: Some(3), rival_high: None }
    );
    assert_eq!(it.nearest(), Some(2));
}

#[test]
fn the_first_of_two_rivals_with_the_same_limit_is_named() {
    let it =
        stability(&[vec![60.0, 40.0], vec![40.0, 55.0], vec![40.0, 55.0]], &[0.5, 0.5]).unwrap();
    assert_eq!(it.intervals[0].rival_low, Some(1));
}

#[test]
fn a_weight_of_one_has_no_interval() {
    let it = stability(&[vec![60.0, 40.0], vec![40.0, 80.0]], &[1.0, 0.0]).unwrap();
    let none = WeightInterval { low: None, high: None, rival_low: None, rival_high: None };
    assert_eq!(it.intervals[0], none);
    // Two products: the weight of the second at which they are level, 20 / (20 + 40).
    near(it.intervals[1].high.unwrap(), 1.0 / 3.0, 1e-12);
    assert_eq!(it.intervals[1].rival_high, Some(1));
}

#[test]
fn a_product_alone_is_first_everywhere_and_one_beaten_everywhere_never_is() {
    let it = stability(&[vec![60.0, 40.0]], &[0.4, 0.6]).unwrap();
    assert_eq!((it.winner, it.smallest_shift.as_slice(), it.nearest()), (0, &[None][..], None));
    let it = stability(&[vec![30.0, 20.0], vec![60.0, 40.0]], &[0.4, 0.6]).unwrap();
    assert_eq!((it.winner, it.smallest_shift.as_slice()), (1, &[None, None][..]));
    assert!(it.intervals.iter().all(|it| it.low == Some(0.0) && it.high == Some(1.0)));
}

#[test]
fn what_has_no_stability_is_refused() {
    let of = |scores: &[Vec<f64>], weights: &[f64]| stability(scores, weights).unwrap_err();
    assert_eq!(of(&[], &[1.0]), BadStability::Empty);
    assert_eq!(of(&[vec![]], &[]), BadStability::Empty);
    let lengths = of(&[vec![1.0, 2.0], vec![1.0]], &[0.5, 0.5]);
    assert_eq!(lengths, BadStability::Lengths { place: 2, found: 1, wanted: 2 });
    for score in [-0.1, 100.1, f64::NAN] {
        let error = of(&[vec![1.0, score]], &[0.5, 0.5]);
        assert!(matches!(error, BadStability::Score { place: 1, criterion: 2, .. }), "{error}");
    }
    let weight = of(&[vec![1.0, 2.0]], &[1.5, -0.5]);
    assert_eq!(weight, BadStability::Weight { place: 2, weight: -0.5 });
    assert!(matches!(of(&[vec![1.0, 2.0]], &[0.5, 0.4]), BadStability::Sum { .. }));
}

/// Whole points and whole percentages, which often tie.
fn band() -> impl Strategy<Value = (Vec<Vec<f64>>, Vec<f64>)> {
    (2_usize..=5)
        .prop_flat_map(|k| {
            let row = prop::collection::vec((0_u8..=20).prop_map(|it| f64::from(it) * 5.0), k);
            (prop::collection::vec(row, 2..7), prop::collection::vec(0_u8..=20, k))
        })
        .prop_filter("weights that sum to 0 are none", |(_, parts)| parts.iter().any(|it| *it > 0))
        .prop_map(|(scores, parts)| {
            let sum: f64 = parts.iter().map(|it| f64::from(*it)).sum();
            (scores, parts.iter().map(|it| f64::from(*it) / sum).collect())
        })
}

proptest! {
    #[test]
    fn inside_its_interval_the_winner_stays_and_outside_the_rival_is_above(
        (scores, weights) in band(),
        share in 0.0..=1.0_f64,
    ) {
        let it = stability(&scores, &weights).unwrap();
        for (k, interval) in it.intervals.iter().enumerate() {
            let (Some(low), Some(high)) = (interval.low, interval.high) else {
                prop_assert!((weights[k] - 1.0).abs() < 1e-12);
                continue;
            };
            prop_assert!(low <= weights[k] + 1e-9 && weights[k] <= high + 1e-9);
            let at = |to: f64| {
                let weights = rescaled(&weights, k, to);
                scores.iter().map(|row| index(row, &weights)).collect::<Vec<_>>()
            };
            let inside = at(low + share * (high - low));
            for score in &inside {
                prop_assert!(inside[it.winner] >= score - 1e-9, "{:?} at weight {}", inside, k);
            }
            for (rival, limit, edge) in [(interval.rival_low, low, 0.0), (interval.rival_high, high, 1.0)] {
                let Some(rival) = rival else {
                    prop_assert!((limit - edge).abs() < 1e-12);
                    continue;
                };
                let outside = at(limit + 1e-3 * (edge - limit));
                // The lead changes by at least 1/20 point a unit of weight, since points are multiples of 5 and
                // weights of 1/sum.
                let least = if (edge - limit).abs() > 1e-6 { 0.0 } else { -1e-9 };
                prop_assert!(outside[rival] - outside[it.winner] > least, "{:?} at weight {}", outside, k);
            }
        }
    }

    #[test]
    fn the_smallest_shift_brings_level_and_no_smaller_one_does(
        (scores, weights) in band(),
        other in prop::collection::vec(0.001..1.0_f64, 5),
    ) {
        let it = stability(&scores, &weights).unwrap();
        let other = &other[..weights.len()];
        let sum: f64 = other.iter().sum();
        let other: Vec<f64> = other.iter().map(|it| it / sum).collect();
        let distance = other.iter().zip(&weights).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0;
        for (j, shift) in it.smallest_shift.iter().enumerate() {
            if j == it.winner {
                prop_assert_eq!(*shift, None);
                continue;
            }
            let over = |weights: &[f64]| index(&scores[it.winner], weights) - index(&scores[j], weights);
            match (shift, &it.moves[j]) {
                (Some(shift), Some(way)) => {
                    let mut moved = weights.clone();
                    for (k, part) in &way.from {
                        moved[*k] -= part;
                        moved[way.to] += part;
                    }
                    prop_assert!(moved.iter().all(|it| *it >= -1e-12));
                    prop_assert!(over(&moved).abs() < 1e-9, "{} is no tie", over(&moved));
                    if over(&other) <= 0.0 {
                        prop_assert!(*shift <= distance + 1e-9, "{} is more than {}", shift, distance);
                    }
                    if let Some(length) = it.shortest[j] {
                        // The shift itself is no longer than the root of 2 times what moves, and the shortest is no
                        // longer.
                        prop_assert!(length <= *shift * 2_f64.sqrt() + 1e-9);
                    }
                }
                (Some(shift), None) => prop_assert!(*shift == 0.0 && over(&weights).abs() < 1e-6),
                (None, _) => prop_assert!(over(&other) > 0.0),
            }
        }
    }
}
