//! Six of the twelve products under all weights in tenths and in twentieths. Scores are whole there, so all counts are exact.
//!
//! Counts by R smaa 0.3-2 and by numpy 2.4.6, which agree; confidence factors by `smaa.cf` of R smaa.

use super::*;
use crate::fixture::near;

const SIX: &str = "FGHIJK";

fn of<'a>(it: &'a Acceptability, name: &str) -> (usize, &'a Acceptability) {
    (SIX.find(name).unwrap(), it)
}

fn shared<'a>(it: &'a Acceptability, name: &str) -> &'a [u32] {
    let (i, it) = of(it, name);
    it.shared(i)
}

fn wins(it: &Acceptability, a: &str, b: &str) -> u32 {
    it.wins(SIX.find(a).unwrap(), SIX.find(b).unwrap())
}

#[test]
fn check_6_5_tenths_with_shared_ranks() {
    let it = ranked(&named(SIX), &parts_of(4, 10), 2);
    assert_eq!((it.n(), it.draws()), (6, 286));
    assert_eq!(shared(&it, "F"), [2, 27, 114, 84, 59, 0]);
    assert_eq!(shared(&it, "G"), [0, 61, 79, 48, 41, 57]);
    assert_eq!(shared(&it, "H"), [7, 69, 33, 94, 75, 8]);
    assert_eq!(shared(&it, "I"), [100, 62, 34, 23, 47, 20]);
    assert_eq!(shared(&it, "J"), [151, 45, 20, 13, 34, 23]);
    assert_eq!(shared(&it, "K"), [28, 26, 11, 17, 27, 177]);
    let columns: Vec<u32> = (0..6).map(|r| (0..6).map(|i| it.shared(i)[r]).sum()).collect();
    assert_eq!(columns, [288, 290, 291, 279, 283, 285]);
    assert_eq!(it.first(4), 151);
    near(it.p_rank_at_most(4, 2), 196.0 / 286.0, 1e-15);
    near(it.p_rank_at_most(4, 6), 1.0, 1e-15);
}

#[test]
fn check_6_5_tenths_with_ties_split() {
    let it = ranked(&named(SIX), &parts_of(4, 10), 1);
    for (name, want) in [
        ("F", [2.0, 26.0, 110.833_333, 87.333_333, 59.833_333, 0.0]),
        ("J", [150.0, 44.0, 22.0, 12.5, 34.0, 23.5]),
        ("I", [99.5, 61.5, 33.5, 24.0, 47.5, 20.0]),
    ] {
        let (i, it) = of(&it, name);
        for (got, want) in it.split(i).iter().zip(want) {
            near(*got, want, 5e-7);
        }
    }
    for r in 0..6 {
        near((0..6).map(|i| it.split(i)[r]).sum(), 286.0, 1e-9);
        near(it.split(r).iter().sum(), 286.0, 1e-9);
    }
}

#[test]
fn check_6_5_tenths_central_weights() {
    let it = ranked(&named(SIX), &parts_of(4, 10), 2);
    for (name, want) in [
        ("F", [0.4, 0.25, 0.35, 0.0]),
        ("H", [0.528_571_428_571, 0.042_857_142_857, 0.371_428_571_429, 0.057_142_857_143]),
        ("I", [0.081, 0.399, 0.326, 0.194]),
        ("J", [0.358_278_145_695, 0.194_701_986_755, 0.111_920_529_801, 0.335_099_337_748]),
        ("K", [0.189_285_714_286, 0.060_714_285_714, 0.689_285_714_286, 0.060_714_285_714]),
    ] {
        let (i, it) = of(&it, name);
        for (got, want) in it.central(i).unwrap().iter().zip(want) {
            near(*got, want, 1e-12);
        }
    }
    let (g, it) = of(&it, "G");
    assert_eq!((it.first(g), it.central(g)), (0, None));
}

#[test]
fn check_6_5_tenths_pairwise_wins() {
    let it = ranked(&named(SIX), &parts_of(4, 10), 2);
    // One of the 286 is a tie.
    assert_eq!((wins(&it, "J", "I"), wins(&it, "I", "J")), (160, 125));
    assert_eq!((wins(&it, "J", "F"), wins(&it, "F", "J")), (209, 75));
    assert_eq!((wins(&it, "K", "F"), wins(&it, "F", "K")), (55, 230));
    assert_eq!(wins(&it, "K", "K"), 0);
}

#[test]
fn check_6_5_twentieths() {
    let it = ranked(&named(SIX), &parts_of(4, 20), 2);
    assert_eq!(it.draws(), 1771);
    assert_eq!(shared(&it, "F"), [23, 184, 663, 514, 387, 0]);
    assert_eq!(shared(&it, "G"), [0, 337, 526, 289, 262, 357]);
    assert_eq!(shared(&it, "H"), [39, 420, 179, 638, 447, 48]);
    assert_eq!(shared(&it, "I"), [640, 399, 191, 140, 273, 128]);
    assert_eq!(shared(&it, "J"), [949, 283, 138, 65, 210, 126]);
    assert_eq!(shared(&it, "K"), [135, 163, 71, 114, 183, 1105]);
    assert_eq!((wins(&it, "J", "I"), wins(&it, "I", "J")), (999, 768));
    for (name, want) in [
        ("J", 0.747_487_295_3),
        ("I", 0.667_250_141_2),
        ("F", 0.477_865_612_6),
        ("K", 0.218_690_005_6),
    ] {
        let (i, it) = of(&it, name);
        near(it.holistic(i), want, 5e-11);
    }
}

/// Eleven scenarios in which the driver's points move, at the central weights of the tenths.
#[test]
fn check_6_5_confidence_factors() {
    let points = named(SIX);
    let it = ranked(&points, &parts_of(4, 10), 2);
    let shifts = |p: usize| (0..11).map(move |s| ((s * p) % 11) as f64 - 5.0);
    let drawn: Vec<Vec<Vec<f64>>> = (1..)
        .zip(&points)
        .map(|(p, it)| {
            let driver = shifts(p).map(|shift| it[1] + shift).collect();
            vec![vec![it[0]], driver, vec![it[2]], vec![it[3]]]
        })
        .collect();
    for (name, want) in [("F", 0.727_272_727_273), ("H", 1.0), ("I", 1.0), ("J", 1.0), ("K", 1.0)] {
        let i = SIX.find(name).unwrap();
        let central = it.central(i).unwrap().to_vec();
        let weights = Weightings::from_rows(&vec![central; 11]).unwrap();
        let factor = f64::from(drawn_ranked(&drawn, &weights, 1).first(i)) / 11.0;
        near(factor, want, 1e-12);
    }
}

/// Against the list of all ranks by `summary::quantiles`, type 8.
#[test]
fn quantiles_of_ranks_are_those_of_the_list_of_ranks() {
    let it = ranked(&named(SIX), &parts_of(4, 10), 2);
    for i in 0..6 {
        let ranks: Vec<f64> = (1..)
            .zip(it.shared(i))
            .flat_map(|(rank, count)| vec![f64::from(rank); *count as usize])
            .collect();
        let at = [0.0, 0.05, 0.37, 0.5, 0.95, 1.0];
        let wanted = crate::summary::quantiles(&ranks, &at).unwrap().unwrap();
        for (p, want) in at.into_iter().zip(wanted) {
            near(it.rank_quantile(i, p), want, 1e-12);
        }
    }
}
