//! Scores as whole numbers, block by block of draws.

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
    /// whole numbers that compare like the scores. What stands beyond the last draw means nothing.
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
        // As many products at a time as numbers fit into a cache line.
        const LINE: usize = 16;
        let draws = self.scores.chunks_exact(self.n).skip(block * BLOCK).take(BLOCK);
        let draws: Vec<&[f32]> = draws.collect();
        for (draws, keys) in draws.chunks(STEP).zip(keys.chunks_exact_mut(self.n)) {
            for (from, keys) in (0..).step_by(LINE).zip(keys.chunks_mut(LINE)) {
                for (l, scores) in draws.iter().enumerate() {
                    for (keys, score) in keys.iter_mut().zip(&scores[from..]) {
                        keys[l] = score.to_bits();
                    }
                }
            }
        }
    }
}
