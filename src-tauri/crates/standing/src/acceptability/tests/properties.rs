//! What holds for any products and any weights, and what is refused.

use proptest::prelude::*;

use super::*;
use crate::acceptability::BadAcceptability;

/// Products with three subsystems, each certain or of five draws; whole points often tie, which is where ranks go wrong.
fn any_drawn() -> impl Strategy<Value = Vec<Vec<Vec<f64>>>> {
    let points = (0_u8..=6).prop_map(|it| f64::from(it) * 10.0);
    let part = prop_oneof![
        prop::collection::vec(points.clone(), 1),
        prop::collection::vec(points, 5),
        prop::collection::vec(0.0..100.0_f64, 5)
    ];
    prop::collection::vec(prop::collection::vec(part, 3), 1..12)
}

fn any_weights() -> impl Strategy<Value = Weightings> {
    let row = (0_u8..=4, 0_u8..=4, 1_u8..=4).prop_map(|(a, b, c)| {
        let sum = f64::from(a) + f64::from(b) + f64::from(c);
        [a, b, c].map(|it| f64::from(it) / sum).to_vec()
    });
    prop::collection::vec(row, 1..40).prop_map(|rows| Weightings::from_rows(&rows).unwrap())
}

fn order(n: usize) -> impl Strategy<Value = Vec<usize>> {
    Just((0..n).collect::<Vec<_>>()).prop_shuffle()
}

/// Ranked with keys that stay with the products.
fn with_keys(
    drawn: &[(u64, Vec<Vec<f64>>)],
    weights: &Weightings,
    threads: usize,
) -> Acceptability {
    let parts: Vec<Vec<Option<&[f64]>>> =
        drawn.iter().map(|it| it.1.iter().map(|x| Some(x.as_slice())).collect()).collect();
    let profiles: Vec<Profile<'_>> = drawn
        .iter()
        .zip(&parts)
        .map(|(it, parts)| Profile::new(parts, it.0, None).unwrap())
        .collect();
    acceptability(&profiles, weights, threads).unwrap()
}

proptest! {
    #[test]
    fn counts_follow_the_definition(drawn in any_drawn(), weights in any_weights()) {
        let it = drawn_ranked(&drawn, &weights, 2);
        let n = drawn.len();
        let mut shared = vec![vec![0_u32; n]; n];
        let mut split = vec![vec![0.0; n]; n];
        let mut wins = vec![vec![0_u32; n]; n];
        for d in 0..weights.draws() {
            let scores: Vec<i64> = (0..).zip(&drawn).map(|(key, it)| {
                let parts: Vec<Option<&[f64]>> = it.iter().map(|x| Some(x.as_slice())).collect();
                let profile = Profile::new(&parts, key, None).unwrap();
                profile.micropoints(weights.row(d), profile.place(d))
            }).collect();
            for i in 0..n {
                let above = scores.iter().filter(|it| **it > scores[i]).count();
                let level = scores.iter().filter(|it| **it == scores[i]).count();
                shared[i][above] += 1;
                for it in &mut split[i][above..above + level] {
                    *it += 1.0 / level as f64;
                }
                for (wins, score) in wins[i].iter_mut().zip(&scores) {
                    *wins += u32::from(scores[i] > *score);
                }
            }
        }
        for i in 0..n {
            prop_assert_eq!(it.shared(i), &shared[i]);
            for (got, want) in it.split(i).iter().zip(&split[i]) {
                prop_assert!((got - want).abs() < 1e-9);
            }
            for (j, want) in wins[i].iter().enumerate() {
                prop_assert_eq!(it.wins(i, j), *want);
                prop_assert_eq!(it.all_wins(2)[i * n + j], *want);
            }
        }
    }

    #[test]
    fn ties_split_fill_every_row_and_column(drawn in any_drawn(), weights in any_weights()) {
        let it = drawn_ranked(&drawn, &weights, 1);
        for r in 0..it.n() {
            let draws = it.draws() as f64;
            prop_assert!((it.split(r).iter().sum::<f64>() - draws).abs() < 1e-9);
            prop_assert!(((0..it.n()).map(|i| it.split(i)[r]).sum::<f64>() - draws).abs() < 1e-9);
        }
        let mean = (0..it.n()).map(|i| it.holistic(i)).sum::<f64>() / it.n() as f64;
        let want = if it.n() == 1 { 1.0 } else { 0.5 };
        prop_assert!((mean - want).abs() < 1e-12);
    }

    #[test]
    fn threads_change_nothing(drawn in any_drawn(), weights in any_weights(), threads in 0_usize..7) {
        prop_assert_eq!(drawn_ranked(&drawn, &weights, threads), drawn_ranked(&drawn, &weights, 1));
    }

    #[test]
    fn other_orders_of_products_permute_the_counts(
        (drawn, order) in any_drawn().prop_flat_map(|it| { let n = it.len(); (Just(it), order(n)) }),
        weights in any_weights(),
    ) {
        let drawn: Vec<(u64, Vec<Vec<f64>>)> = (0..).zip(drawn).collect();
        let shuffled: Vec<(u64, Vec<Vec<f64>>)> = order.iter().map(|i| drawn[*i].clone()).collect();
        let (a, b) = (with_keys(&drawn, &weights, 2), with_keys(&shuffled, &weights, 2));
        for (to, &from) in order.iter().enumerate() {
            prop_assert_eq!(a.shared(from), b.shared(to));
            prop_assert_eq!(a.split(from), b.split(to));
            prop_assert_eq!(a.central(from), b.central(to));
            for (other, &origin) in order.iter().enumerate() {
                prop_assert_eq!(a.wins(from, origin), b.wins(to, other));
            }
        }
    }

    #[test]
    fn other_orders_of_criteria_change_no_count(
        points in prop::collection::vec(prop::collection::vec(0_u8..=100, 3), 1..12),
        rows in prop::collection::vec((0_u8..=4, 0_u8..=4), 1..40),
        order in order(3),
    ) {
        // Weights in eighths, so that sums are exact in any order.
        let rows: Vec<Vec<f64>> =
            rows.iter().map(|(a, b)| [*a, *b, 8 - a - b].map(|it| f64::from(it) / 8.0).to_vec()).collect();
        let turned = |row: &Vec<f64>| order.iter().map(|k| row[*k]).collect::<Vec<f64>>();
        let points: Vec<Vec<f64>> =
            points.iter().map(|it| it.iter().map(|x| f64::from(*x)).collect()).collect();
        let a = ranked(&points, &Weightings::from_rows(&rows).unwrap(), 1);
        let points: Vec<Vec<f64>> = points.iter().map(turned).collect();
        let rows: Vec<Vec<f64>> = rows.iter().map(turned).collect();
        let b = ranked(&points, &Weightings::from_rows(&rows).unwrap(), 1);
        for i in 0..a.n() {
            prop_assert_eq!(a.shared(i), b.shared(i));
            prop_assert_eq!(a.central(i).map(|it| turned(&it.to_vec())), b.central(i).map(<[f64]>::to_vec));
        }
    }

    #[test]
    fn a_further_product_leaves_the_wins_between_the_others(
        (drawn, at) in any_drawn().prop_flat_map(|it| { let n = it.len(); (Just(it), 0..n) }),
        weights in any_weights(),
    ) {
        let drawn: Vec<(u64, Vec<Vec<f64>>)> = (0..).zip(drawn).collect();
        let mut fewer = drawn.clone();
        fewer.remove(at);
        prop_assume!(!fewer.is_empty());
        let (all, fewer) = (with_keys(&drawn, &weights, 2), with_keys(&fewer, &weights, 2));
        let old = |i: usize| i + usize::from(i >= at);
        for i in 0..fewer.n() {
            for j in 0..fewer.n() {
                prop_assert_eq!(fewer.wins(i, j), all.wins(old(i), old(j)));
            }
        }
    }
}

#[test]
fn what_cannot_be_ranked_is_refused() {
    let weights = Weightings::from_rows(&[vec![0.5, 0.5]]).unwrap();
    assert_eq!(acceptability(&[], &weights, 1).unwrap_err(), BadAcceptability::Empty);
    let refusal = |points: [f64; 2], parts: usize, cap: Option<f64>| {
        let [good, bad] = [[50.0], [points[1]]];
        let good = [Some(&good[..]), Some(&good[..])];
        let bad = [Some(&points[..1]), Some(&bad[..])];
        let profiles =
            [Profile::new(&good, 1, None).unwrap(), Profile::new(&bad[..parts], 2, cap).unwrap()];
        acceptability(&profiles, &weights, 1).unwrap_err()
    };
    assert_eq!(
        refusal([50.0, 50.0], 1, None),
        BadAcceptability::Parts { place: 2, found: 1, wanted: 2 }
    );
    assert_eq!(
        refusal([50.0, 100.5], 2, None),
        BadAcceptability::Points { place: 2, points: 100.5 }
    );
    let text = refusal([f64::NAN, 50.0], 2, None).to_string();
    assert!(text.contains("product 2 has NaN points; write a number from 0 to 100"), "{text}");
    assert_eq!(
        refusal([50.0, 50.0], 2, Some(-1.0)),
        BadAcceptability::Points { place: 2, points: -1.0 }
    );
    let part = [50.0];
    let parts = [Some(&part[..]), None];
    let profile = Profile::new(&parts, 1, None).unwrap();
    let many = vec![profile; super::super::MOST_PRODUCTS + 1];
    assert_eq!(
        acceptability(&many, &weights, 1).unwrap_err(),
        BadAcceptability::TooMany { found: 5001 }
    );
}

#[test]
fn equal_products_share_every_place() {
    let weights = Weightings::from_rows(&vec![vec![0.5, 0.5]; 7]).unwrap();
    let it = ranked(&vec![vec![40.0, 60.0]; 3], &weights, 2);
    for i in 0..3 {
        assert_eq!(it.shared(i), [7, 0, 0]);
        assert_eq!(it.first(i), 7);
        assert_eq!(it.central(i), Some(&[0.5, 0.5][..]));
        assert_eq!((it.wins(i, 0), it.rank_quantile(i, 0.5)), (0, 1.0));
        assert!((it.split(i)[2] - 7.0 / 3.0).abs() < 1e-12);
    }
}
