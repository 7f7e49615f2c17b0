//! The first few of many products in every draw, by scores in f32.
//!
//! Products are taken in the order of their mean points. The scores of the leading ones are kept and give each draw a score that
//! surely belongs to the first few or lies below them: the maxima of as many groups as are asked for, and twice as many more,
//! are scores of different products, so the one of the asked rank among them is reached by at least that many. All others only need
//! to be compared with it while they are in registers; what reaches it is sorted in the end. So the result is exact.

use pulp::bytemuck::{cast_slice, cast_slice_mut};
use pulp::{Arch, Simd, WithSimd};

use super::mix::{Pair, TALL, pairs, strips, tile};
use super::network::{UNIT, sort};
use super::normal::low;
use super::top::{Tally, Way};

/// How many panels of products are scored first.
const LEADING: usize = 171;

/// The points of the products.
pub(super) struct Tiles<'a> {
    names: &'a [u32],
    points: Vec<f32>,
    criteria: usize,
}

impl<'a> Tiles<'a> {
    /// Of a row of points a product, and what the products are called.
    pub(super) fn new<'b>(
        names: &'a [u32],
        rows: impl ExactSizeIterator<Item = &'b [f32]>,
        criteria: usize,
    ) -> Self {
        Tiles { names, points: strips(rows, criteria, TALL), criteria }
    }
}

/// Scores, with their products, that reach the threshold of each draw of a strip.
#[derive(Default)]
pub(super) struct Reached(Vec<Vec<u64>>);

impl Way for Tiles<'_> {
    type Memory = Reached;

    fn memory(&self) -> Reached {
        Reached::default()
    }

    fn tally(&self, weights: &[f32], reached: &mut Reached, tally: &mut Tally) {
        Arch::new().dispatch(Count { tiles: self, weights, reached, tally });
    }
}

struct Count<'a> {
    tiles: &'a Tiles<'a>,
    weights: &'a [f32],
    reached: &'a mut Reached,
    tally: &'a mut Tally,
}

impl WithSimd for Count<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Count { tiles: Tiles { names, points, criteria }, weights, reached, tally } = self;
        let depth = tally.depth();
        let side = 2 * S::F32_LANES;
        let (panels, _) = points.as_chunks::<TALL>();
        reached.0.resize(side, Vec::new());
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
            leading.truncate(names.len());
            let mut threshold = threshold(simd, &leading, depth);
            for (product, scores) in names.iter().zip(&leading) {
                if any_reaches::<S>(scores, &threshold) {
                    reached.keep(*product, cast_slice(scores), cast_slice(&threshold));
                }
            }
            for (points, products) in panels().zip(names.chunks(TALL)).skip(LEADING) {
                let sums = tile(simd, points, strip);
                let mut most = sums[0];
                for scores in &sums[1..] {
                    most = maxima(simd, &most, scores);
                }
                if any_reaches::<S>(&most, &threshold) {
                    for (product, scores) in products.iter().zip(&sums) {
                        reached.keep(*product, cast_slice(scores), cast_slice(&threshold));
                    }
                    reached.tighten(cast_slice_mut(&mut threshold), depth);
                }
            }
            reached.count(rows.len() / criteria, tally);
        }
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

impl Reached {
    /// Notes the scores of a product that reach the threshold, in a form that puts level products in their order.
    fn keep(&mut self, product: u32, scores: &[f32], threshold: &[f32]) {
        for ((score, threshold), reached) in scores.iter().zip(threshold).zip(&mut self.0) {
            if score >= threshold {
                reached.push(u64::from(score.to_bits()) << 32 | u64::from(!product));
            }
        }
    }

    /// Raises thresholds that too many have reached.
    fn tighten(&mut self, threshold: &mut [f32], depth: usize) {
        for (reached, threshold) in self.0.iter_mut().zip(threshold) {
            if reached.len() >= 16 * depth {
                let (_, last, _) = reached.select_nth_unstable_by(depth - 1, |a, b| b.cmp(a));
                *threshold = f32::from_bits(low(*last >> 32));
                reached.truncate(depth);
            }
        }
    }

    /// Tallies the first of what reached the thresholds, in the draws that are used.
    fn count(&mut self, used: usize, tally: &mut Tally) {
        for reached in &mut self.0[..used] {
            reached.sort_unstable_by(|a, b| b.cmp(a));
            tally.add(reached.iter().map(|it| !low(*it)));
        }
        self.0.iter_mut().for_each(Vec::clear);
    }
}
