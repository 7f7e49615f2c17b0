//! In how many draws each product is ranked before each other one.

use pulp::{Arch, Simd, WithSimd};

use super::ranking::Tie;
use super::rows::Ranks;
use crate::chunks::{in_chunks, in_chunks_with};

/// Products that all others are compared with at a time: their ranks in a piece stay in the nearest cache.
const SIDE: usize = 8;
/// Draws that are compared at once.
const LANES: usize = 16;
/// Pairs that are counted in one piece.
const PAIRS: usize = 256;

/// The ranks of products, draw by draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairs {
    n: usize,
    draws: usize,
    /// Those of each piece.
    rows: Vec<Vec<Ranks>>,
    /// Who was ever level with others.
    ties: Vec<Tie>,
}

impl Pairs {
    pub(super) fn new([n, draws]: [usize; 2], rows: Vec<Vec<Ranks>>, ties: Vec<Tie>) -> Self {
        Pairs { n, draws, rows, ties }
    }

    /// The ranks of each piece.
    #[cfg(test)]
    pub(super) fn rows(&self) -> &[Vec<Ranks>] {
        &self.rows
    }

    /// The draws in which product `i` scores more than product `j`.
    #[must_use]
    pub fn wins(&self, i: usize, j: usize) -> u32 {
        Arch::new().dispatch(Pair { rows: &self.rows, n: self.n, i, j })
    }

    /// [`Pairs::wins`] of all pairs, a row a product, on up to `threads` threads.
    #[must_use]
    pub fn all_wins(&self, threads: usize) -> Vec<u32> {
        let n = self.n;
        let rows = &self.rows;
        let count = |wins: &mut Vec<u32>, piece: usize| {
            Arch::new().dispatch(Count { wins, n, ranks: &rows[piece] });
        };
        let (_, parts) = in_chunks_with(rows.len(), threads, || vec![0; n * n], count);
        let mut all = vec![0; n * n];
        for part in parts {
            for (sum, it) in all.iter_mut().zip(part) {
                *sum += it;
            }
        }
        self.losses(&mut all, threads);
        all
    }

    /// Fills in the other half: who does not win loses, unless the two were ever level.
    fn losses(&self, wins: &mut [u32], threads: usize) {
        let n = self.n;
        let draws = u32::try_from(self.draws).unwrap_or(u32::MAX);
        for i in 0..n {
            for j in i + 1..n {
                wins[j * n + i] = draws - wins[i * n + j];
            }
        }
        let level = self.perhaps_level();
        let counted = in_chunks(level.len().div_ceil(PAIRS), threads, |chunk| {
            let some = level.chunks(PAIRS).nth(chunk).unwrap_or_default();
            some.iter().map(|(i, j)| self.wins(*j, *i)).collect::<Vec<u32>>()
        });
        for ((i, j), count) in level.iter().zip(counted.iter().flatten()) {
            wins[j * n + i] = *count;
        }
    }

    /// All pairs that may have been level in some draw, the smaller number first: each was in a group of the same size at the same
    /// place.
    fn perhaps_level(&self) -> Vec<(usize, usize)> {
        let group = |tie: &Tie| (tie.top, tie.size);
        let mut ties = self.ties.clone();
        ties.sort_unstable_by_key(|it| (group(it), it.product));
        let mut level = vec![false; self.n * self.n];
        for group in ties.chunk_by(|a, b| group(a) == group(b)) {
            for (at, a) in group.iter().enumerate() {
                let row = usize::from(a.product) * self.n;
                for b in &group[at + 1..] {
                    level[row + usize::from(b.product)] = true;
                }
            }
        }
        let pairs = (0..level.len()).filter(|at| level[*at]);
        pairs.map(|at| (at / self.n, at % self.n)).collect()
    }
}

/// The draws in which one product is before another.
struct Pair<'a> {
    rows: &'a [Vec<Ranks>],
    n: usize,
    i: usize,
    j: usize,
}

impl WithSimd for Pair<'_> {
    type Output = u32;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> u32 {
        let Pair { rows, n, i, j } = self;
        let mut sum = 0;
        for piece in rows {
            sum += before(piece, n, i, [j])[0];
        }
        sum
    }
}

/// Counts, in one piece, the wins of each product over those after it; what stands in the other half is no count.
struct Count<'a> {
    wins: &'a mut [u32],
    n: usize,
    ranks: &'a [Ranks],
}

impl WithSimd for Count<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Count { wins, n, ranks } = self;
        let even = n / SIDE * SIDE;
        for from in (0..even).step_by(SIDE) {
            let others = std::array::from_fn::<_, SIDE, _>(|at| from + at);
            // Some pairs before their time, which is as quick as leaving them out.
            for i in 0..from + SIDE {
                let sums = &mut wins[i * n + from..][..SIDE];
                for (sum, it) in sums.iter_mut().zip(before(ranks, n, i, others)) {
                    *sum += it;
                }
            }
        }
        for j in even..n {
            for i in 0..j {
                wins[i * n + j] += before(ranks, n, i, [j])[0];
            }
        }
    }
}

/// In how many draws of a piece product `i` is before each of the others; beyond the last draw all ranks are alike. Plain arrays and
/// plain sums, which compilers vectorise: each lane counts for itself until the end, where adding up takes longer than comparing.
#[inline(always)]
fn before<const N: usize>(ranks: &[Ranks], n: usize, i: usize, others: [usize; N]) -> [u32; N] {
    // A piece has far fewer draws than an i16 can count.
    let mut sums = [[0_i16; LANES]; N];
    for ranks in ranks.chunks_exact(n) {
        let (a, _) = ranks[i].as_chunks::<LANES>();
        let others = others.map(|j| ranks[j].as_chunks::<LANES>().0);
        for (at, a) in a.iter().enumerate() {
            for (sums, other) in sums.iter_mut().zip(&others) {
                for ((sum, a), b) in sums.iter_mut().zip(a).zip(&other[at]) {
                    *sum += i16::from(a < b);
                }
            }
        }
    }
    totals(sums)
}

/// The sums of all lanes. Not inlined, so that the loop above sees whole vectors.
#[inline(never)]
fn totals<const N: usize>(sums: [[i16; LANES]; N]) -> [u32; N] {
    let mut totals = [0; N];
    for (total, sums) in totals.iter_mut().zip(&sums) {
        let sum: i32 = sums.iter().map(|it| i32::from(*it)).sum();
        *total = sum.unsigned_abs();
    }
    totals
}
