//! Nothing is lost, against scores in f32 and a plain count of who is before whom.

use proptest::prelude::*;

use crate::points::{LANES, PART, Points, QUAD, Scale, TALL};
use crate::sieve::{DEEPEST, DRAWS, Sieve, Way, is_there};

/// A score in f32, with products rounded and without.
fn scores(row: &[f32], weights: &[f32]) -> [f32; 2] {
    let terms = || row.iter().zip(weights);
    [terms().map(|(x, w)| x * w).sum(), terms().fold(0.0, |sum, (x, w)| x.mul_add(*w, sum))]
}

fn points_of(rows: &[Vec<f32>]) -> Points {
    let names: Vec<u32> = (0..).take(rows.len()).collect();
    points_by(&rows.concat(), rows[0].len(), &names)
}

fn points_by(points: &[f32], criteria: usize, names: &[u32]) -> Points {
    let scale = points.chunks(7).map(Scale::of).reduce(Scale::or).unwrap();
    let parts = names.chunks(PART).map(|it| scale.tiles(points, criteria, it));
    scale.points(criteria, parts.collect())
}

/// The whole score of a product.
fn whole(points: &Points, product: usize, weights: &[[u8; QUAD]]) -> i32 {
    let (tile, lane) = (product / (TALL * LANES), product % LANES);
    let group = product % (TALL * LANES) / LANES;
    let of = |(quad, w): (usize, &[u8; QUAD])| -> i32 {
        let y = points.tiles().nth(tile).unwrap()[quad * TALL + group].0[lane];
        y.iter().zip(w).map(|(y, w)| i32::from(*y) * i32::from(*w)).sum()
    };
    weights.iter().enumerate().map(of).sum()
}

/// What is reached in each draw, in order.
fn by_draw(
    sieve: &mut Sieve,
    points: &Points,
    draws: &[Vec<f32>],
    depth: usize,
) -> Vec<Vec<usize>> {
    let mut lists = vec![Vec::new(); draws.len()];
    for it in sieve.look(points, draws.iter().map(Vec::as_slice), depth) {
        lists[it.draw].push(it.product);
    }
    lists.iter_mut().for_each(|it| it.sort_unstable());
    lists
}

/// Numbers of a kind: any, few different ones, both ends, one, far beyond the scale.
fn numbers(count: usize) -> impl Strategy<Value = Vec<f32>> {
    prop_oneof![
        prop::collection::vec(0.0_f32..100.0, count),
        prop::collection::vec((0_u8..4).prop_map(|it| f32::from(it) * 12.5), count),
        prop::collection::vec(prop::sample::select(vec![0.0_f32, 100.0]), count),
        (0.0_f32..100.0).prop_map(move |it| vec![it; count]),
        prop::collection::vec(0.0_f32..1e6, count),
    ]
}

/// Weights of some draws: shares, all on one criterion, none at all, level ones, hardly any.
fn weights(criteria: usize) -> impl Strategy<Value = Vec<Vec<f32>>> {
    let one = prop_oneof![
        prop::collection::vec(0.0_f32..1.0, criteria),
        prop::collection::vec((0.0_f32..1.0).prop_map(|it| it.powi(8)), criteria),
        (0..criteria)
            .prop_map(move |at| (0..criteria).map(|k| f32::from(u8::from(k == at))).collect()),
        Just(vec![0.0; criteria]),
        Just(vec![1.0 / criteria as f32; criteria]),
        prop::collection::vec(0.0_f32..1e-38, criteria),
    ];
    prop::collection::vec(one, 1..=DRAWS)
}

/// Points, weights of draws, and how many places are asked for.
fn any_case() -> impl Strategy<Value = (Vec<Vec<f32>>, Vec<Vec<f32>>, usize)> {
    (1_usize..75, 1_usize..1400).prop_flat_map(|(criteria, products)| {
        let points = numbers(criteria * products)
            .prop_map(move |it| it.chunks(criteria).map(<[f32]>::to_vec).collect());
        (points, weights(criteria), 1..=DEEPEST)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn who_is_behind_by_more_than_two_margins_has_the_lower_score((rows, draws, _) in any_case()) {
        let points = points_of(&rows);
        for weights in &draws {
            let mut octets = vec![[0; QUAD]; points.quads];
            let margin = points.weights(weights, &mut octets);
            let mut all: Vec<(i32, [f32; 2])> = rows
                .iter()
                .enumerate()
                .map(|(at, row)| (whole(&points, at, &octets), scores(row, weights)))
                .collect();
            all.sort_unstable_by_key(|it| it.0);
            // The highest score among those that are behind by more than two margins.
            let (mut most, mut behind) = ([f32::NEG_INFINITY; 2], 0);
            for (whole, score) in &all {
                while i64::from(all[behind].0) + 2 * i64::from(margin) < i64::from(*whole) {
                    most = [0, 1].map(|it| most[it].max(all[behind].1[it]));
                    behind += 1;
                }
                prop_assert!(most[0] < score[0] && most[1] < score[1], "{most:?} {score:?} {margin}");
            }
        }
    }

    #[test]
    fn nobody_of_the_first_is_lost((rows, draws, depth) in any_case()) {
        let points = points_of(&rows);
        let ways = Way::all(&points).into_iter();
        let all: Vec<_> = ways
            .map(|it| {
                let mut sieve = Sieve::by(it, &points);
                let whole = by_draw(&mut sieve, &points, &draws, depth);
                // Nothing is left of one block in the next one.
                let one = by_draw(&mut sieve, &points, &draws[..1], depth);
                assert_eq!(one, whole[..1]);
                whole
            })
            .collect();
        prop_assert!(all[1..].windows(2).all(|it| it[0] == it[1]), "whole numbers are the same in each way");
        prop_assert!(all.len() > 1 || !is_there());
        for (weights, reached) in all.iter().flat_map(|it| draws.iter().zip(it)) {
            prop_assert!(reached.windows(2).all(|it| it[0] < it[1]), "each once");
            prop_assert!(reached.iter().all(|it| *it < rows.len()));
            let all: Vec<[f32; 2]> = rows.iter().map(|row| scores(row, weights)).collect();
            for rounding in [0, 1] {
                let mut order: Vec<f32> = all.iter().map(|it| it[rounding]).collect();
                order.sort_unstable_by(|a, b| b.total_cmp(a));
                let least = order[depth.min(order.len()) - 1];
                for (product, score) in all.iter().enumerate() {
                    prop_assert!(score[rounding] < least || reached.binary_search(&product).is_ok());
                }
            }
        }
    }
}

/// Products are taken in the order asked for, and no others.
#[test]
fn names_say_who_is_where() {
    let points = points_by(&[10.0, 18.0, 30.0, 40.0, 50.0], 1, &[4, 1, 2]);
    let lanes = points.tiles[0].0.map(|it| it[0]);
    // From 10 to 50, 127 steps on each side of 30.
    assert_eq!(lanes[..4], [127, -76, 0, -127]);
}

/// Evenly spread points: a few dozen of ten thousand are left, not all.
#[test]
fn most_are_left_out() {
    let criteria = 40;
    let mut state = 1_u64;
    let mut unit = || {
        // The generator of Lehmer with the factor of Park and Miller.
        state = state * 48_271 % 2_147_483_647;
        state as f32 / 2_147_483_647.0
    };
    let rows: Vec<Vec<f32>> =
        (0..10_000).map(|_| (0..criteria).map(|_| 100.0 * unit()).collect()).collect();
    let draws: Vec<Vec<f32>> =
        (0..DRAWS).map(|_| (0..criteria).map(|_| unit()).collect()).collect();
    // The highest sums first, as the sieve takes the first ones to lead.
    let mut rows = rows;
    rows.sort_unstable_by(|a, b| b.iter().sum::<f32>().total_cmp(&a.iter().sum()));
    let points = points_of(&rows);
    let mut sieve = Sieve::new(&points);
    for reached in by_draw(&mut sieve, &points, &draws, 20) {
        let most = if is_there() { 150 } else { 10_000 };
        assert!((20..=most).contains(&reached.len()), "{}", reached.len());
    }
}
