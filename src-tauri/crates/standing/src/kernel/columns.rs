//! Rows of numbers turned into columns, in registers.
//!
//! Numbers come a row a draw, and are worked on with draws side by side. A square of as many rows as a vector has lanes is turned by
//! exchanging the quarters off its diagonal, then those of each quarter, ...

use pulp::Simd;

/// The most lanes that a vector has.
const LANES: usize = 16;

/// Writes row `l` into lane `l` of the columns, for as many rows as a vector has lanes: column `k` starts at `to[k * stride]`. All rows
/// are as long as the first one.
#[inline(always)]
pub(super) fn columns<S: Simd>(simd: S, rows: &[&[f32]], to: &mut [f32], stride: usize) {
    let lanes = S::F32_LANES;
    let (rows, len) = (&rows[..lanes], rows[0].len());
    let whole = len / lanes * lanes;
    for at in (0..whole).step_by(lanes) {
        let mut square = [simd.splat_f32s(0.0); LANES];
        for (it, row) in square.iter_mut().zip(rows) {
            *it = S::as_simd_f32s(&row[at..at + lanes]).0[0];
        }
        exchange::<S, 8>(simd, &mut square);
        exchange::<S, 4>(simd, &mut square);
        exchange::<S, 2>(simd, &mut square);
        exchange::<S, 1>(simd, &mut square);
        for (to, it) in to[at * stride..].chunks_mut(stride).zip(&square[..lanes]) {
            S::as_mut_simd_f32s(&mut to[..lanes]).0[0] = *it;
        }
    }
    for k in whole..len {
        for (to, row) in to[k * stride..].iter_mut().zip(rows) {
            *to = row[k];
        }
    }
}

/// Exchanges the quarters of `APART` rows and lanes that are off the diagonal, in all squares of twice that size.
#[inline(always)]
fn exchange<S: Simd, const APART: usize>(simd: S, square: &mut [S::f32s; LANES]) {
    if APART >= S::F32_LANES {
        return;
    }
    let first: [u32; LANES] = std::array::from_fn(|l| u32::from(l & APART != 0));
    let first = S::as_simd_u32s(&first).0[0];
    let first = simd.equal_u32s(first, simd.splat_u32s(0));
    for pair in 0..LANES / 2 {
        let one = pair / APART * 2 * APART + pair % APART;
        if one < S::F32_LANES {
            let (a, b) = (square[one], square[one + APART]);
            let (left, right) = (simd.rotate_left_f32s(a, APART), simd.rotate_right_f32s(b, APART));
            square[one] = simd.select_f32s(first, a, right);
            square[one + APART] = simd.select_f32s(first, left, b);
        }
    }
}

#[cfg(test)]
mod tests {
    use pulp::{Arch, WithSimd};

    use super::*;

    struct Turn<'a>(&'a [&'a [f32]], &'a mut [f32]);

    impl WithSimd for Turn<'_> {
        type Output = usize;

        fn with_simd<S: Simd>(self, simd: S) -> usize {
            columns(simd, self.0, self.1, LANES);
            S::F32_LANES
        }
    }

    #[test]
    fn each_row_is_a_lane() {
        for len in 0..40_usize {
            let table: Vec<f32> = (0_u8..).map(f32::from).take(16).collect();
            let table: Vec<Vec<f32>> =
                table.iter().map(|l| (0..len).map(|k| 100.0 * k as f32 + l).collect()).collect();
            let rows: Vec<&[f32]> = table.iter().map(Vec::as_slice).collect();
            let mut columns = vec![-1.0; len * LANES];
            let lanes = Arch::new().dispatch(Turn(&rows, &mut columns));
            for (k, column) in columns.chunks(LANES).enumerate() {
                for (l, it) in column.iter().enumerate() {
                    let want = if l < lanes { table[l][k] } else { -1.0 };
                    assert_eq!(it.to_bits(), want.to_bits(), "{len} {k} {l}");
                }
            }
        }
    }
}
