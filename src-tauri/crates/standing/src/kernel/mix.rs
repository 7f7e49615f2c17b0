//! Points times weights.

use pulp::bytemuck::cast_slice;
use pulp::{Arch, Simd, WithSimd};

use super::keys::{BLOCK, Keys, STEP, Source};

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
    // Without branches first, for the compiler; which one it was matters only if there is one.
    if !Arch::new().dispatch(Sound(values))
        && let Some((place, &value)) = (1..).zip(values).find(|(_, it)| !is_sound(**it))
    {
        return Err(BadMix::Value { place, value });
    }
    Ok(values.len() / criteria)
}

#[inline(always)]
fn is_sound(value: f32) -> bool {
    (0.0..f32::INFINITY).contains(&value)
}

/// Whether all numbers are finite and from 0 up.
struct Sound<'a>(&'a [f32]);

impl WithSimd for Sound<'_> {
    type Output = bool;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> bool {
        let mut sound = true;
        for it in self.0 {
            sound &= is_sound(*it);
        }
        sound
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

/// The scores of a product in the draws of a tile, which has as many as two vectors have lanes. With six products and eight lanes, the
/// sums of a tile and what they are made of fill the 16 registers of AVX2.
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
pub struct Mix<'a> {
    n: usize,
    draws: usize,
    criteria: usize,
    points: Vec<f32>,
    weights: &'a [f32],
}

impl<'a> Mix<'a> {
    /// Of a row of points a product, and a row of weights a draw.
    ///
    /// # Errors
    /// [`BadMix`] for tables without whole rows and for numbers below 0.
    pub fn new(points: &[f32], weights: &'a [f32], criteria: usize) -> Result<Self, BadMix> {
        Ok(Mix {
            n: checked(points, criteria)?,
            draws: checked(weights, criteria)?,
            criteria,
            points: strips(points.chunks_exact(criteria), criteria, TALL),
            weights,
        })
    }
}

impl Source for Mix<'_> {
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
    mix: &'a Mix<'a>,
    block: usize,
    keys: &'a mut [Keys],
}

impl WithSimd for Fill<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Fill { mix, block, keys } = self;
        let (c, side) = (mix.criteria, 2 * S::F32_LANES);
        let rows = mix.weights.chunks(c * side).skip(block * (BLOCK / side));
        let (panels, _) = mix.points.as_chunks::<TALL>();
        for (at, rows) in rows.take(BLOCK / side).enumerate() {
            let strip = strips(rows.chunks_exact(c), c, side);
            for (panel, points) in panels.chunks_exact(c).enumerate() {
                let sums = tile(simd, points, pairs::<S>(&strip));
                for half in 0..2 {
                    let draw = at * side + half * S::F32_LANES;
                    let step = &mut keys[draw / STEP * mix.n..][..mix.n];
                    // The last panel may be filled up with rows of no product.
                    for (keys, sums) in step[panel * TALL..].iter_mut().zip(&sums) {
                        // From 0 up, the bits of f32 compare as the numbers do.
                        let bits: &[u32] = cast_slice(&sums[half..=half]);
                        keys[draw % STEP..][..S::F32_LANES].copy_from_slice(bits);
                    }
                }
            }
        }
    }
}
