//! Points that are off by a normal error of their own in every draw, times weights.

use pulp::{Arch, Simd, WithSimd};

use super::keys::{BLOCK, Keys, Source};
use super::mix::{BadMix, checked, strips};
use super::normal::{Deviates, deviates, start};

/// Sets of deviates that are made together.
const SETS: usize = 2;

/// Scores of uncertain points with weights, in f32: `sum w clamp(x + u z, 0, 100)`, each `z` drawn anew for product, criterion and
/// draw, and the same whatever else is ranked.
#[derive(Debug)]
pub struct Noise {
    n: usize,
    draws: usize,
    criteria: usize,
    /// Points and their standard errors, a row a product.
    points: Vec<f32>,
    errors: Vec<f32>,
    weights: Vec<f32>,
    seed: u64,
}

impl Noise {
    /// Of a row of points and one of their standard errors a product, and a row of weights a draw.
    ///
    /// # Errors
    /// [`BadMix`] for tables without whole rows, another number of errors than of points, and numbers below 0.
    pub fn new(
        points: &[f32],
        errors: &[f32],
        weights: &[f32],
        criteria: usize,
        seed: u64,
    ) -> Result<Self, BadMix> {
        let n = checked(points, criteria)?;
        if checked(errors, criteria)? != n {
            return Err(BadMix::Rows { found: errors.len(), criteria });
        }
        Ok(Noise {
            n,
            draws: checked(weights, criteria)?,
            criteria,
            points: points.to_vec(),
            errors: errors.to_vec(),
            weights: strips(weights.chunks_exact(criteria), criteria, BLOCK),
            seed,
        })
    }
}

impl Source for Noise {
    fn n(&self) -> usize {
        self.n
    }

    fn draws(&self) -> usize {
        self.draws
    }

    fn fill(&self, block: usize, keys: &mut [Keys]) {
        Arch::new().dispatch(Fill { noise: self, block, keys });
    }
}

struct Fill<'a> {
    noise: &'a Noise,
    block: usize,
    keys: &'a mut [Keys],
}

impl WithSimd for Fill<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Fill { noise, block, keys } = self;
        let c = noise.criteria;
        let weights = &noise.weights.as_chunks::<BLOCK>().0[block * c..(block + 1) * c];
        let rows = noise.points.chunks_exact(c).zip(noise.errors.chunks_exact(c));
        for (product, (points, errors)) in rows.enumerate() {
            // There are at most 32,767 products.
            let list = u32::try_from(product).unwrap_or(u32::MAX);
            let mut sums = [0.0; BLOCK];
            let groups = points.chunks(SETS).zip(errors.chunks(SETS)).zip(weights.chunks(SETS));
            for (group, ((points, errors), weights)) in (0..).zip(groups) {
                let mut sets = [[0.0; BLOCK]; SETS];
                deviates(start(noise.seed, [list, group]), block as u64, &mut sets);
                for (((x, u), weights), deviates) in
                    points.iter().zip(errors).zip(weights).zip(&sets)
                {
                    add(&mut sums, *x, *u, weights, deviates);
                }
            }
            for (step, sums) in sums.as_chunks().0.iter().enumerate() {
                keys[step * noise.n + product] = sums.map(f32::to_bits);
            }
        }
    }
}

/// Adds weights times drawn points.
#[inline(always)]
fn add(sums: &mut Deviates, x: f32, u: f32, weights: &Deviates, deviates: &Deviates) {
    for ((sum, w), z) in sums.iter_mut().zip(weights).zip(deviates) {
        let drawn = u.mul_add(*z, x);
        let drawn = if drawn > 0.0 { drawn } else { 0.0 };
        *sum = w.mul_add(if drawn < 100.0 { drawn } else { 100.0 }, *sum);
    }
}
