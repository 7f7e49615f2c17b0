//! The sieve on processors with AVX-512 and its neural network instructions (VNNI).
//!
//! Safe functions, which only those may call that were compiled for the same; [`super::sieve`] is the way in.

use std::arch::x86_64::{
    __m512i, _mm512_cmpge_epi32_mask, _mm512_dpbusd_epi32, _mm512_max_epi32,
    _mm512_reduce_max_epi32, _mm512_reduce_min_epi32, _mm512_set1_epi32, _mm512_setzero_si512,
};

use pulp::bytemuck::{cast, cast_slice_mut};

use crate::points::{Group, Points, QUAD, TALL};
use crate::sieve::{DRAWS, LEADING, Line, MAXIMA, Sieve};

/// Draws of a tile: with them, sums and what they are made of fit the 32 registers.
const WIDE: usize = 4;

#[target_feature(enable = "popcnt,avx512f,avx512vnni")]
pub(crate) fn look(points: &Points, depth: usize, sieve: &mut Sieve) {
    let Sieve { weights, margins, scores, reached, .. } = sieve;
    // Words hold the bits of groups in their order: all processors that come here put the lowest bits first.
    let reached: &mut [u16] = cast_slice_mut(reached);
    let (quads, groups, leading) = (points.quads, reached.len() / DRAWS, scores.len() / DRAWS);
    let tiles = points.tiles.chunks_exact(quads * TALL);
    for (from, tile) in (0..).step_by(TALL).zip(tiles.clone().take(LEADING)) {
        for (draw, weights) in (0..).step_by(WIDE).zip(weights.chunks_exact(quads * WIDE)) {
            for (draw, sums) in (draw..).zip(tile_scores(tile, weights)) {
                let scores = &mut scores[draw * leading + from..][..TALL];
                for (score, sum) in scores.iter_mut().zip(sums) {
                    *score = Line(cast(sum));
                }
            }
        }
    }
    let mut least = [0; DRAWS];
    for (draw, least) in least.iter_mut().enumerate() {
        let scores = &scores[draw * leading..][..leading];
        let margin = margins[draw];
        *least = threshold(scores, depth, margin / 8).saturating_sub(margin.saturating_mul(2));
        let least = _mm512_set1_epi32(*least);
        for (reached, score) in reached[draw * groups..][..leading].iter_mut().zip(scores) {
            *reached = _mm512_cmpge_epi32_mask(cast(score.0), least);
        }
    }
    for (from, tile) in (0..).step_by(TALL).zip(tiles).skip(LEADING) {
        for (draw, weights) in (0..).step_by(WIDE).zip(weights.chunks_exact(quads * WIDE)) {
            for (draw, sums) in (draw..).zip(tile_scores(tile, weights)) {
                let least = _mm512_set1_epi32(least[draw]);
                let reached = &mut reached[draw * groups + from..][..TALL];
                for (reached, sum) in reached.iter_mut().zip(sums) {
                    *reached = _mm512_cmpge_epi32_mask(sum, least);
                }
            }
        }
    }
}

/// The whole scores of the products of a tile in some draws.
#[inline]
#[target_feature(enable = "popcnt,avx512f,avx512vnni")]
fn tile_scores(tile: &[Group], weights: &[[u8; QUAD]]) -> [[__m512i; TALL]; WIDE] {
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

/// A score that products of at least `depth` groups reach: the largest one, found by halving, or one that is lower by at most `within`.
#[inline]
#[target_feature(enable = "popcnt,avx512f,avx512vnni")]
fn threshold(scores: &[Line], depth: usize, within: i32) -> i32 {
    let mut maxima = [_mm512_set1_epi32(i32::MIN); MAXIMA];
    for scores in scores.chunks(MAXIMA) {
        for (most, score) in maxima.iter_mut().zip(scores) {
            *most = _mm512_max_epi32(*most, cast(score.0));
        }
    }
    let (mut low, mut beyond) = (i32::MAX, i32::MIN);
    for maxima in maxima {
        low = low.min(_mm512_reduce_min_epi32(maxima));
        beyond = beyond.max(_mm512_reduce_max_epi32(maxima).saturating_add(1));
    }
    while beyond.saturating_sub(low) > within.max(1) {
        let middle = low.midpoint(beyond);
        let mut count = 0;
        for maxima in maxima {
            let reach = _mm512_cmpge_epi32_mask(maxima, _mm512_set1_epi32(middle));
            count += reach.count_ones() as usize;
        }
        if count >= depth { low = middle } else { beyond = middle }
    }
    low
}
