//! Points times weights.

use pulp::bytemuck::cast_slice;
use pulp::{Arch, Simd, WithSimd};

use super::keys::{BLOCK, Keys, Source};

/// Products of a tile.
pub(super) const TALL: usize = 6;
/// Points or weights from which no scores can be made. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadMix {
    /// A table that is empty or has no whole rows.
    #[error("{found} numbers make no rows of {criteria} criteria; give at least one whole row")]
    Rows {
        /// How many numbers there are.
        found: usize,
        /// How many criteria a row has.
        criteria: usize,
    },
    /// A number below 0, or none.
    #[error("number {place} is {value}; points, weights and errors are finite numbers from 0 up")]
    Value {
        /// Which number.
        place: usize,
        /// The number found.
        value: f32,
    },
}

/// Rows of `criteria` numbers from 0 up.
pub(super) fn checked(values: &[f32], criteria: usize) -> Result<usize, BadMix> {
    if criteria == 0 || values.is_empty() || !values.len().is_multiple_of(criteria) {
        return Err(BadMix::Rows { found: values.len(), criteria });
    }
    match (1..).zip(values).find(|(_, it)| !(0.0..f32::INFINITY).contains(*it)) {
        Some((place, &value)) => Err(BadMix::Value { place, value }),
        None => Ok(values.len() / criteria),
    }
}

/// Rows of numbers, `side` of them side by side, criterion by criterion; the last ones are filled up with 0.
pub(super) fn strips<'a>(
    rows: impl ExactSizeIterator<Item = &'a [f32]>,
    criteria: usize,
    side: usize,
) -> Vec<f32> {
    let mut strips = Vec::with_capacity(rows.len().next_multiple_of(side) * criteria);
    for (at, row) in rows.enumerate() {
        let lane = at % side;
        if lane == 0 {
            strips.resize(strips.len() + criteria * side, 0.0);
        }
        let start = strips.len() - criteria * side;
        for (it, x) in strips[start..].chunks_exact_mut(side).zip(row) {
            it[lane] = *x;
        }
    }
    strips
}

/// How many draws a tile has: the lanes of two vectors. With six products and eight lanes, the sums of a tile and what they are made
/// of fill the 16 registers of AVX2.
pub(super) fn wide() -> usize {
    struct Lanes;
    impl WithSimd for Lanes {
        type Output = usize;

        #[inline(always)]
        fn with_simd<S: Simd>(self, _: S) -> usize {
            2 * S::F32_LANES
        }
    }
    Arch::new().dispatch(Lanes)
}

/// The scores of a product in the draws of a tile.
pub(super) type Pair<S> = [<S as Simd>::f32s; 2];

/// The weights of a strip, criterion by criterion.
#[inline(always)]
pub(super) fn pairs<S: Simd>(strip: &[f32]) -> &[Pair<S>] {
    S::as_simd_f32s(strip).0.as_chunks().0
}

/// The scores of six products in the draws of a strip.
#[inline(always)]
pub(super) fn tile<S: Simd>(
    simd: S,
    points: &[[f32; TALL]],
    weights: &[Pair<S>],
) -> [Pair<S>; TALL] {
    let mut sums = [[simd.splat_f32s(0.0); 2]; TALL];
    for (x, w) in points.iter().zip(weights) {
        for (sums, x) in sums.iter_mut().zip(x) {
            let x = simd.splat_f32s(*x);
            sums[0] = simd.mul_add_e_f32s(x, w[0], sums[0]);
            sums[1] = simd.mul_add_e_f32s(x, w[1], sums[1]);
        }
    }
    sums
}

/// Scores that are points times weights, in f32.
#[derive(Debug)]
pub struct Mix {
    n: usize,
    draws: usize,
    criteria: usize,
    points: Vec<f32>,
    weights: Vec<f32>,
}

impl Mix {
    /// Of a row of points a product, and a row of weights a draw.
    ///
    /// # Errors
    /// [`BadMix`] for tables without whole rows and for numbers below 0.
    pub fn new(points: &[f32], weights: &[f32], criteria: usize) -> Result<Self, BadMix> {
        Ok(Mix {
            n: checked(points, criteria)?,
            draws: checked(weights, criteria)?,
            criteria,
            points: strips(points.chunks_exact(criteria), criteria, TALL),
            weights: strips(weights.chunks_exact(criteria), criteria, wide()),
        })
    }
}

impl Source for Mix {
    fn n(&self) -> usize {
        self.n
    }

    fn draws(&self) -> usize {
        self.draws
    }

    fn fill(&self, block: usize, keys: &mut [Keys]) {
        Arch::new().dispatch(Fill { mix: self, block, keys });
    }
}

struct Fill<'a> {
    mix: &'a Mix,
    block: usize,
    keys: &'a mut [Keys],
}

impl WithSimd for Fill<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Fill { mix, block, keys } = self;
        let (c, side) = (mix.criteria, 2 * S::F32_LANES);
        let strips = mix.weights.chunks_exact(c * side).skip(block * (BLOCK / side));
        let (panels, _) = mix.points.as_chunks::<TALL>();
        for (at, strip) in strips.take(BLOCK / side).enumerate() {
            for (points, keys) in panels.chunks_exact(c).zip(keys.chunks_mut(TALL)) {
                let sums = tile(simd, points, pairs::<S>(strip));
                for (keys, sums) in keys.iter_mut().zip(&sums) {
                    // From 0 up, the bits of f32 compare as the numbers do.
                    keys[at * side..(at + 1) * side].copy_from_slice(cast_slice(sums));
                }
            }
        }
    }
}
