//! Checks of what learning a finding settles.

use domain::draw::Stream;
use proptest::prelude::*;

use super::*;
use crate::{fixture::near, normal};

/// Normal scores of `n` ranks in random order: a stratified draw.
fn stratified(n: u32, name: &str) -> Vec<f64> {
    let mut list: Vec<f64> =
        (0..n).map(|at| normal::quantile((f64::from(at) + 0.5) / f64::from(n))).collect();
    Stream::named(name).shuffle(&mut list);
    list
}

/// Products of one subsystem: the points drawn of each.
fn of<T>(points: &[Vec<f64>], then: impl FnOnce(&[Profile<'_>]) -> T) -> T {
    let parts: Vec<[Option<&[f64]>; 1]> = points.iter().map(|it| [Some(&it[..])]).collect();
    let profiles: Vec<Profile<'_>> =
        (0..).zip(&parts).map(|(key, it)| Profile::new(it, key, None).unwrap()).collect();
    then(&profiles)
}

fn gains_of(points: &[Vec<f64>], sources: &[(usize, &[f64])]) -> Vec<Gain> {
    let candidates: Vec<Candidate<'_>> =
        sources.iter().map(|(product, z)| Candidate { product: *product, z }).collect();
    of(points, |profiles| gains(profiles, &[1.0], &candidates).unwrap())
}

/// The expected fall of the doubt by Owen's function T (scipy 1.17.1, `special.owens_t`), which equals the integral
/// over what may be found (`integrate.quad`) to 1e-12.
#[test]
fn check_the_doubt_settled_agrees_with_scipy_owens_t() {
    for (lead, r, want) in [
        (0.0, 0.25, 1.0 / 3.0),
        (0.3, 0.05, 0.015_126_279_456_6),
        (0.3, 0.4, 0.234_013_574_896_8),
        (0.7, 0.1, 0.002_474_618_230_6),
        (1.2, 0.6, 0.043_777_147_586_4),
        (-1.2, 0.99, 0.199_174_731_950_8),
        (2.5, 0.8, 0.002_017_700_675_6),
    ] {
        near(settled(lead, r), want, 1e-9);
    }
    near(settled(0.0, 1.0), 1.0, 1e-12);
    near(settled(0.0, 0.0), 0.0, 1e-12);
    // All of it: 2 Phi(-1.2), scipy 1.17.1 `norm.cdf`.
    near(settled(1.2, 1.0), 0.230_139_340_443_4, 1e-12);
}

/// Two products with normal scores, one of them the sum of two sources with 0.8 and 0.6 of its standard deviation.
/// The doubt and what each source settles by Owen's T at `delta = 1/sqrt(8)` and `r = 0.64/2` and `0.36/2`; the
/// sources carry 0.64 and 0.36 of the variance.
#[test]
fn check_two_normal_products_by_the_model_and_by_the_draws() {
    let n = 1000;
    let (a, b) = (stratified(n, "a"), stratified(n, "b"));
    let first: Vec<f64> = a.iter().zip(&b).map(|(a, b)| 51.0 + 2.0 * (0.8 * a + 0.6 * b)).collect();
    let second: Vec<f64> = stratified(n, "c").iter().map(|it| 50.0 + 2.0 * it).collect();
    let points = [first, second];
    let got = gains_of(&points, &[(0, &a), (0, &b)]);
    for (got, (share, want)) in got.iter().zip([(0.64, 0.161_476_643_7), (0.36, 0.081_275_024_0)]) {
        // Four times sqrt(4 R^2 (1 - R^2)^2 / n), the standard error of a squared correlation.
        near(got.share, share, 4.0 * (4.0 * share * (1.0 - share).powi(2) / f64::from(n)).sqrt());
        near(got.settled, want, 0.02);
        near(got.settled_drawn, got.settled, 0.02);
        assert_eq!(got.rival, Some(1));
    }
    let doubt = of(&points, |profiles| doubt(profiles, &[1.0]).unwrap());
    near(doubt, 0.723_673_609_8, 0.02);
}

/// A category with three levels and a certain rival: in the draws the doubt left is that within each level, counted
/// by hand. Levels 0, 1, 2 with 500, 300 and 200 draws put the score at 40, 50 and 60, of which half the draws of
/// level 1 gain 6 points by another source; the rival has 53. So `c = 350/1000`, left is `0.3 * 1`, and the doubt was
/// 0.7.
#[test]
fn check_a_category_by_counting() {
    let level: Vec<f64> =
        (0..1000).map(|d| [0.0, 1.0, 2.0][usize::from(d >= 500) + usize::from(d >= 800)]).collect();
    let points: Vec<f64> = level
        .iter()
        .enumerate()
        .map(|(d, it)| {
            40.0 + 10.0 * it + if (500..800).contains(&d) && d % 2 == 0 { 6.0 } else { 0.0 }
        })
        .collect();
    let points = [points, vec![53.0]];
    near(of(&points, |profiles| doubt(profiles, &[1.0]).unwrap()), 0.7, 1e-12);
    let got = gains_of(&points, &[(0, &level)])[0];
    // Between levels 57.69 of 59.04 and what is left by the model; by the draws the spread is taken back by less than
    // 1 %.
    assert!(got.share > 0.95, "{got:?}");
    near(got.settled_drawn, 0.4, 0.01);
}

#[test]
fn learning_the_only_source_of_doubt_settles_a_pair() {
    let a = stratified(1000, "a");
    for (slope, what) in [(3.0, "straight"), (-3.0, "falling")] {
        let points = [a.iter().map(|it| 50.5 + slope * it).collect(), vec![50.0]];
        let before = of(&points, |profiles| doubt(profiles, &[1.0]).unwrap());
        let got = gains_of(&points, &[(0, &a)])[0];
        near(got.share, 1.0, 1e-3);
        near(got.settled, before, 0.03);
        // One of the twenty bins still lies across the rival's score.
        near(got.settled_drawn, before, 0.05);
        assert!(before > 0.8, "{what}: {before}");
    }
    // A step: all below a limit have 40 points, all above it 60.
    let points = [a.iter().map(|it| if *it < 0.2 { 40.0 } else { 60.0 }).collect(), vec![50.0]];
    let got = gains_of(&points, &[(0, &a)])[0];
    assert!(got.share > 0.99 && got.settled_drawn > 0.75, "{got:?}");
}

#[test]
fn what_is_settled_already_gains_nothing() {
    let a = stratified(200, "a");
    let points = [
        a.iter().map(|it| 80.0 + it).collect(),
        a.iter().map(|it| 40.0 + it).collect(),
        vec![60.0],
    ];
    let got = gains_of(&points, &[(0, &a), (1, &a), (2, &[7.0])]);
    assert!(got[0].share > 0.99 && got[1].share > 0.99, "{got:?}");
    for got in &got {
        assert!(got.settled == 0.0 && got.settled_drawn == 0.0 && got.rival.is_none(), "{got:?}");
    }
    near(got[2].share, 0.0, 0.0);
}

#[test]
fn the_rival_named_is_the_one_whose_order_is_settled_most() {
    let a = stratified(400, "a");
    let points = [a.iter().map(|it| 50.0 + 2.0 * it).collect(), vec![54.0], vec![50.2], vec![46.0]];
    assert_eq!(gains_of(&points, &[(0, &a)])[0].rival, Some(2));
}

#[test]
fn what_does_not_fit_is_refused() {
    let a = stratified(100, "a");
    let points = [a.clone(), vec![0.0; 30], vec![50.0]];
    let refused = |points: &[Vec<f64>], weights: &[f64], product: usize, z: &[f64]| {
        of(points, |profiles| gains(profiles, weights, &[Candidate { product, z }]).unwrap_err())
    };
    let some = [a.clone(), vec![50.0]];
    assert_eq!(refused(&points, &[1.0], 0, &a), BadNext::Few { place: 2, found: 30 });
    let missing = refused(&some, &[1.0], 2, &a);
    assert_eq!(missing, BadNext::Product { place: 1, product: 3, products: 2 });
    let draws = refused(&some, &[1.0], 1, &a);
    assert_eq!(draws, BadNext::Draws { place: 1, found: 100, wanted: 1 });
    assert_eq!(refused(&some, &[1.0], 1, &[f64::NAN]), BadNext::Label { place: 1 });
    let parts = refused(&some, &[0.5, 0.5], 1, &[0.0]);
    assert_eq!(parts, BadNext::Parts { place: 1, found: 1, wanted: 2 });
    assert!(matches!(refused(&some, &[-1.0], 1, &[0.0]), BadNext::Weight { place: 1, .. }));
}

proptest! {
    /// Six products, three sources each with parts of their spread, and a fourth source without any.
    #[test]
    fn gains_are_not_below_zero_and_not_above_the_doubt(
        middles in prop::collection::vec(30.0..70.0_f64, 6),
        parts in prop::collection::vec((0.0..3.0_f64, 0.0..3.0_f64, 0.1..3.0_f64), 6),
        name in any::<u32>(),
    ) {
        let n = 300;
        let sources: Vec<Vec<f64>> =
            (0..24).map(|at| stratified(n, &format!("{name} {at}"))).collect();
        let points: Vec<Vec<f64>> = (0..6)
            .map(|i| {
                let (a, b, c) = parts[i];
                (0..n as usize)
                    .map(|d| {
                        let z = |at: usize| sources[4 * i + at][d];
                        (middles[i] + a * z(0) + b * z(1).powi(3) / 3.0 + c * z(2).max(0.0)).clamp(0.0, 100.0)
                    })
                    .collect()
            })
            .collect();
        let wanted: Vec<(usize, &[f64])> = (0..24).map(|at| (at / 4, &sources[at][..])).collect();
        let doubt = of(&points, |profiles| doubt(profiles, &[1.0]).unwrap());
        prop_assert!((0.0..=15.0).contains(&doubt));
        let got = gains_of(&points, &wanted);
        let mut misses = 0;
        for (at, it) in got.iter().enumerate() {
            prop_assert!((0.0..=1.0).contains(&it.share), "{:?}", it);
            prop_assert!(it.settled >= 0.0 && it.settled_drawn >= 0.0, "{:?}", it);
            prop_assert!(it.settled_drawn <= doubt + 1e-9, "{:?} of {}", it, doubt);
            misses += usize::from(at % 4 == 3 && it.share > 0.0);
        }
        // At 0.1 % each, two of six sources without influence speak up in 15 of a million cases.
        prop_assert!(misses <= 1, "{:?}", got);
        let shares: Vec<f64> = (0..6).map(|i| (0..4).map(|at| got[4 * i + at].share).sum()).collect();
        prop_assert!(shares.iter().all(|it| *it < 1.3), "{:?}", shares);
    }

    #[test]
    fn a_monotone_change_of_the_labels_changes_nothing(name in any::<u32>(), certain in 45.0..55.0_f64) {
        let z = stratified(200, &format!("{name}"));
        let noise = stratified(200, &format!("{name} noise"));
        let points =
            [z.iter().zip(&noise).map(|(a, b)| 50.0 + 2.0 * a + b).collect(), vec![certain]];
        let other: Vec<f64> = z.iter().map(|it| it.exp() * 1e3 - 7.0).collect();
        let got = gains_of(&points, &[(0, &z), (0, &other)]);
        prop_assert_eq!(got[0], got[1]);
    }
}
