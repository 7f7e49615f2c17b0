//! Gaussian elimination with exchange of rows, in storage that the caller keeps: what always works.
//!
//! The dynamic matrices of a general library allocate for every factorisation, which would cost more
//! than the arithmetic of the five to fifteen unknowns of a crossover.

use num_complex::Complex64;

/// Solves the `unknowns` equations in `rows`, each of `unknowns` coefficients and the right side, and
/// writes the answer to `x`. Returns false when the system is singular.
pub(super) fn solve(rows: &mut [Complex64], unknowns: usize, x: &mut [Complex64]) -> bool {
    let width = unknowns + 1;
    for k in 0..unknowns {
        if !choose_pivot(rows, width, k) {
            return false;
        }
        let (above, below) = rows.split_at_mut((k + 1) * width);
        let pivot_row = &mut above[k * width..];
        let inverse = pivot_row[k].inv();
        // The back substitution multiplies by the inverse, so it takes the pivot's place.
        pivot_row[k] = inverse;
        let pivot_tail = &pivot_row[k + 1..];
        for row in below.chunks_exact_mut(width) {
            let head = row[k];
            if head == Complex64::ZERO {
                continue;
            }
            let factor = head * inverse;
            for (entry, pivot_entry) in row[k + 1..].iter_mut().zip(pivot_tail) {
                *entry -= factor * pivot_entry;
            }
        }
    }
    for (k, row) in rows.chunks_exact(width).enumerate().rev() {
        let (left, right_side) = row.split_at(unknowns);
        let known = left[k + 1..].iter().zip(&x[k + 1..unknowns]);
        let sum = known.fold(right_side[0], |sum, (coefficient, value)| sum - coefficient * value);
        x[k] = sum * left[k];
    }
    true
}

/// Brings a usable pivot to row `k`; false when the column holds none.
fn choose_pivot(rows: &mut [Complex64], width: usize, k: usize) -> bool {
    let (mut best, mut largest) = (k, 0.0);
    for (row, entries) in rows.chunks_exact(width).enumerate().skip(k) {
        let candidate = entries[k].norm_sqr();
        if candidate > largest {
            (best, largest) = (row, candidate);
        }
    }
    if best > k {
        let (above, below) = rows.split_at_mut(best * width);
        above[k * width..(k + 1) * width].swap_with_slice(&mut below[..width]);
    }
    largest > 0.0 && largest.is_finite()
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};
    use proptest::prelude::*;

    use super::*;

    /// Entries over many decades and zeros on the diagonal, so that rows must be exchanged.
    fn entries(count: usize) -> impl Strategy<Value = Vec<Complex64>> {
        let entry = prop_oneof![
            2 => Just(Complex64::ZERO),
            3 => (-1.0..1.0, -1.0..1.0, -3.0..3.0).prop_map(|(re, im, decade): (f64, f64, f64)| {
                Complex64::new(re, im) * 10f64.powf(decade)
            }),
        ];
        prop::collection::vec(entry, count)
    }

    proptest! {
        /// The backward error is that of a stable method: the residual is small beside |A||x| + |b|,
        /// whatever the condition, and as small as that of nalgebra's LU but for a few digits.
        #[test]
        fn the_answer_satisfies_the_equations(
            (n, all) in (1usize..9).prop_flat_map(|n| (Just(n), entries(n * (n + 1))))
        ) {
            let a = DMatrix::from_fn(n, n, |i, j| all[i * (n + 1) + j]);
            let b = DVector::from_fn(n, |i, _| all[i * (n + 1) + n]);
            let mut x = vec![Complex64::ZERO; n];
            if solve(&mut all.clone(), n, &mut x) && x.iter().all(|it| it.is_finite()) {
                let x = DVector::from_vec(x);
                let scale = a.norm() * x.norm() + b.norm();
                prop_assert!((&a * &x - &b).norm() <= 1e-12 * scale);
            } else {
                let rank = a.clone().svd(false, false).rank(1e-9 * a.norm());
                prop_assert!(rank < n, "refused a regular matrix {a}");
            }
        }
    }
}
