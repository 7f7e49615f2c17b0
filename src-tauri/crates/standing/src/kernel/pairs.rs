//! In how many draws each product is ranked before each other one.

use pulp::{Arch, Simd, WithSimd};

use super::keys::BLOCK;
use super::places::{PIECE, Places, Ranks};
use crate::chunks::in_chunks;

impl Places {
    /// The draws in which product `i` scores more than product `j`.
    #[must_use]
    pub fn wins(&self, i: usize, j: usize) -> u32 {
        // Beyond the last draw all ranks are alike.
        self.blocks(i).zip(self.blocks(j)).map(|(a, b)| before(a, b)).sum()
    }

    /// [`Places::wins`] of all pairs, a row a product, on up to `threads` threads.
    #[must_use]
    pub fn all_wins(&self, threads: usize) -> Vec<u32> {
        let n = self.n;
        let mut tied = vec![false; n];
        for (tie, _) in self.ties() {
            tied[usize::from(tie.product.unsigned_abs())] = true;
        }
        let threads = threads.clamp(1, self.pieces.len().max(1));
        let parts: Vec<Vec<u32>> = in_chunks(threads, threads, |from| {
            let mut wins = vec![0; n * n];
            let blocks = (0..).zip(&self.pieces).skip(from).step_by(threads);
            for (piece, ranks) in blocks {
                for (block, ranks) in (piece * PIECE..).zip(ranks.chunks_exact(n)) {
                    let used = BLOCK.min(self.draws - block * BLOCK);
                    Arch::new().dispatch(Count { wins: &mut wins, ranks, tied: &tied, used });
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
        all
    }
}

/// Counts one block of which the first draws are used.
struct Count<'a> {
    wins: &'a mut [u32],
    ranks: &'a [Ranks],
    tied: &'a [bool],
    used: usize,
}

impl WithSimd for Count<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Count { wins, ranks, tied, used } = self;
        let n = ranks.len();
        let used = u32::try_from(used).unwrap_or_default();
        for (i, a) in ranks.iter().enumerate() {
            for (j, b) in ranks.iter().enumerate().skip(i + 1) {
                let above = before(a, b);
                wins[i * n + j] += above;
                wins[j * n + i] += if tied[i] && tied[j] { before(b, a) } else { used - above };
            }
        }
    }
}

/// In how many places `a` is below `b`. Two plain arrays and a plain sum, which compilers vectorise.
#[inline(always)]
fn before(a: &Ranks, b: &Ranks) -> u32 {
    let mut sum = 0_i16;
    for (a, b) in a.iter().zip(b) {
        sum += i16::from(a < b);
    }
    u32::from(sum.unsigned_abs())
}
