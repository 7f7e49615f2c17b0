//! Checks of subsystem and index scores.

use proptest::prelude::*;

use super::*;
use crate::{
    fixture::{INDEX, TWELVE, WEIGHTS, near, place},
    gates::covered,
    rank::quantise,
};

fn known(weight: f64, value: f64) -> Criterion {
    Criterion { weight, score: Score::Known { value, hard: true } }
}

fn scored(criteria: &[Criterion]) -> SubsystemScore {
    match subsystem(criteria).unwrap() {
        Subsystem::Scored(score) => score,
        other => panic!("{other:?} instead of a score"),
    }
}

fn of_points(points: f64) -> Subsystem {
    subsystem(&[known(1.0, points)]).unwrap()
}

/// The index of one of the twelve with one subsystem not scored.
fn without(name: &str, lost: usize) -> IndexScore {
    let (_, _, points) = TWELVE[place(name)];
    let mut parts: Vec<_> = WEIGHTS.into_iter().zip(points.map(of_points)).collect();
    parts[lost].1 = Subsystem::NotScored;
    index(&parts).unwrap().unwrap()
}

/// Weighted sums by scikit-criteria and pymcdm.
#[test]
fn the_index_of_twelve_products_agrees_with_the_weighted_sum_model() {
    for ((name, _, points), want) in TWELVE.into_iter().zip(INDEX) {
        let parts: Vec<_> = WEIGHTS.into_iter().zip(points.map(of_points)).collect();
        let got = index(&parts).unwrap().unwrap();
        near(got.value.unwrap(), want, 1e-9);
        near(got.interval.low(), want, 1e-9);
        near(got.interval.width(), 0.0, 0.0);
        near(got.coverage, 1.0, 0.0);
        assert_eq!(
            quantise(got.contributions.iter().map(|it| it.value.unwrap()).sum()),
            quantise(want),
            "{name}"
        );
    }
}

/// Contributions of F: by hand, 0.30 x 75, 0.35 x 69, 0.25 x 70, 0.10 x 58.
#[test]
fn contributions_are_share_times_points() {
    let (_, _, points) = TWELVE[place("F")];
    // Weights in percent, since only ratios matter.
    let parts: Vec<_> = [30.0, 35.0, 25.0, 10.0].into_iter().zip(points.map(of_points)).collect();
    let got = index(&parts).unwrap().unwrap();
    for (it, want) in got.contributions.iter().zip([22.5, 24.15, 17.5, 5.8]) {
        near(it.value.unwrap(), want, 1e-9);
    }
}

/// Bounds by numpy: G without its driver and I without its crossover.
#[test]
fn a_subsystem_that_was_not_scored_is_fully_missing() {
    let g = without("G", 1);
    near(g.interval.low(), 41.25, 1e-9);
    near(g.interval.high(), 76.25, 1e-9);
    near(g.coverage, 0.65, 1e-9);
    assert!(covered(g.coverage));
    assert_eq!(g.value, None);
    assert_eq!(g.contributions[1].value, None);
    near(g.contributions[1].high, 35.0, 1e-9);
    let i = without("I", 2);
    near(i.interval.low(), 53.0, 1e-9);
    near(i.interval.high(), 78.0, 1e-9);
    near(i.coverage, 0.75, 1e-9);
}

/// By hand: 0.25 x 40 + 0.40 x 66 + 0.10 x 70 = 43.4, and 25 more with the crossover at 100.
#[test]
fn a_missing_criterion_counts_0_and_100_and_is_not_averaged_away() {
    let missing = Criterion { weight: 0.25, score: Score::Missing { within: Interval::UNKNOWN } };
    let got = scored(&[known(0.25, 40.0), known(0.40, 66.0), missing, known(0.10, 70.0)]);
    near(got.interval.low(), 43.4, 1e-9);
    near(got.interval.high(), 68.4, 1e-9);
    near(got.coverage, 0.75, 1e-9);
    assert_eq!(got.value, None);
    for (points, want) in [([62.0, 70.0, 55.0, 80.0], 65.25), ([75.0, 58.0, 72.0, 60.0], 65.95)] {
        let criteria: Vec<_> =
            [0.25, 0.40, 0.25, 0.10].into_iter().zip(points).map(|(w, x)| known(w, x)).collect();
        near(scored(&criteria).value.unwrap(), want, 1e-9);
    }
}

#[test]
fn what_does_not_apply_is_shared_out_and_what_is_missing_is_not() {
    let na = Criterion { weight: 50.0, score: Score::NotApplicable };
    let got = scored(&[known(30.0, 80.0), na, known(10.0, 40.0)]);
    near(got.value.unwrap(), 70.0, 1e-12); // (30 x 80 + 10 x 40) / 40
    near(got.coverage, 1.0, 0.0);
    let soft = Criterion { weight: 10.0, score: Score::Known { value: 40.0, hard: false } };
    let got = scored(&[
        known(30.0, 80.0),
        na,
        soft,
        Criterion { weight: 60.0, score: Score::Missing { within: Interval::UNKNOWN } },
    ]);
    near(got.coverage, 0.40, 1e-12);
    near(got.coverage_hard, 0.30, 1e-12);
}

#[test]
fn a_subsystem_where_nothing_applies_is_left_out_of_the_index() {
    let na = Criterion { weight: 1.0, score: Score::NotApplicable };
    assert_eq!(subsystem(&[na, na]).unwrap(), Subsystem::NothingApplies);
    assert_eq!(subsystem(&[]).unwrap(), Subsystem::NothingApplies);
    let parts =
        [(30.0, of_points(80.0)), (60.0, Subsystem::NothingApplies), (10.0, of_points(40.0))];
    let got = index(&parts).unwrap().unwrap();
    near(got.value.unwrap(), 70.0, 1e-12);
    near(got.contributions[1].share, 0.0, 0.0);
    near(got.contributions[0].share, 0.75, 1e-12);
    let lost = [(30.0, of_points(80.0)), (60.0, Subsystem::NotScored), (10.0, of_points(40.0))];
    assert_eq!(index(&lost).unwrap().unwrap().value, None);
    assert_eq!(index(&[(1.0, Subsystem::NothingApplies)]).unwrap(), None);
    assert_eq!(index(&[]).unwrap(), None);
}

#[test]
fn a_weight_of_0_leaves_a_part_out() {
    let got = scored(&[
        known(1.0, 80.0),
        Criterion { weight: 0.0, score: Score::Missing { within: Interval::UNKNOWN } },
    ]);
    assert_eq!(got.value, Some(80.0));
    let got = index(&[(1.0, of_points(80.0)), (0.0, Subsystem::NotScored)]).unwrap().unwrap();
    assert_eq!(got.value, Some(80.0));
    assert_eq!(index(&[(0.0, of_points(80.0))]).unwrap(), None);
}

#[test]
fn bad_scores_and_weights_are_refused_with_their_place() {
    for value in [-0.1, 100.1, f64::NAN, f64::INFINITY] {
        let error = subsystem(&[known(1.0, 50.0), known(0.0, value)]).unwrap_err();
        assert!(matches!(error, BadIndex::Score { place: 2, .. }), "{error:?}");
    }
    for weight in [-0.1, 1e7, f64::NAN, f64::INFINITY] {
        let error = index(&[(weight, Subsystem::NotScored)]).unwrap_err();
        assert!(error.to_string().contains("weight 1"), "{error}");
        let na = Criterion { weight, score: Score::NotApplicable };
        assert!(matches!(subsystem(&[na]), Err(BadIndex::Weight { place: 1, .. })));
    }
}

fn any_criterion() -> impl Strategy<Value = Criterion> {
    let score = prop_oneof![
        3 => (0.0..=100.0_f64, any::<bool>()).prop_map(|(value, hard)| Score::Known { value, hard }),
        1 => Just(Score::Missing { within: Interval::UNKNOWN }),
        1 => Just(Score::NotApplicable),
    ];
    (0.0..50.0_f64, score).prop_map(|(weight, score)| Criterion { weight, score })
}

fn ends(answer: Subsystem) -> Option<[i64; 4]> {
    match answer {
        Subsystem::Scored(it) => Some(
            [it.interval.low(), it.interval.high(), it.coverage, it.coverage_hard].map(quantise),
        ),
        _ => None,
    }
}

proptest! {
    #[test]
    fn the_width_is_the_missing_weight(criteria in prop::collection::vec(any_criterion(), 0..12)) {
        if let Subsystem::Scored(it) = subsystem(&criteria).unwrap() {
            prop_assert!((it.interval.width() - 100.0 * (1.0 - it.coverage)).abs() < 1e-9);
            prop_assert!(it.coverage_hard <= it.coverage + 1e-12);
            prop_assert_eq!(it.value.is_some(), it.interval.width() == 0.0);
        }
    }

    #[test]
    fn learning_a_missing_score_only_narrows(
        criteria in prop::collection::vec(any_criterion(), 1..12),
        value in 0.0..=100.0_f64,
    ) {
        let filled: Vec<_> = criteria.iter().map(|it| match it.score {
            Score::Missing { .. } => Criterion { weight: it.weight, score: Score::Known { value, hard: true } },
            _ => *it,
        }).collect();
        if let (Some(before), Some(after)) = (ends(subsystem(&criteria).unwrap()), ends(subsystem(&filled).unwrap())) {
            prop_assert!(after[0] >= before[0] && after[1] <= before[1]);
        }
    }

    #[test]
    fn the_order_of_criteria_changes_nothing(
        (criteria, shuffled) in prop::collection::vec(any_criterion(), 0..12)
            .prop_flat_map(|it| (Just(it.clone()), Just(it).prop_shuffle())),
    ) {
        let apart = |a: Option<[i64; 4]>, b: Option<[i64; 4]>| match (a, b) {
            (Some(a), Some(b)) => a.into_iter().zip(b).map(|(a, b)| (a - b).abs()).max(),
            (None, None) => Some(0),
            _ => None,
        };
        // One micro-point, where a sum lies on the edge of rounding.
        prop_assert!(apart(ends(subsystem(&criteria).unwrap()), ends(subsystem(&shuffled).unwrap())).is_some_and(|it| it <= 1));
    }
}
