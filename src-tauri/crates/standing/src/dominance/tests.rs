//! Checks of clear dominance. Reference values by numpy 2.4.6 with 200,000 draws of Dirichlet(40 w).

use proptest::prelude::*;

use super::*;
use crate::fixture::{TWELVE, near, place};
use crate::offered::made::{around, offer, twelve};

/// Good to 0.003; five standard errors of the 40,000 draws here besides.
#[test]
fn check_3_7_how_often_the_twelve_are_clearly_beaten_agrees_with_numpy() {
    let draws = 40_000;
    let got = beaten(&twelve(), &around(draws, "beaten"), draws, 2).unwrap();
    let agree = |got: f64, want: f64| {
        let error = (want * (1.0 - want) / 40_000.0).sqrt();
        near(got, want, 0.0005 + 4.0 * error + (want * (1.0 - want) / 200_000.0).sqrt());
    };
    let want = [1.0, 0.389, 1.0, 0.693, 0.0, 1.0, 0.140, 0.114, 0.779, 0.558, 0.0, 1.0];
    for ((got, want), (name, ..)) in got.p_not_beaten.iter().zip(want).zip(TWELVE) {
        assert!((0.0..=1.0).contains(got), "{name}");
        agree(*got, want);
    }
    for (name, p) in [("G", 0.860), ("H", 0.879), ("K", 0.997), ("I", 0.215)] {
        let (by, strongest) = got.strongest[place(name)].unwrap();
        assert_eq!(TWELVE[by].0, "F", "{name}");
        agree(strongest, p);
        near(got.p_by(place(name), by), strongest, 0.0);
    }
    // Several beat E in every draw; the best of them is named.
    assert_eq!(got.strongest[place("E")], Some((place("F"), 1.0)));
    for name in ["A", "C", "F", "L"] {
        let rare = got.strongest[place(name)].map_or(0.0, |(_, p)| p);
        assert!(rare < 0.0015, "{name} {rare}");
    }
}

fn certain(key: &str, price: f64, score: f64) -> Offered<'static> {
    offer(key, price, &[vec![score]])
}

fn plain(offers: &[Offered<'_>]) -> Beaten {
    beaten(offers, &Weightings::from_rows(&[vec![1.0]]).unwrap(), 1, 1).unwrap()
}

#[test]
fn the_margins_are_two_points_or_a_twentieth_of_the_price() {
    let beats = |price: f64, score: f64| {
        let got = plain(&[certain("a", 200.0, 60.0), certain("b", price, score)]);
        got.p_by(0, 1) > 0.5
    };
    // As dear: two points.
    assert!(!beats(200.0, 61.999_999));
    assert!(beats(200.0, 62.0));
    // A little cheaper: still two points.
    assert!(!beats(190.01, 61.9));
    assert!(beats(190.01, 62.0));
    // A twentieth cheaper: as good is enough, and 200 times 0.95 is 190 in spite of binary fractions.
    assert!(beats(190.0, 60.0));
    assert!(!beats(190.0, 59.999_999));
    // Dearer: never.
    assert!(!beats(200.01, 99.0));
}

#[test]
fn twins_do_not_beat_each_other_and_nobody_beats_himself() {
    let got = plain(&[certain("a", 200.0, 60.0), certain("b", 200.0, 60.0)]);
    assert_eq!((got.p_not_beaten, got.strongest), (vec![1.0, 1.0], vec![None, None]));
}

#[test]
fn a_product_beyond_the_band_beats_nobody() {
    let mut all = [certain("a", 200.0, 60.0), certain("b", 100.0, 90.0)];
    all[1].in_band = false;
    let got = plain(&all);
    assert_eq!(got.p_not_beaten, [1.0, 1.0]);
    near(got.p_by(0, 1), 0.0, 0.0);
    near(got.p_by(0, 9) + got.p_by(9, 0), 0.0, 0.0);
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let weights = Weightings::from_rows(&[vec![1.0]]).unwrap();
    let all = [certain("a", 200.0, 60.0), certain("a", 100.0, 90.0)];
    assert_eq!(beaten(&all, &weights, 1, 1).unwrap_err(), BadValue::Key { key: "a".to_owned() });
    assert!(matches!(beaten(&all, &weights, 2, 1), Err(BadValue::Draws { .. })));
    assert_eq!(beaten(&[], &weights, 1, 1).unwrap().p_not_beaten, Vec::<f64>::new());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Against the definition, draw by draw and pair by pair; over several pieces, threads and orders.
    #[test]
    fn counts_follow_the_definition(
        (list, order) in prop::collection::vec((90_u32..110, 0_u32..30, 0_u32..30, any::<bool>()), 1..8)
            .prop_flat_map(|it| {
                let order: Vec<usize> = (0..it.len()).collect();
                (Just(it), Just(order).prop_shuffle())
            }),
        threads in 1_usize..4,
    ) {
        let all: Vec<_> = list.iter().enumerate().map(|(at, &(price, a, b, in_band))| {
            let draws = vec![f64::from(a), f64::from(b), f64::from(b) / 2.0];
            let it = offer(&format!("{at}"), f64::from(price) * 2.0, &[draws, vec![f64::from(a)]]);
            Offered { in_band, ..it }
        }).collect();
        let draws = 2100;
        let weights = Weightings::from_rows(&vec![vec![0.5, 0.5]; draws]).unwrap();
        let got = beaten(&all, &weights, draws, threads).unwrap();
        for (i, own) in all.iter().enumerate() {
            let mut by = vec![0_u32; all.len()];
            let mut unbeaten = 0_u32;
            for d in 0..draws {
                let score = |it: &Offered<'_>| it.profile.score(weights.row(d), it.profile.place(d));
                let mut hit = false;
                for (j, other) in all.iter().enumerate().filter(|(j, it)| *j != i && it.in_band) {
                    let more = score(other) - score(own);
                    let clearly = other.price <= own.price && more >= 2.0 - 1e-9
                        || other.price <= own.price * 0.95 + 1e-9 && more >= -1e-9;
                    by[j] += u32::from(clearly);
                    hit |= clearly;
                }
                unbeaten += u32::from(!hit);
            }
            prop_assert!((got.p_not_beaten[i] - f64::from(unbeaten) / 2100.0).abs() < 1e-12);
            for (j, count) in by.iter().enumerate() {
                prop_assert!((got.p_by(i, j) - f64::from(*count) / 2100.0).abs() < 1e-12);
            }
        }
        let moved: Vec<_> = order.iter().map(|&it| all[it]).collect();
        let shuffled = beaten(&moved, &weights, draws, 1).unwrap();
        for (at, &i) in order.iter().enumerate() {
            prop_assert_eq!(shuffled.p_not_beaten[at].to_bits(), got.p_not_beaten[i].to_bits());
            prop_assert_eq!(shuffled.strongest[at].map(|(by, p)| (order[by], p)), got.strongest[i]);
        }
    }
}
