//! Points times weights.

use pulp::bytemuck::cast_slice_mut;
use pulp::{Arch, Simd, WithSimd};

use super::columns::columns;
use super::keys::{BLOCK, Keys, STEP, Source};
use super::lines::Lines;

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
        // The bits of numbers from 0 up compare as the numbers do; above them are infinity, no numbers and numbers below 0, except
        // for that 0 which has a sign.
        let mut most = 0;
        for it in self.0 {
            let bits = it.to_bits();
            most = most.max(if bits == (-0.0_f32).to_bits() { 0 } else { bits });
        }
        most < f32::INFINITY.to_bits()
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

/// The scores of six products in the draws of a strip, which fill `WIDE` vectors.
#[inline(always)]
pub(super) fn tile<S: Simd, const WIDE: usize>(
    simd: S,
    points: &[[f32; TALL]],
    weights: &[[S::f32s; WIDE]],
) -> [[S::f32s; WIDE]; TALL] {
    let mut sums = [[simd.splat_f32s(0.0); WIDE]; TALL];
    for (x, w) in points.iter().zip(weights) {
        for (sums, x) in sums.iter_mut().zip(x) {
            let x = simd.splat_f32s(*x);
            for (sum, w) in sums.iter_mut().zip(w) {
                *sum = simd.mul_add_e_f32s(x, *w, *sum);
            }
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
        // As many sums as there are registers for.
        if S::REGISTER_COUNT >= 32 { self.tiles::<S, 4>(simd) } else { self.tiles::<S, 2>(simd) }
    }
}

impl Fill<'_> {
    #[inline(always)]
    fn tiles<S: Simd, const WIDE: usize>(self, simd: S) {
        let Fill { mix: Mix { n, criteria, points, weights, .. }, block, keys } = self;
        let (c, lanes, side) = (*criteria, S::F32_LANES, WIDE * S::F32_LANES);
        let weights = &weights[block * BLOCK * c..];
        // Beyond the last draw, any one will do.
        let last = weights.len() / c - 1;
        let row = |draw: usize| &weights[draw.min(last) * c..][..c];
        let mut strips = Lines::new(BLOCK * c);
        let strips = strips.as_mut_slice();
        for (strip, from) in strips.chunks_exact_mut(c * side).zip((0..).step_by(side)) {
            for lane in (0..side).step_by(lanes) {
                // No closure for the array: it would not be inlined.
                let mut rows = [&weights[..c]; STEP];
                for (it, one) in rows.iter_mut().enumerate() {
                    *one = row(from + lane + it);
                }
                columns(simd, &rows, &mut strip[lane..], side);
            }
        }
        // Panel by panel, so that the points of all products are read but once in a block.
        let (panels, _) = points.as_chunks::<TALL>();
        for (from, points) in (0..).step_by(TALL).zip(panels.chunks_exact(c)) {
            // The last panel may be filled up with rows of no product.
            let products = TALL.min(n - from);
            for (at, strip) in (0..).step_by(side).zip(strips.chunks_exact(c * side)) {
                let sums = tile::<S, WIDE>(simd, points, S::as_simd_f32s(strip).0.as_chunks().0);
                for (product, sums) in (from..).zip(&sums[..products]) {
                    for (draw, sum) in (at..).step_by(lanes).zip(sums) {
                        // From 0 up, the bits of f32 compare as the numbers do.
                        let keys = &mut keys[draw / STEP * n + product][draw % STEP..][..lanes];
                        S::as_mut_simd_f32s(cast_slice_mut(keys)).0[0] = *sum;
                    }
                }
            }
        }
    }
}
