//! The sieve on processors with AVX-512 and its neural network instructions (VNNI).
//!
//! Safe functions, which only those may call that were compiled for the same; [`super::sieve`] is the way in.

use std::arch::x86_64::{
    __m512i, _mm512_cmpge_epi32_mask, _mm512_dpbusd_epi32, _mm512_max_epi32, _mm512_min_epi32,
    _mm512_reduce_max_epi32, _mm512_reduce_min_epi32, _mm512_set1_epi32, _mm512_setzero_si512,
};

use pulp::bytemuck::{cast, cast_slice_mut};

use crate::list::list;
use crate::points::{Group, Points, QUAD, TALL};
use crate::sieve::{CELL, DRAWS, Held};

/// Draws of a tile: with them, sums and what they are made of fit the 32 registers.
const WIDE: usize = 4;
/// Tiles that are scored first. They, and their scores in a few draws, fit the nearest cache.
pub(crate) const LEADING: usize = 8;
/// How often what lies between the lowest and the highest maximum is halved.
const HALVINGS: u32 = 8;

/// The scores of a tile in some draws.
type Sums = [[__m512i; TALL]; WIDE];

/// Lists what can be among the first `depth`, at most as many as a tile has products, of some draws.
#[target_feature(enable = "popcnt,avx512f,avx512cd,avx512vnni")]
pub(crate) fn look(points: &Points, depth: usize, draws: usize, held: &mut Held) {
    let Held { weights, margins, reached, found } = held;
    if draws < DRAWS {
        reached.fill(0);
    }
    {
        // Words hold the bits of groups in their order: all processors that come here put the lowest bits first.
        let (cells, _) = cast_slice_mut::<u64, u16>(reached).as_chunks_mut::<CELL>();
        let quads = points.quads;
        let tiles = points.tiles();
        let sets = weights[..draws.next_multiple_of(WIDE) * quads].chunks_exact(quads * WIDE);
        let mut least = [i32::MAX; DRAWS];
        let mut kept = [[[_mm512_setzero_si512(); TALL]; WIDE]; LEADING];
        for (draw, weights) in (0..).step_by(WIDE).zip(sets.clone()) {
            let mut maxima = [[_mm512_set1_epi32(i32::MIN); TALL]; WIDE];
            for (tile, kept) in tiles.clone().zip(&mut kept) {
                let sums = tile_scores(tile, weights);
                for (maxima, sums) in maxima.as_flattened_mut().iter_mut().zip(sums.as_flattened())
                {
                    *maxima = _mm512_max_epi32(*maxima, *sums);
                }
                *kept = sums;
            }
            for ((least, margin), maxima) in
                least[draw..draws].iter_mut().zip(&margins[draw..]).zip(&maxima)
            {
                *least = threshold(maxima, depth).saturating_sub(margin.saturating_mul(2));
            }
            for (cells, sums) in cells.chunks_exact_mut(DRAWS).zip(&kept) {
                mark(sums, &least[draw..], &mut cells[draw..]);
            }
        }
        for (tile, cells) in tiles.zip(cells.chunks_exact_mut(DRAWS)).skip(LEADING) {
            for (draw, weights) in (0..).step_by(WIDE).zip(sets.clone()) {
                mark(&tile_scores(tile, weights), &least[draw..], &mut cells[draw..]);
            }
        }
    }
    list(reached, found);
}

/// The whole scores of the products of a tile in some draws.
#[inline]
#[target_feature(enable = "avx512f,avx512vnni")]
fn tile_scores(tile: &[Group], weights: &[[u8; QUAD]]) -> Sums {
    let mut sums = [[_mm512_setzero_si512(); TALL]; WIDE];
    let quads = weights.len() / WIDE;
    let (a, weights) = weights.split_at(quads);
    let (b, weights) = weights.split_at(quads);
    let (c, d) = weights.split_at(quads);
    let draws = a.iter().zip(b).zip(c.iter().zip(d));
    for (points, ((a, b), (c, d))) in tile.as_chunks::<TALL>().0.iter().zip(draws) {
        let weights = [*a, *b, *c, *d];
        for (sums, weights) in sums.iter_mut().zip(weights) {
            let weights = _mm512_set1_epi32(i32::from_le_bytes(weights));
            for (sum, points) in sums.iter_mut().zip(points) {
                *sum = _mm512_dpbusd_epi32(*sum, weights, cast(points.0));
            }
        }
    }
    sums
}

/// Marks the products of a tile that reach what is least, draw by draw.
#[inline]
#[target_feature(enable = "avx512f")]
fn mark(sums: &Sums, least: &[i32], cells: &mut [[u16; CELL]]) {
    for ((sums, least), cell) in sums.iter().zip(&least[..WIDE]).zip(&mut cells[..WIDE]) {
        let least = _mm512_set1_epi32(*least);
        for (group, sum) in cell.iter_mut().zip(sums) {
            *group = _mm512_cmpge_epi32_mask(*sum, least);
        }
    }
}

/// A score that products of at least `depth` groups reach: hardly lower than the largest one, found by halving.
#[inline]
#[target_feature(enable = "popcnt,avx512f")]
pub(crate) fn threshold(maxima: &[__m512i; TALL], depth: usize) -> i32 {
    let (mut low, mut high) = (maxima[0], maxima[0]);
    for maxima in &maxima[1..] {
        low = _mm512_min_epi32(low, *maxima);
        high = _mm512_max_epi32(high, *maxima);
    }
    let mut low = _mm512_reduce_min_epi32(low);
    let mut beyond = _mm512_reduce_max_epi32(high).saturating_add(1);
    for _ in 0..HALVINGS {
        let middle = low.midpoint(beyond);
        let mut count = 0;
        for maxima in maxima {
            let reach = _mm512_cmpge_epi32_mask(*maxima, _mm512_set1_epi32(middle));
            count += reach.count_ones() as usize;
        }
        (low, beyond) = if count >= depth { (middle, beyond) } else { (low, middle) };
    }
    low
}
