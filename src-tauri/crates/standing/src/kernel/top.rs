//! The first few of many products in every draw, without ranking the rest.
//!
//! Products are taken in the order of their mean points. The scores of the leading ones are kept and give each draw a score that
//! surely belongs to the first few or lies below them: the maxima of as many groups as are asked for, and twice as many more,
//! are scores of different products, so the one of the asked rank among them is reached by at least that many. All others only need
//! to be compared with it while they are in registers; what reaches it is sorted in the end. So the result is exact.

use pulp::bytemuck::{cast_slice, cast_slice_mut};
use pulp::{Arch, Simd, WithSimd};

use super::beaten::without_beaten;
use super::mix::{BadMix, Pair, TALL, checked, pairs, strips, tile, wide};
use super::network::{UNIT, sort};
use super::normal::low;
use crate::chunks::in_chunks;

/// How many panels of products are scored first.
const LEADING: usize = 171;

/// How often each product takes each of the first ranks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Top {
    /// How many ranks are counted.
    pub depth: usize,
    /// The draws in which each product has rank 1, 2, ..., a row a product. Products that are level rank in their order.
    pub counts: Vec<u32>,
    /// The product that is first in each draw.
    pub firsts: Vec<u32>,
}

/// Counts the first `depth` ranks (at least 1) of points times weights (in f32; a row of points a product, a row of weights a draw), on up to
/// `threads` threads.
///
/// # Errors
/// [`BadMix`] for tables without whole rows and for numbers below 0.
pub fn top(
    points: &[f32],
    weights: &[f32],
    criteria: usize,
    depth: usize,
    threads: usize,
) -> Result<Top, BadMix> {
    let (n, draws) = (checked(points, criteria)?, checked(weights, criteria)?);
    let depth = depth.max(1);
    let order = order(points, weights, criteria, depth);
    let row = |it: &u32| &points[*it as usize * criteria..][..criteria];
    let table =
        Table { points: strips(order.iter().map(row), criteria, TALL), order, criteria, depth };
    let (side, threads) = (wide(), threads.max(1));
    let share = draws.div_ceil(side).div_ceil(threads) * side * criteria;
    let parts: Vec<Worker> = in_chunks(weights.len().div_ceil(share), threads, |piece| {
        let weights = &weights[piece * share..weights.len().min((piece + 1) * share)];
        Arch::new().dispatch(Count { table: &table, weights, n })
    });
    let mut sum = Top { depth, counts: vec![0; n * depth], firsts: Vec::with_capacity(draws) };
    for part in parts {
        for (sum, it) in sum.counts.iter_mut().zip(part.counts) {
            *sum += it;
        }
        sum.firsts.extend(part.firsts);
    }
    Ok(sum)
}

/// Which products can be among the first, the greatest sum of points first.
fn order(points: &[f32], weights: &[f32], criteria: usize, depth: usize) -> Vec<u32> {
    let mut sums: Vec<(f32, u32)> =
        points.chunks_exact(criteria).map(|row| row.iter().sum()).zip(0..).collect();
    sums.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let order: Vec<u32> = sums.into_iter().map(|it| it.1).collect();
    without_beaten(order, points, weights, criteria, depth)
}

struct Table {
    order: Vec<u32>,
    points: Vec<f32>,
    criteria: usize,
    depth: usize,
}

/// What a thread makes.
struct Worker {
    depth: usize,
    counts: Vec<u32>,
    firsts: Vec<u32>,
    /// Scores, with their products, that reach the threshold of each draw of a strip.
    reached: Vec<Vec<u64>>,
}

/// Counts the draws of some weights.
struct Count<'a> {
    table: &'a Table,
    weights: &'a [f32],
    n: usize,
}

impl WithSimd for Count<'_> {
    type Output = Worker;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Worker {
        let Count { table: Table { order, points, criteria, depth }, weights, n } = self;
        let side = 2 * S::F32_LANES;
        let (panels, _) = points.as_chunks::<TALL>();
        let mut worker = Worker {
            depth: *depth,
            counts: vec![0; n * depth],
            firsts: Vec::new(),
            reached: vec![Vec::new(); side],
        };
        let mut leading: Vec<Pair<S>> = Vec::new();
        for rows in weights.chunks(side * criteria) {
            let strip = strips(rows.chunks_exact(*criteria), *criteria, side);
            let strip = pairs::<S>(&strip);
            let panels = || panels.chunks_exact(*criteria);
            leading.clear();
            // No iterator's closure: it would not be inlined.
            for points in panels().take(LEADING) {
                leading.extend_from_slice(&tile(simd, points, strip));
            }
            // The last panel may be filled up with rows of no product.
            leading.truncate(order.len());
            let mut threshold = threshold(simd, &leading, *depth);
            for (product, scores) in order.iter().zip(&leading) {
                if any_reaches::<S>(scores, &threshold) {
                    worker.keep(*product, cast_slice(scores), cast_slice(&threshold));
                }
            }
            for (points, products) in panels().zip(order.chunks(TALL)).skip(LEADING) {
                let sums = tile(simd, points, strip);
                let mut most = sums[0];
                for scores in &sums[1..] {
                    most = maxima(simd, &most, scores);
                }
                if any_reaches::<S>(&most, &threshold) {
                    for (product, scores) in products.iter().zip(&sums) {
                        worker.keep(*product, cast_slice(scores), cast_slice(&threshold));
                    }
                    worker.tighten(cast_slice_mut(&mut threshold));
                }
            }
            worker.count(rows.len() / criteria);
        }
        worker
    }
}

#[inline(always)]
fn maxima<S: Simd>(simd: S, a: &Pair<S>, b: &Pair<S>) -> Pair<S> {
    [simd.max_f32s(a[0], b[0]), simd.max_f32s(a[1], b[1])]
}

#[inline(always)]
fn any_reaches<S: Simd>(scores: &Pair<S>, threshold: &Pair<S>) -> bool {
    let (scores, threshold): (&[f32], &[f32]) = (cast_slice(scores), cast_slice(threshold));
    let mut any = false;
    for (score, threshold) in scores.iter().zip(threshold) {
        any |= score >= threshold;
    }
    any
}

/// A score for each draw that at least `depth` of the products reach.
#[inline(always)]
fn threshold<S: Simd>(simd: S, leading: &[Pair<S>], depth: usize) -> Pair<S> {
    let count = (3 * depth).next_multiple_of(UNIT);
    if leading.len() < count {
        return [simd.splat_f32s(0.0); 2];
    }
    let (groups, rest) = leading.split_at(count);
    let mut groups = groups.to_vec();
    for rows in rest.chunks(count) {
        for (it, scores) in groups.iter_mut().zip(rows) {
            *it = maxima(simd, it, scores);
        }
    }
    sort(&mut groups, |a: Pair<S>, b: Pair<S>| {
        let low = [simd.min_f32s(a[0], b[0]), simd.min_f32s(a[1], b[1])];
        (maxima(simd, &a, &b), low)
    });
    groups[depth - 1]
}

impl Worker {
    /// Notes the scores of a product that reach the threshold, in a form that puts level products in their order.
    fn keep(&mut self, product: u32, scores: &[f32], threshold: &[f32]) {
        for ((score, threshold), reached) in scores.iter().zip(threshold).zip(&mut self.reached) {
            if score >= threshold {
                reached.push(u64::from(score.to_bits()) << 32 | u64::from(!product));
            }
        }
    }

    /// Raises thresholds that too many have reached.
    fn tighten(&mut self, threshold: &mut [f32]) {
        for (reached, threshold) in self.reached.iter_mut().zip(threshold) {
            if reached.len() >= 16 * self.depth {
                let (_, last, _) = reached.select_nth_unstable_by(self.depth - 1, |a, b| b.cmp(a));
                *threshold = f32::from_bits(low(*last >> 32));
                reached.truncate(self.depth);
            }
        }
    }

    /// Counts the first of what reached the thresholds, in the draws that are used.
    fn count(&mut self, used: usize) {
        for reached in &mut self.reached[..used] {
            reached.sort_unstable_by(|a, b| b.cmp(a));
            let products = || reached.iter().map(|it| !low(*it));
            self.firsts.extend(products().next());
            for (rank, product) in products().take(self.depth).enumerate() {
                self.counts[product as usize * self.depth + rank] += 1;
            }
        }
        self.reached.iter_mut().for_each(Vec::clear);
    }
}
