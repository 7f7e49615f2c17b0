//! Shares of the whole simplex of weights that are known exactly, by weights that cover it evenly.

use super::*;
use crate::fixture::near;

/// A lattice of m + 2 steps that keeps half a step from every face, so that each point stands for an equal share.
fn middles(m: usize) -> Weightings {
    let share = |it: usize| (it as f64 + 0.5) / (m as f64 + 2.0);
    let rows: Vec<Vec<f64>> =
        lattice(4, m).into_iter().map(|row| row.into_iter().map(share).collect()).collect();
    Weightings::from_rows(&rows).unwrap()
}

/// The centroids of the m^2 equal triangles into which the simplex of three weights is cut.
fn triangles(m: usize) -> Weightings {
    let third = |row: &[usize], add: f64| {
        row.iter().map(|it| (*it as f64 + add) / m as f64).collect::<Vec<f64>>()
    };
    // Triangles that stand have their corners one step up in each direction, those that hang two of three.
    let standing = lattice(3, m - 1).into_iter().map(|row| third(&row, 1.0 / 3.0));
    let hanging = lattice(3, m - 2).into_iter().map(|row| third(&row, 2.0 / 3.0));
    let rows: Vec<Vec<f64>> = standing.chain(hanging).collect();
    assert_eq!(rows.len(), m * m);
    Weightings::from_rows(&rows).unwrap()
}

/// P(S_a > S_b) under uniform weights is the sum over d_k > 0 of `d_k^3 / prod over l != k of (d_k - d_l)`, `d` the differences of
/// the points: a linear form in uniform spacings (H. Weisberg, Annals of Mathematical Statistics 42 (1971) 704-709, from memory).
/// The fractions below are exact.
#[test]
fn check_6_5_exact_shares_of_pairwise_wins() {
    let it = ranked(&named("FGHIJ"), &middles(70), 2);
    for (a, b, exact) in [
        ("J", "I", 6719.0 / 11760.0),
        ("I", "H", 3019.0 / 4350.0),
        ("J", "F", 2351.0 / 3080.0),
        ("G", "H", 8089.0 / 16800.0),
    ] {
        let [i, j] = [a, b].map(|name| "FGHIJ".find(name).unwrap());
        near(f64::from(it.wins(i, j)) / it.draws() as f64, exact, 5e-4);
    }
}

/// Exact shares by cutting the triangle of weights into polygons, in fractions.
#[test]
fn check_6_5_exact_acceptabilities_of_three_criteria() {
    let points: Vec<Vec<f64>> =
        [[80.0, 40.0, 55.0], [50.0, 75.0, 60.0], [60.0, 65.0, 45.0], [70.0, 50.0, 66.0]]
            .map(|it| it.to_vec())
            .to_vec();
    let it = ranked(&points, &triangles(400), 2);
    let share = |i: usize, r: usize| it.split(i)[r - 1] / it.draws() as f64;
    for (i, want) in (0..).zip([0.234_279_392_2, 0.444_664_407_3, 1.0 / 333.0, 0.318_053_197_5]) {
        near(share(i, 1), want, 1e-4);
    }
    let first = [0.234_279_392_2, 0.161_412_288_6, 0.211_211_483_2, 0.393_096_836_0];
    let fourth = [0.318_053_197_5, 0.431_851_253_7, 0.246_013_988_2, 0.004_081_560_6];
    for (r, (a, b)) in (1..).zip(first.into_iter().zip(fourth)) {
        near(share(0, r), a, 1e-4);
        near(share(3, r), b, 1e-4);
    }
    for (i, want) in (0..).zip([
        [0.677_131_952_6, 0.161_932_983_6, 0.160_935_063_9],
        [0.182_628_134_9, 0.546_677_512_4, 0.270_694_352_7],
        [0.523_023_023_0, 0.458_958_959_0, 0.018_018_018_0],
        [0.288_996_937_4, 0.160_128_826_3, 0.550_874_236_4],
    ]) {
        for (got, want) in it.central(i).unwrap().iter().zip(want) {
            near(*got, want, 5e-4);
        }
    }
}

/// All twelve: L is first in 0.9999 of the draws around the weights at kappa 40; over all weights L in 0.709, J in 0.223, K in 0.042
/// and I in 0.026 (numpy 2.4.6 and scipy 1.17.1, 200,000 draws, good to 0.003).
#[test]
fn check_6_5_the_twelve_around_their_weights_and_over_all() {
    let points: Vec<Vec<f64>> = TWELVE.iter().map(|it| it.2.to_vec()).collect();
    let draws = 200_000;
    let share = |it: &Acceptability, name: &str| f64::from(it.first(place(name))) / draws as f64;
    let around = Weightings::around(&crate::fixture::WEIGHTS, 40.0, draws, 0).unwrap();
    near(share(&ranked(&points, &around, 2), "L"), 0.9999, 3e-4);
    let it = ranked(&points, &Weightings::uniform(4, draws, 0).unwrap(), 2);
    for (name, want) in [("L", 0.709), ("J", 0.223), ("K", 0.042), ("I", 0.026)] {
        near(share(&it, name), want, 0.003);
    }
}
