//! Kernels against the plainest way to the same counts.

use proptest::prelude::*;

use super::keys::{BLOCK, Given, Keys, STEP, Source};
use super::mix::{BadMix, Mix};
use super::noise::Noise;
use super::pairs::Pairs;
use super::places::Places;
use super::top::{Top, top, top_by};

/// Whole points from 0 to 20 and weights in quarters: sums are exact and often level.
fn table(
    rows: std::ops::Range<usize>,
    criteria: usize,
    unit: f32,
) -> impl Strategy<Value = Vec<f32>> {
    prop::collection::vec(prop::collection::vec(0_u8..=20, criteria), rows)
        .prop_map(move |it| it.concat().into_iter().map(|x| f32::from(x) * unit).collect())
}

/// Points, weights and how many criteria.
fn any_mix(products: std::ops::Range<usize>) -> impl Strategy<Value = (Vec<f32>, Vec<f32>, usize)> {
    (1_usize..10).prop_flat_map(move |criteria| {
        let points = table(products.clone(), criteria, 1.0);
        (points, table(1..60, criteria, 0.25), Just(criteria))
    })
}

/// Scores, a row a draw.
fn scores(points: &[f32], weights: &[f32], criteria: usize) -> Vec<Vec<f32>> {
    let score = |w: &[f32], x: &[f32]| w.iter().zip(x).map(|(w, x)| w * x).sum();
    weights
        .chunks(criteria)
        .map(|w| points.chunks(criteria).map(|x| score(w, x)).collect())
        .collect()
}

fn plain_top(scores: &[Vec<f32>], depth: usize) -> Top {
    let n = scores[0].len();
    let (mut counts, mut firsts) = (vec![0; n * depth], Vec::new());
    for row in scores {
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_by(|a, b| row[*b].total_cmp(&row[*a]));
        firsts.push(u32::try_from(order[0]).unwrap());
        for (rank, product) in order.into_iter().take(depth).enumerate() {
            counts[product * depth + rank] += 1;
        }
    }
    Top { depth, counts, firsts }
}

fn check_places((places, pairs): (Places, Pairs), scores: &[Vec<f32>]) {
    let n = scores[0].len();
    let wins = pairs.all_wins(3);
    for i in 0..n {
        let ranks: Vec<usize> =
            scores.iter().map(|row| row.iter().filter(|it| **it > row[i]).count()).collect();
        let got = pairs.pieces().iter().flat_map(|it| super::planes::ranks(it, n, i));
        assert_eq!(got.take(ranks.len()).collect::<Vec<usize>>(), ranks, "product {i}");
        let firsts = (0..).zip(&ranks).filter(|it| *it.1 == 0).map(|it| (it.0, i));
        assert!(firsts.eq(places.firsts().into_iter().filter(|it| it.1 == i)), "product {i}");
        for r in 0..n {
            let count = ranks.iter().filter(|it| **it == r).count();
            assert_eq!(places.counts(i)[r] as usize, count);
        }
        for j in 0..n {
            let count = scores.iter().filter(|row| row[i] > row[j]).count();
            assert_eq!((pairs.wins(i, j) as usize, wins[i * n + j] as usize), (count, count));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn places_are_those_of_a_plain_sort((points, weights, criteria) in any_mix(1..40), threads in 0_usize..5) {
        let scores = scores(&points, &weights, criteria);
        let mix = Mix::new(&points, &weights, criteria).unwrap();
        check_places(Places::with_pairs(&mix, threads), &scores);
        prop_assert_eq!(Places::with_pairs(&mix, 1).0, Places::of(&mix, threads));
        let given = scores.concat();
        check_places(Places::with_pairs(&Given::new(&given, scores[0].len()), threads), &scores);
    }

    #[test]
    fn the_first_few_are_those_of_a_plain_sort(
        (points, weights, criteria) in any_mix(1..1500),
        depth in 1_usize..30,
        threads in 0_usize..5,
    ) {
        let want = plain_top(&scores(&points, &weights, criteria), depth);
        prop_assert_eq!(top(&points, &weights, criteria, depth, threads).unwrap(), want);
    }

    /// Points and weights of any value, so that sums are rounded, and whole ones, so that many are level.
    #[test]
    fn both_ways_to_the_first_few_come_to_the_same(
        criteria in 1_usize..70,
        n in 1_usize..1500,
        depth in 1_usize..=100,
        whole: bool,
        seed: u64,
    ) {
        let mut stream = domain::draw::Stream::of(seed, "points", "", "");
        let mut number = |most: f64| {
            #[expect(clippy::cast_possible_truncation, reason = "the tables are in f32")]
            let it = (most * stream.unit().powi(3)) as f32;
            if whole { it.round() } else { it }
        };
        let points: Vec<f32> = (0..n * criteria).map(|_| number(100.0)).collect();
        let weights: Vec<f32> = (0..40 * criteria).map(|_| number(8.0)).collect();
        let by = |sieve| top_by(sieve, &points, &weights, [n, criteria, depth, 2]);
        // Elsewhere sums of f32 may be rounded after each product.
        if octets::is_there() {
            prop_assert_eq!(by(true), by(false));
        }
        if whole {
            prop_assert_eq!(by(true), plain_top(&scores(&points, &weights, criteria), depth));
        }
    }

    #[test]
    fn lists_side_by_side_are_sorted(
        columns in prop::collection::vec(prop::collection::vec(0_u8..50, 2), 0..700),
    ) {
        let mut rows: Vec<[u8; 2]> = columns.iter().map(|it| [it[0], it[1]]).collect();
        rows.resize(rows.len().next_multiple_of(super::network::UNIT), [0; 2]);
        let mut want = [0, 1].map(|l| rows.iter().map(|it| it[l]).collect::<Vec<u8>>());
        super::network::sort(&mut rows, |a: [u8; 2], b: [u8; 2]| {
            ([a[0].max(b[0]), a[1].max(b[1])], [a[0].min(b[0]), a[1].min(b[1])])
        });
        for (l, want) in want.iter_mut().enumerate() {
            want.sort_unstable_by(|a, b| b.cmp(a));
            prop_assert_eq!(&rows.iter().map(|it| it[l]).collect::<Vec<u8>>(), &*want);
        }
    }
}

/// Many products and draws, without ties and with a lead of the last product, so that thresholds must rise.
#[test]
fn thresholds_that_many_reach_are_raised() {
    let criteria = 12;
    let n = 6000;
    // The sum of points falls while the only criterion that has weight rises.
    let points: Vec<f32> = (0..n)
        .flat_map(|p| (0..criteria).map(move |k| if k == 0 { p as f32 } else { (n - p) as f32 }))
        .collect();
    let weights: Vec<f32> =
        (0..40).flat_map(|_| (0..criteria).map(|k| if k == 0 { 1.0 } else { 0.0 })).collect();
    let got = top(&points, &weights, criteria, 20, 2).unwrap();
    assert_eq!(got, plain_top(&scores(&points, &weights, criteria), 20));
    assert!(got.firsts.iter().all(|it| *it == 5999));
}

#[test]
fn noise_without_errors_is_the_mix() {
    let points: Vec<f32> = (0..35).map(|it| ((it * 37) % 101) as f32).collect();
    let weights: Vec<f32> = (0..1000).map(|it| ((it * 13) % 5) as f32 * 0.25).collect();
    let noise = Noise::new(&points, &[0.0; 35], &weights, 5, 1).unwrap();
    let mix = Mix::new(&points, &weights, 5).unwrap();
    assert_eq!(Places::with_pairs(&noise, 2), Places::with_pairs(&mix, 1));
}

/// A point of 50 with an error of 5: mean and variance of its scores within four standard errors, and none beyond 0 to 100 for an
/// error of 200.
#[test]
fn noise_has_the_stated_error() {
    let draws = 128 * 100;
    let weights = vec![1.0; draws];
    let scores = |u: f32| -> Vec<f64> {
        let noise = Noise::new(&[50.0], &[u], &weights, 1, 9).unwrap();
        let mut keys: [Keys; BLOCK / STEP] = [[0; STEP]; BLOCK / STEP];
        (0..draws / BLOCK)
            .flat_map(|block| {
                noise.fill(block, &mut keys);
                keys.as_flattened()
                    .iter()
                    .map(|it| f64::from(f32::from_bits(*it)))
                    .collect::<Vec<f64>>()
            })
            .collect()
    };
    let (n, all) = (f64::from(u32::try_from(draws).unwrap()), scores(5.0));
    let mean = all.iter().sum::<f64>() / n;
    let variance = all.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / n;
    assert!((mean - 50.0).abs() < 4.0 * 5.0 / n.sqrt(), "{mean}");
    assert!((variance - 25.0).abs() < 4.0 * 25.0 * f64::sqrt(2.0 / n), "{variance}");
    let all = scores(200.0);
    assert!(all.iter().all(|it| (0.0..=100.0).contains(it)));
    // Phi(-0.25) = 0.4012936743 (scipy 1.17.1 `norm.cdf`) lies at each end.
    let low = all.iter().filter(|it| **it == 0.0).count() as f64 / n;
    assert!((low - 0.401_293_674_3).abs() < 4.0 * f64::sqrt(0.24 / n), "{low}");
}

#[test]
fn noise_of_a_product_stays_when_others_are_added() {
    let weights = vec![0.25; 4 * 200];
    let (points, errors) = (vec![40.0; 12], vec![5.0; 12]);
    let keys = |products: usize, seed: u64| {
        let it = 4 * products;
        let noise = Noise::new(&points[..it], &errors[..it], &weights, 4, seed).unwrap();
        let mut keys = vec![[0; STEP]; products * (BLOCK / STEP)];
        noise.fill(0, &mut keys);
        keys
    };
    let (three, two) = (keys(3, 1), keys(2, 1));
    for (three, two) in three.chunks(3).zip(two.chunks(2)) {
        assert_eq!(three[..2], *two);
        assert_ne!(three[0], three[1]);
    }
    assert_ne!(two, keys(2, 2));
}

#[test]
fn tables_without_whole_rows_and_numbers_below_0_are_refused() {
    assert_eq!(Mix::new(&[], &[1.0], 1).unwrap_err(), BadMix::Rows { found: 0, criteria: 1 });
    assert_eq!(Mix::new(&[1.0], &[1.0], 0).unwrap_err(), BadMix::Rows { found: 1, criteria: 0 });
    let error = top(&[1.0, 2.0, 3.0], &[1.0, 1.0], 2, 1, 1).unwrap_err();
    assert_eq!(error, BadMix::Rows { found: 3, criteria: 2 });
    let error = Mix::new(&[1.0, -2.0], &[1.0, 1.0], 2).unwrap_err();
    assert_eq!(error, BadMix::Value { place: 2, value: -2.0 });
    assert!(Mix::new(&[1.0, 2.0], &[f32::NAN, 1.0], 2).is_err());
    assert!(Noise::new(&[1.0, 2.0], &[1.0], &[1.0], 1, 0).is_err());
}
