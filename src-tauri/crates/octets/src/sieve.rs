//! Which of many products can be among the first in a draw, by whole scores of eight bits.
//!
//! Processors that multiply eight-bit numbers by fours do in one instruction what takes four in f32. The whole scores of the leading
//! products, in groups, give each draw a score that at least as many products reach as are asked for: the maxima of the groups are
//! scores of different products. Whoever stays below it by more than twice the margin of [`Points`] cannot be among the first;
//! a few dozen of ten thousand are left. The sum of a draw fits 32 bits for up to 66,000 criteria.

use crate::points::{LANES, Points, QUAD, TALL};

/// Draws that are worked on while a tile of points is in the nearest cache.
pub const DRAWS: usize = 16;
/// Tiles that are scored first.
pub(crate) const LEADING: usize = 22;
/// Vectors of maxima.
pub(crate) const MAXIMA: usize = 4;
/// The most places that can be asked for: as many as there are groups.
pub const DEEPEST: usize = MAXIMA * LANES;

/// Numbers at the start of a cache line.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
pub(crate) struct Line(pub(crate) [i32; LANES]);

/// Memory for a block of draws, looked through together.
#[derive(Debug)]
pub struct Sieve {
    /// Whole weights, a row a draw.
    pub(crate) weights: Vec<[u8; QUAD]>,
    pub(crate) margins: [i32; DRAWS],
    /// Scores of the leading products, a row a draw.
    pub(crate) scores: Vec<Line>,
    /// A bit a product, a row a draw: whether it can be among the first.
    pub(crate) reached: Vec<u64>,
    /// Where bits are, and how many such places there are.
    found: Vec<u32>,
}

impl Sieve {
    /// Memory for these points.
    #[must_use]
    pub fn new(points: &Points) -> Self {
        let groups = points.tiles.len() / points.quads;
        let words = (groups * LANES).div_ceil(u64::BITS as usize);
        Sieve {
            weights: vec![[0; QUAD]; DRAWS * points.quads],
            margins: [0; DRAWS],
            scores: vec![Line([0; LANES]); DRAWS * groups.min(LEADING * TALL)],
            reached: vec![0; DRAWS * words],
            found: vec![0; words],
        }
    }

    /// Looks through up to [`DRAWS`] draws for what can be among the first `depth` products; beyond [`DEEPEST`] everything can.
    #[inline(always)]
    pub fn look<'a>(
        &mut self,
        points: &Points,
        rows: impl Iterator<Item = &'a [f32]>,
        depth: usize,
    ) {
        for ((row, weights), margin) in
            rows.zip(self.weights.chunks_exact_mut(points.quads)).zip(&mut self.margins)
        {
            *margin = points.weights(row, weights);
        }
        dispatch(points, depth, self);
    }

    /// Which of `n` products, in their order, can be among the first in one of the draws.
    #[inline(always)]
    pub fn reached(&mut self, draw: usize, n: usize, products: &mut Vec<u32>) {
        let words = self.found.len();
        let reached = &self.reached[draw * words..][..words];
        // First where any bit is, without a branch: most words have none, and which ones nobody could foretell.
        let mut count = 0;
        for (at, bits) in (0..).zip(reached) {
            self.found[count] = at;
            count += usize::from(*bits != 0);
        }
        products.clear();
        for at in &self.found[..count] {
            let mut bits = reached[*at as usize];
            // There is one, and seldom another.
            loop {
                products.push(at * u64::BITS + bits.trailing_zeros());
                bits &= bits - 1;
                if bits == 0 {
                    break;
                }
            }
        }
        // The last tile may be filled up with what is no product.
        while products.last().is_some_and(|it| *it as usize >= n) {
            products.pop();
        }
    }
}

/// Whether the processor can do it. Where it cannot, everything can be among the first.
#[must_use]
pub fn is_there() -> bool {
    #[cfg(target_arch = "x86_64")]
    let is_there = std::arch::is_x86_feature_detected!("avx512f")
        && std::arch::is_x86_feature_detected!("popcnt")
        && std::arch::is_x86_feature_detected!("avx512vnni");
    #[cfg(not(target_arch = "x86_64"))]
    let is_there = false;
    is_there
}

fn dispatch(points: &Points, depth: usize, sieve: &mut Sieve) {
    if is_there() && depth <= DEEPEST {
        #[cfg(target_arch = "x86_64")]
        #[expect(
            unsafe_code,
            reason = "the function was compiled for more than every processor has"
        )]
        // SAFETY: the processor was just asked for all that the function was compiled for.
        unsafe {
            crate::vnni::look(points, depth, sieve);
        }
    } else {
        sieve.reached.fill(u64::MAX);
    }
}
