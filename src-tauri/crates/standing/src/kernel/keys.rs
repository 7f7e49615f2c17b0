//! Scores as whole numbers, block by block of draws.

use pulp::bytemuck::cast_slice_mut;
use pulp::{Arch, Simd, WithSimd};

use super::columns::columns;

/// Draws of a block.
pub const BLOCK: usize = 128;

/// Draws that lie side by side: as many as the widest vectors have lanes.
pub const STEP: usize = 16;

/// The keys of one product in the draws of a step.
pub type Keys = [u32; STEP];

/// Where scores come from.
pub trait Source: Sync {
    /// How many products there are, at most 32,767.
    fn n(&self) -> usize;

    /// How many draws there are.
    fn draws(&self) -> usize;

    /// Writes the keys of each product in the draws from `BLOCK * block` on, all products in the first step, then in the second, ...:
    /// whole numbers that compare like the scores, none above the bits of infinity in f32. What stands beyond the last draw means
    /// nothing.
    fn fill(&self, block: usize, keys: &mut [Keys]);
}

/// Scores that are there already, a row a draw.
#[derive(Debug)]
pub struct Given<'a> {
    n: usize,
    scores: &'a [f32],
}

impl<'a> Given<'a> {
    /// Scores of `n` products, from 0 up, a row a draw.
    #[must_use]
    pub fn new(scores: &'a [f32], n: usize) -> Self {
        Given { n, scores }
    }
}

impl Source for Given<'_> {
    fn n(&self) -> usize {
        self.n
    }

    fn draws(&self) -> usize {
        self.scores.len() / self.n
    }

    fn fill(&self, block: usize, keys: &mut [Keys]) {
        Arch::new().dispatch(Fill { given: self, block, keys });
    }
}

struct Fill<'a> {
    given: &'a Given<'a>,
    block: usize,
    keys: &'a mut [Keys],
}

impl WithSimd for Fill<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Fill { given: Given { n, scores }, block, keys } = self;
        let scores = &scores[block * BLOCK * n..];
        for (scores, keys) in scores.chunks(n * STEP).zip(keys.chunks_exact_mut(*n)) {
            // Beyond the last draw, any one will do.
            let last = scores.len() / n - 1;
            let mut rows = [&scores[..*n]; STEP];
            for (it, row) in rows.iter_mut().enumerate() {
                *row = &scores[it.min(last) * n..][..*n];
            }
            // From 0 up, the bits of f32 compare as the numbers do.
            let keys: &mut [f32] = cast_slice_mut(keys.as_flattened_mut());
            for from in (0..STEP).step_by(S::F32_LANES) {
                columns(simd, &rows[from..], &mut keys[from..], STEP);
            }
        }
    }
}
