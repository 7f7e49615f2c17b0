//! Checks of value points. Reference values by scipy 1.17.1 `theilslopes` (joint) and numpy 2.4.6.

use proptest::prelude::*;

use super::*;
use crate::fixture::{INDEX, TWELVE, WEIGHTS, near, place};
use crate::offered::made::{around, offer, twelve};
use crate::rank::quantise;
use crate::weighting::Weightings;

fn points() -> Vec<(f64, f64)> {
    TWELVE.iter().map(|it| it.1).zip(INDEX).collect()
}

/// Each fit by `scipy.stats.theilslopes(S, ln p, method="joint")` of scipy 1.17.1 on the other eleven.
#[test]
fn check_3_3_values_of_the_twelve_agree_with_scipy() {
    let got = value_points(&points()).unwrap();
    assert_eq!((got.fit, got.n_fit), (Fit::Line, 12));
    let want = [
        -3.200_996_91,
        -6.348_591_091_1,
        3.153_698_608_6,
        0.701_286_289_2,
        -20.402_368_927_8,
        6.139_426_850_8,
        1.083_538_707,
        0.252_381_014_6,
        -0.252_381_014_6,
        -1.253_690_546_8,
        -7.770_182_998_3,
        3.771_684_753_2,
    ];
    for (got, want) in got.value.iter().zip(want) {
        near(*got, want, 1e-8);
    }
    near(got.expected[place("F")], 63.810_573_149, 1e-8);
    let line = got.curve.unwrap();
    near(line.slope, 21.646_767_302, 1e-8);
    near(line.intercept, -50.366_275_011, 1e-8);
    let (low, high) = got.slope_interval.unwrap();
    near(low, 15.664_854_776, 1e-8);
    near(high, 30.688_760_565, 1e-8);
    assert!(!got.price_says_little());
    let mut order: Vec<usize> = (0..12).collect();
    order.sort_by(|&a, &b| got.value[b].total_cmp(&got.value[a]));
    let names: String = order.iter().map(|it| TWELVE[*it].0).collect();
    assert_eq!(names, "FLCGDHIJABKE");
}

/// Tau-b of the ratio of score and price with the price, and of value with the price, by `scipy.stats.kendalltau` 1.17.1:
/// -0.7077760731 and 0. The ratio ranks by cheapness, value does not.
#[test]
fn check_3_1_the_ratio_of_score_and_price_follows_the_price_and_value_does_not() {
    let value = value_points(&points()).unwrap().value;
    let ratio: Vec<f64> = points().iter().map(|(price, score)| score / price).collect();
    for (name, want) in [("A", 0.406_589_147_3), ("F", 0.351_507_537_7), ("L", 0.225_644_699_1)] {
        near(ratio[place(name)], want, 1e-9);
    }
    let tau = |of: &[f64]| {
        let (mut sum, mut tied) = (0.0, 0.0);
        for (j, a) in points().iter().enumerate() {
            for (k, b) in points().iter().enumerate().skip(j + 1) {
                let rise = (b.0 - a.0) * (of[k] - of[j]);
                sum += if rise == 0.0 { 0.0 } else { rise.signum() };
                tied += f64::from(u8::from(b.0 - a.0 == 0.0));
            }
        }
        sum / (66.0 * (66.0_f64 - tied)).sqrt()
    };
    near(tau(&ratio), -0.707_776_073_1, 1e-9);
    near(tau(&value), 0.0, 1e-9);
}

#[test]
fn the_number_of_products_decides_what_is_expected() {
    let of = |n: usize| value_points(&points()[..n]).unwrap();
    let none = of(4);
    assert_eq!((none.fit, none.curve, none.slope_interval), (Fit::None, None, None));
    assert!(none.value.is_empty() && none.expected.is_empty());
    // Median of B to E without A, and of the five.
    let flat = of(5);
    assert_eq!((flat.fit, flat.slope_interval), (Fit::Flat, None));
    near(flat.expected[0], 56.775, 1e-9);
    near(flat.value[0], -4.325, 1e-9);
    assert_eq!(flat.curve, Some(Line { slope: 0.0, intercept: 52.45 }));
    assert_eq!(of(9).fit, Fit::Flat);
    assert_eq!(of(10).fit, Fit::Line);
    assert_eq!(value_points(&[]).unwrap().fit, Fit::None);
}

#[test]
fn one_price_for_all_has_a_level_line_without_interval() {
    let points: Vec<_> = INDEX.iter().map(|score| (200.0, *score)).collect();
    let got = value_points(&points).unwrap();
    assert_eq!((got.fit, got.slope_interval), (Fit::Line, None));
    assert!(got.price_says_little());
    near(got.curve.unwrap().slope, 0.0, 0.0);
    near(got.expected[place("L")], 65.75, 1e-9);
}

#[test]
fn what_has_no_value_is_refused() {
    let refused = |points: &[(f64, f64)]| value_points(points).unwrap_err();
    assert!(matches!(refused(&[(1.0, 1.0), (0.0, 5.0)]), BadValue::Price { place: 2, .. }));
    assert!(matches!(refused(&[(f64::INFINITY, 5.0)]), BadValue::Price { place: 1, .. }));
    assert!(matches!(refused(&[(9.0, 100.5)]), BadValue::Score { place: 1, .. }));
    assert!(matches!(refused(&[(9.0, f64::NAN)]), BadValue::Score { place: 1, .. }));
    assert_eq!(refused(&[(9.0, 5.0); 2001]), BadValue::TooMany { found: 2001 });
}

#[test]
fn the_reference_set_reaches_half_as_far_again() {
    for (price, serves_) in [(83.33, false), (83.34, true), (524.99, true), (525.0, false)] {
        assert_eq!(serves(price, 125.0, 350.0), serves_, "{price}");
    }
}

fn drawn(draws: usize, threads: usize) -> Vec<DrawnValue> {
    drawn_value(&twelve(), &around(draws, "value"), draws, 1, threads).unwrap().unwrap()
}

/// numpy: weights Dirichlet(40 w), no finding error, 200,000 draws, the fit to the other eleven of each draw. Four standard
/// errors of these draws besides.
#[test]
fn check_3_3_doubt_without_the_curves_agrees_with_numpy() {
    const DRAWS: u32 = 20_000;
    let weights = around(20_000, "value");
    let mut positive = [0_u32; 12];
    for d in 0..weights.draws() {
        let scores =
            twelve().iter().map(|it| it.profile.score(weights.row(d), 0)).collect::<Vec<_>>();
        let points: Vec<_> = TWELVE.iter().map(|it| it.1).zip(scores).collect();
        for (count, value) in positive.iter_mut().zip(value_points(&points).unwrap().value) {
            *count += u32::from(quantise(value) > 0);
        }
    }
    for (name, want) in [
        ("C", 0.979),
        ("D", 0.957),
        ("F", 1.0),
        ("G", 0.924),
        ("H", 0.458),
        ("L", 0.997),
        ("A", 0.049),
        ("E", 0.0),
    ] {
        let got = f64::from(positive[place(name)]) / f64::from(DRAWS);
        near(got, want, 0.0015 + 4.0 * (want * (1.0 - want) / f64::from(DRAWS)).sqrt());
    }
}

/// numpy: the same with the reference set drawn anew, 20,000 draws, good to 0.01; quantiles are printed to 0.1 point.
#[test]
fn check_3_3_doubt_with_the_curves_agrees_with_numpy() {
    let got = drawn(20_000, 2);
    for (name, want) in [
        ("C", 0.857),
        ("D", 0.725),
        ("F", 1.0),
        ("G", 0.816),
        ("H", 0.531),
        ("L", 0.881),
        ("A", 0.291),
        ("E", 0.0),
    ] {
        near(got[place(name)].p_positive, want, 0.01);
    }
    for (name, low, median, high) in [
        ("F", 3.9, 6.5, 11.2),
        ("L", -1.5, 3.4, 10.4),
        ("C", -2.5, 3.4, 9.3),
        ("J", -5.7, -1.5, 5.6),
    ] {
        let it = &got[place(name)];
        // Half of the last digit, and two standard errors of a 5 % quantile from 20,000 draws on either side.
        near(it.low, low, 0.2);
        near(it.median, median, 0.15);
        near(it.high, high, 0.3);
    }
    for it in &got {
        assert_eq!((it.draws, it.ranks.iter().sum::<u32>()), (20_000, 20_000));
        near(it.p_rank_at_most(12), 1.0, 0.0);
        near(it.p_rank_at_most(1), it.p_largest, 0.0);
        assert!(it.p_positive + it.p_negative <= 1.0 && it.p_large <= it.p_positive);
    }
    let sure: Vec<_> = got.iter().filter(|it| it.p_positive >= 0.9).map(|it| it.product).collect();
    assert_eq!(sure, [place("F")]);
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let one = drawn(700, 1);
    for threads in [0, 2, 3, 8] {
        assert_eq!(drawn(700, threads), one);
    }
}

#[test]
fn few_products_are_held_against_the_median_and_fewer_against_nothing() {
    let weights = around(500, "few");
    let all = twelve();
    assert_eq!(drawn_value(&all[..4], &weights, 500, 1, 1).unwrap(), None);
    let flat = drawn_value(&all[..6], &weights, 500, 1, 1).unwrap().unwrap();
    assert!(flat[place("F")].p_positive > 0.99 && flat[place("E")].p_negative > 0.99);
}

#[test]
fn products_beyond_the_band_serve_the_curve_and_are_not_ranked() {
    let mut all = twelve();
    for name in ["A", "L"] {
        all[place(name)].in_band = false;
    }
    let weights = around(600, "beyond");
    let got = drawn_value(&all, &weights, 600, 1, 2).unwrap().unwrap();
    assert_eq!(got.iter().map(|it| it.product).collect::<Vec<_>>(), (1..11).collect::<Vec<_>>());
    let within = drawn_value(&twelve(), &weights, 600, 1, 2).unwrap().unwrap();
    near(got[place("F") - 1].median, within[place("F")].median, 0.0);
    assert_eq!(got[0].ranks.len(), 10);
}

/// With many products only the middle of the slopes is put in order; it must not move the answer.
#[test]
fn many_products_are_drawn_around_their_plain_values() {
    let mut stream = domain::draw::Stream::named("many");
    let many: Vec<_> = (0..150)
        .map(|at| {
            let x = stream.unit();
            let score = 50.0 + 20.0 * x + 6.0 * stream.normal();
            let price = 100.0 * (x * 3_f64.ln()).exp();
            offer(&format!("{at:03}"), price, &[vec![score.clamp(0.0, 100.0)]])
        })
        .collect();
    let weights = Weightings::from_rows(&vec![vec![1.0]; 60]).unwrap();
    let got = drawn_value(&many, &weights, 60, 1, 2).unwrap().unwrap();
    let points: Vec<_> = many.iter().map(|it| (it.price, it.nominal)).collect();
    let plain = value_points(&points).unwrap();
    for (it, value) in got.iter().zip(&plain.value) {
        // The expectation has a standard error of about 6 / sqrt(150) = 0.5 in the middle and 1 at the ends.
        near(it.median, *value, 0.6);
        assert!((0.5..5.0).contains(&(it.high - it.low)), "{it:?}");
    }
}

#[test]
fn draws_are_fewer_for_many_products_and_never_too_few() {
    assert_eq!(affordable(10_000, 12, 12), 10_000);
    assert_eq!(affordable(10_000, 30, 30), 10_000);
    assert!(affordable(10_000, 300, 300) < 10_000);
    assert_eq!(affordable(10_000, 2000, 2000), LEAST);
    assert_eq!(affordable(100, 2000, 2000), 100);
    assert_eq!(affordable(7, 0, 0), 7);
}

#[test]
fn offers_that_cannot_be_drawn_are_refused() {
    let weights = Weightings::from_rows(&vec![WEIGHTS.to_vec(); 10]).unwrap();
    let refused =
        |offers: &[Offered<'_>], draws| drawn_value(offers, &weights, draws, 1, 1).unwrap_err();
    assert_eq!(refused(&twelve(), 11), BadValue::Draws { wanted: 11, found: 10 });
    assert_eq!(refused(&twelve(), 0), BadValue::Draws { wanted: 0, found: 10 });
    let mut twins = twelve();
    twins[3].key = "A";
    assert_eq!(refused(&twins, 10), BadValue::Key { key: "A".to_owned() });
    let mut free = twelve();
    free[1].price = 0.0;
    assert!(matches!(refused(&free, 10), BadValue::Price { place: 2, .. }));
    let mut short = twelve();
    short[2] = offer("C", 159.0, &[vec![70.0]]);
    assert_eq!(refused(&short, 10), BadValue::Parts { place: 3, found: 1, wanted: 4 });
}

fn some_points() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((100_u32..140, 0_u32..=100), 1..16)
        .prop_map(|it| it.into_iter().map(|(p, s)| (f64::from(p) * 5.0, f64::from(s))).collect())
}

fn offers(points: &[(f64, f64)]) -> Vec<Offered<'static>> {
    let all = points.iter().enumerate();
    all.map(|(at, &(price, score))| {
        let second = vec![(score + 7.0) % 100.0, score / 2.0, score];
        offer(&format!("{at:02}"), price, &[second, vec![score]])
    })
    .collect()
}

fn even(draws: usize) -> Weightings {
    Weightings::from_rows(&vec![vec![0.25, 0.75]; draws]).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_order_of_points_changes_nothing(
        (points, order) in some_points().prop_flat_map(|it| {
            let order: Vec<usize> = (0..it.len()).collect();
            (Just(it), Just(order).prop_shuffle())
        }),
    ) {
        let plain = value_points(&points).unwrap();
        let moved: Vec<_> = order.iter().map(|&it| points[it]).collect();
        let shuffled = value_points(&moved).unwrap();
        prop_assert_eq!(shuffled.curve, plain.curve);
        prop_assert_eq!(shuffled.slope_interval, plain.slope_interval);
        for (at, &i) in order.iter().enumerate().take(plain.value.len()) {
            prop_assert_eq!(shuffled.value[at].to_bits(), plain.value[i].to_bits());
        }
    }

    #[test]
    fn a_products_own_score_never_moves_its_own_expectation(
        points in some_points(), which in any::<prop::sample::Index>(), other in 0_u32..=100,
    ) {
        let i = which.index(points.len());
        let before = value_points(&points).unwrap();
        let mut moved = points;
        moved[i].1 = f64::from(other);
        let after = value_points(&moved).unwrap();
        prop_assert_eq!(
            before.expected.get(i).map(|it| it.to_bits()), after.expected.get(i).map(|it| it.to_bits()));
    }

    #[test]
    fn neither_order_nor_threads_change_what_is_drawn(
        (points, order) in some_points().prop_flat_map(|it| {
            let order: Vec<usize> = (0..it.len()).collect();
            (Just(it), Just(order).prop_shuffle())
        }),
        threads in 1_usize..4,
    ) {
        let all = offers(&points);
        let moved: Vec<_> = order.iter().map(|&it| all[it]).collect();
        let plain = drawn_value(&all, &even(130), 130, 5, 1).unwrap();
        let shuffled = drawn_value(&moved, &even(130), 130, 5, threads).unwrap();
        prop_assert_eq!(plain.is_none(), shuffled.is_none());
        for it in shuffled.into_iter().flatten() {
            let there = &plain.as_ref().unwrap()[order[it.product]];
            prop_assert_eq!(&DrawnValue { product: there.product, ..it }, there);
        }
    }

    /// A product that does not serve the curve is not passed on, so nothing moves; one that does may move all.
    #[test]
    fn a_product_outside_the_reference_set_moves_nothing(
        points in some_points(), price in prop_oneof![1.0..300.0_f64, 1050.0..5000.0], score in 0.0..=100.0_f64,
    ) {
        let judged = |points: &[(f64, f64)]| {
            let set: Vec<_> = points.iter().copied().filter(|it| serves(it.0, 500.0, 700.0)).collect();
            (value_points(&set).unwrap(), drawn_value(&offers(&set), &even(20), 20, 5, 1).unwrap())
        };
        let before = judged(&points);
        let mut more = points;
        more.push((price, score));
        if !serves(price, 500.0, 700.0) {
            prop_assert_eq!(judged(&more), before);
        }
    }
}
