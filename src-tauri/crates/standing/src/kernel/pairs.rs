//! In how many draws each product is ranked before each other one.

use pulp::{Arch, Simd, WithSimd};

use super::places::{Places, Ranks};
use crate::chunks::in_chunks;

/// Rows that one row is compared with at a time, so that it is read once for all.
const SIDE: usize = 4;

impl Places {
    /// The draws in which product `i` scores more than product `j`.
    #[must_use]
    pub fn wins(&self, i: usize, j: usize) -> u32 {
        // Beyond the last draw all ranks are alike.
        self.blocks(i).zip(self.blocks(j)).map(|(a, b)| before(a, [b])[0]).sum()
    }

    /// [`Places::wins`] of all pairs, a row a product, on up to `threads` threads.
    #[must_use]
    pub fn all_wins(&self, threads: usize) -> Vec<u32> {
        let n = self.n;
        let threads = threads.clamp(1, self.pieces.len().max(1));
        let parts: Vec<Vec<u32>> = in_chunks(threads, threads, |from| {
            let mut wins = vec![0; n * n];
            for piece in self.pieces.iter().skip(from).step_by(threads) {
                for ranks in piece.chunks_exact(n) {
                    Arch::new().dispatch(Count { wins: &mut wins, ranks });
                }
            }
            wins
        });
        let mut all = vec![0; n * n];
        for part in parts {
            for (sum, it) in all.iter_mut().zip(part) {
                *sum += it;
            }
        }
        self.losses(&mut all);
        all
    }

    /// Fills in the other half: who does not win loses, unless the two were ever level.
    fn losses(&self, wins: &mut [u32]) {
        let n = self.n;
        let draws = u32::try_from(self.draws).unwrap_or(u32::MAX);
        let mut tied = vec![false; n];
        for (tie, _) in self.ties() {
            tied[usize::from(tie.product.unsigned_abs())] = true;
        }
        for i in 0..n {
            for j in i + 1..n {
                wins[j * n + i] =
                    if tied[i] && tied[j] { self.wins(j, i) } else { draws - wins[i * n + j] };
            }
        }
    }
}

/// Counts, in one block, the wins of each product over those after it.
struct Count<'a> {
    wins: &'a mut [u32],
    ranks: &'a [Ranks],
}

impl WithSimd for Count<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Count { wins, ranks } = self;
        let n = ranks.len();
        for (i, (a, wins)) in ranks.iter().zip(wins.chunks_exact_mut(n)).enumerate() {
            let (sides, rest) = ranks[i + 1..].as_chunks::<SIDE>();
            let (sums, more) = wins[i + 1..].as_chunks_mut::<SIDE>();
            for ([b, c, d, e], sums) in sides.iter().zip(sums) {
                for (sum, it) in sums.iter_mut().zip(before(a, [b, c, d, e])) {
                    *sum += it;
                }
            }
            for (b, sum) in rest.iter().zip(more) {
                *sum += before(a, [b])[0];
            }
        }
    }
}

/// In how many places `a` is below each of the others. Plain arrays and plain sums, which compilers vectorise.
#[inline(always)]
fn before<const N: usize>(a: &Ranks, others: [&Ranks; N]) -> [u32; N] {
    let mut sums = [0_i16; N];
    for (at, a) in a.iter().enumerate() {
        for (sum, other) in sums.iter_mut().zip(&others) {
            *sum += i16::from(*a < other[at]);
        }
    }
    sums.map(|it| u32::from(it.unsigned_abs()))
}
