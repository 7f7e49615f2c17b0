//! Elimination of the symmetric equations of a passive network along its own structure, without
//! exchange of rows; it gives up where that would cost accuracy.
//!
//! A network of two-terminal parts is symmetric (reciprocal), so half of the arithmetic is saved, and a
//! crossover is nearly a tree, so each node touches two or three others and the rest is zero.

use num_complex::Complex64;

/// The least part of the largest entry in its row that a diagonal may be, squared: no step then grows
/// the entries more than elevenfold, which costs one digit.
const LEAST_DIAGONAL_SQUARED: f64 = 0.01;

/// Solves the equations in `rows` (each of as many coefficients as `later` has entries, and the right
/// side; only the upper triangle is read) and writes the answer to `x`. `later` lists for each row the
/// later rows that it touches when its turn comes. Returns false where a diagonal is too small, with
/// `rows` spoilt.
pub(super) fn solve(rows: &mut [Complex64], later: &[Vec<usize>], x: &mut [Complex64]) -> bool {
    let unknowns = later.len();
    let width = unknowns + 1;
    for (k, touched) in later.iter().enumerate() {
        let (above, below) = rows.split_at_mut((k + 1) * width);
        let pivot_row = &mut above[k * width..];
        let diagonal = pivot_row[k];
        let size = diagonal.norm_sqr();
        let small = |&j: &usize| size < LEAST_DIAGONAL_SQUARED * pivot_row[j].norm_sqr();
        if size == 0.0 || touched.iter().any(small) {
            return false;
        }
        let inverse = diagonal.inv();
        // The back substitution multiplies by the inverse, so it takes the pivot's place.
        pivot_row[k] = inverse;
        for (place, &i) in touched.iter().enumerate() {
            let factor = pivot_row[i] * inverse;
            let row = &mut below[(i - k - 1) * width..][..width];
            for &j in &touched[place..] {
                row[j] -= factor * pivot_row[j];
            }
            row[unknowns] -= factor * pivot_row[unknowns];
        }
    }
    for (k, touched) in later.iter().enumerate().rev() {
        let row = &rows[k * width..][..width];
        let sum = touched.iter().fold(row[unknowns], |sum, &j| sum - row[j] * x[j]);
        x[k] = sum * row[k];
    }
    true
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::lu;
    use super::*;

    proptest! {
        /// Against elimination with exchange of rows, on full symmetric equations.
        #[test]
        fn agrees_with_exchange_of_rows(
            (n, all) in (1usize..8).prop_flat_map(|n| {
                let entry = (-1.0..1.0f64, -1.0..1.0f64);
                (Just(n), prop::collection::vec(entry, n * (n + 1)))
            })
        ) {
            let entry = |i: usize, j: usize| {
                let (re, im) = all[i.min(j) * (n + 1) + i.max(j)];
                // As in a network the diagonal is about as large as the rest of its row.
                if i == j { Complex64::new(1.0 + re, 3.0 * im) } else { Complex64::new(re, im) }
            };
            let equations: Vec<Complex64> =
                (0..n).flat_map(|i| (0..=n).map(move |j| (i, j))).map(|(i, j)| entry(i, j)).collect();
            let later: Vec<Vec<usize>> = (0..n).map(|k| (k + 1..n).collect()).collect();
            let (mut x, mut want) = (vec![Complex64::ZERO; n], vec![Complex64::ZERO; n]);
            prop_assume!(lu::solve(&mut equations.clone(), n, &mut want));
            if solve(&mut equations.clone(), &later, &mut x) {
                let residual = |x: &[Complex64]| {
                    let rows = equations.chunks_exact(n + 1);
                    rows.map(|row| {
                        let sum: Complex64 = row.iter().zip(x).map(|(a, x)| a * x).sum();
                        (sum - row[n]).norm()
                    })
                    .fold(0.0, f64::max)
                };
                let size = x.iter().map(|it| it.norm()).fold(1.0, f64::max);
                prop_assert!(residual(&want) <= 1e-13 * size);
                prop_assert!(residual(&x) <= 1e-11 * size, "{} {size}", residual(&x));
            }
        }
    }

    #[test]
    fn a_diagonal_that_cancels_is_left_to_the_general_way() {
        let one = Complex64::ONE;
        let equations = [1e-3 * one, one, one, one, one, 2.0 * one];
        let mut x = [Complex64::ZERO; 2];
        assert!(!solve(&mut equations.clone(), &[vec![1], vec![]], &mut x));
        assert!(lu::solve(&mut equations.clone(), 2, &mut x));
        // 0.001·a + b = 1 and a + b = 2.
        assert!((x[0] - 1.0 / 0.999).norm() < 1e-12 && (x[0] + x[1] - 2.0).norm() < 1e-12);
    }
}
