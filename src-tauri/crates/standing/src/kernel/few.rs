//! The order of the few products of each draw that can be among the first.
//!
//! Sums of sixteen lanes are quick, but round in another order than [`super::tiles`] does. Where all leads are larger than both
//! roundings together, the order of the two is the same; where one is not, scores are added up as there.

use std::borrow::Cow;

use octets::Reached;
use pulp::Simd;
use pulp::bytemuck::cast_slice;

use super::normal::low;
use super::top::Tally;

/// The most products that are compared all with all.
const MOST: usize = 128;
/// As many numbers as a vector has at most.
const SIDE: usize = 16;
/// A place that nobody takes, since others share a better one.
const FREE: u64 = (f32::INFINITY.to_bits() as u64) << 32;

/// Weights, at the start of a cache line.
#[derive(Clone, Copy)]
#[repr(align(64))]
struct Part([f32; SIDE]);

/// The points of all products.
pub(super) struct Few<'a> {
    /// Rows of at least as many numbers as a vector has at most.
    points: Cow<'a, [f32]>,
    /// Where the row of each product begins.
    starts: Vec<usize>,
    pub(super) criteria: usize,
    /// What the products are called; those that are level are in the order of their names.
    names: &'a [u32],
}

/// What a thread works with: of a block of draws, what can be among the first in each of them, draw by draw, in whole vectors.
#[derive(Default)]
pub(super) struct Memory {
    /// Rows of weights in parts.
    weights: Vec<Part>,
    ends: Vec<usize>,
    products: Vec<u32>,
    scores: Vec<f32>,
    exact: Vec<(f32, u32)>,
}

impl<'a> Few<'a> {
    /// Of a row of points a product, by the products' names.
    pub(super) fn new(points: &'a [f32], criteria: usize, names: &'a [u32]) -> Self {
        let starts = names.iter().map(|it| *it as usize * criteria);
        if criteria >= SIDE {
            return Few { points: points.into(), starts: starts.collect(), criteria, names };
        }
        let mut rows = vec![0.0; names.len() * SIDE];
        for (row, start) in rows.chunks_exact_mut(SIDE).zip(starts) {
            row[..criteria].copy_from_slice(&points[start..][..criteria]);
        }
        let starts = (0..names.len()).map(|it| it * SIDE).collect();
        Few { points: rows.into(), starts, criteria, names }
    }

    #[inline(always)]
    fn row(&self, product: usize) -> &[f32] {
        &self.points[self.starts[product]..][..self.criteria]
    }

    /// Tallies the first of those that can be, given by their numbers, in draws with some weights; of those that are level, the one
    /// with the lower name is before the other.
    #[inline(always)]
    pub(super) fn tally<S: Simd>(
        &self,
        simd: S,
        weights: &[f32],
        reached: impl Iterator<Item = Reached> + Clone,
        memory: &mut Memory,
        tally: &mut Tally,
    ) {
        memory.weights.clear();
        for row in weights.chunks_exact(self.criteria) {
            parts_of(row, &mut memory.weights);
        }
        self.score(simd, reached, weights.len() / self.criteria, memory);
        let Memory { ends, products, scores, exact, .. } = memory;
        let mut from = 0;
        for (end, weights) in ends.iter().zip(weights.chunks_exact(self.criteria)) {
            let products = &products[from..*end];
            let filled = products.len().next_multiple_of(SIDE);
            let scores = &scores[from..][..filled];
            from += filled;
            let mut least = f32::NEG_INFINITY;
            if products.len() <= MOST {
                let mut order = [FREE; MOST];
                arrange(simd, products, scores, &mut order);
                match self.doubt::<S>(&order[..products.len()], tally.depth()) {
                    None => {
                        tally.add(order.iter().map(|it| self.names[low(*it) as usize]));
                        continue;
                    }
                    Some(it) => least = it,
                }
            }
            exact.clear();
            for (product, score) in products.iter().zip(scores) {
                if *score < least {
                    continue;
                }
                let mut sum = 0.0;
                for (x, w) in self.row(*product as usize).iter().zip(weights) {
                    sum = x.mul_add(*w, sum);
                }
                exact.push((sum, self.names[*product as usize]));
            }
            exact.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            tally.add(exact.iter().map(|it| it.1));
        }
    }

    /// Quick scores, draw by draw.
    #[inline(always)]
    fn score<S: Simd>(
        &self,
        simd: S,
        reached: impl Iterator<Item = Reached> + Clone,
        draws: usize,
        memory: &mut Memory,
    ) {
        let Memory { ends, products, scores, .. } = memory;
        ends.clear();
        ends.resize(draws, 0);
        for it in reached.clone() {
            ends[it.draw] += 1;
        }
        let mut filled = 0;
        for end in &mut *ends {
            filled += std::mem::replace(end, filled).next_multiple_of(SIDE);
        }
        // What fills up vectors is before nobody.
        scores.clear();
        scores.resize(filled, -1.0);
        products.resize(filled, 0);
        // Where it is known how many vectors make a row, they are added up without a loop.
        match self.criteria.div_ceil(SIDE) {
            1 => self.score_rows::<S, 1>(simd, reached, memory),
            2 => self.score_rows::<S, 2>(simd, reached, memory),
            3 => self.score_rows::<S, 3>(simd, reached, memory),
            4 => self.score_rows::<S, 4>(simd, reached, memory),
            _ => self.score_long_rows(simd, reached, memory),
        }
    }

    #[inline(always)]
    fn score_rows<S: Simd, const PARTS: usize>(
        &self,
        simd: S,
        reached: impl Iterator<Item = Reached>,
        memory: &mut Memory,
    ) {
        let (weights, _) = memory.weights.as_chunks::<PARTS>();
        let (points, starts) = (&*self.points, &*self.starts);
        let last = self.criteria.max(SIDE) - SIDE;
        let mut put = Put {
            ends: &mut memory.ends,
            products: &mut memory.products,
            scores: &mut memory.scores,
        };
        for Reached { draw, product } in reached {
            let row = &points[starts[product]..][..last + SIDE];
            let weights = &weights[draw];
            let mut sums = simd.splat_f32s(0.0);
            for (part, w) in weights.iter().enumerate() {
                let from = if part + 1 == PARTS { last } else { part * SIDE };
                add_part(simd, &row[from..][..SIDE], w, &mut sums);
            }
            put.put(draw, product, simd.reduce_sum_f32s(sums));
        }
    }

    #[inline(always)]
    fn score_long_rows<S: Simd>(
        &self,
        simd: S,
        reached: impl Iterator<Item = Reached>,
        memory: &mut Memory,
    ) {
        let parts = self.criteria.div_ceil(SIDE);
        let weights = &memory.weights;
        let mut put = Put {
            ends: &mut memory.ends,
            products: &mut memory.products,
            scores: &mut memory.scores,
        };
        for Reached { draw, product } in reached {
            let row = self.row(product);
            let (full, rest) = row.as_chunks::<SIDE>();
            let last = row.last_chunk::<SIDE>().filter(|_| !rest.is_empty());
            let mut sums = simd.splat_f32s(0.0);
            for (x, w) in full.iter().chain(last).zip(&weights[draw * parts..][..parts]) {
                add_part(simd, x, w, &mut sums);
            }
            put.put(draw, product, simd.reduce_sum_f32s(sums));
        }
    }

    /// Whether roundings could change who is where among the first `depth` of an order by quick scores: the least score of those that
    /// could be among them.
    #[inline(always)]
    fn doubt<S: Simd>(&self, order: &[u64], depth: usize) -> Option<f32> {
        // A sum is off by at most as many roundings as there are on the way of a product through it (N. J. Higham, Accuracy and
        // Stability of Numerical Algorithms, 2002, section 3.1), and no way is longer than there are criteria, nor than a vector
        // and a few. Two scores are off, by two sums each, and a rounding is half a unit in the last place; where numbers have no
        // full precision any more, nothing is clear.
        let most = self.criteria + self.criteria / S::F32_LANES + S::F32_LANES.ilog2() as usize + 2;
        let doubt = score(order[0]) * most as f32 * f32::EPSILON + f32::MIN_POSITIVE;
        let mut clear = true;
        for at in 1..order.len().min(depth + 1) {
            clear &= score(order[at - 1]) - score(order[at]) > doubt;
        }
        if clear {
            return None;
        }
        // The last place that somebody takes, as the first one always is: so many have that score or a better one.
        let last = order[..order.len().min(depth)].iter().rev().find(|it| **it != FREE);
        last.map(|it| score(*it) - doubt)
    }
}

/// Where scores go.
struct Put<'a> {
    ends: &'a mut [usize],
    products: &'a mut [u32],
    scores: &'a mut [f32],
}

impl Put<'_> {
    #[inline(always)]
    fn put(&mut self, draw: usize, product: usize, score: f32) {
        let at = self.ends[draw];
        self.ends[draw] += 1;
        self.scores[at] = score;
        #[expect(clippy::cast_possible_truncation, reason = "of up to 50 million products")]
        let product = product as u32;
        self.products[at] = product;
    }
}

/// Adds a vector of points times weights.
#[inline(always)]
fn add_part<S: Simd>(simd: S, points: &[f32], weights: &Part, sums: &mut S::f32s) {
    for (x, w) in S::as_simd_f32s(points).0.iter().zip(S::as_simd_f32s(&weights.0).0) {
        *sums = simd.mul_add_e_f32s(*x, *w, *sums);
    }
}

/// Appends a row of weights in parts. The last one begins before the end of the one before it, where its weights are 0; a row that
/// is shorter than a part is filled up.
#[inline(always)]
fn parts_of(row: &[f32], parts: &mut Vec<Part>) {
    let (full, rest) = row.as_chunks::<SIDE>();
    parts.extend(full.iter().map(|it| Part(*it)));
    if !rest.is_empty() {
        let mut last = [0.0; SIDE];
        let from = if full.is_empty() { 0 } else { SIDE - rest.len() };
        last[from..][..rest.len()].copy_from_slice(rest);
        parts.push(Part(last));
    }
}

/// The score of a product, which stands above its number.
#[inline(always)]
fn score(pair: u64) -> f32 {
    f32::from_bits(low(pair >> 32))
}

/// Puts products, and scores above their numbers, where the scores say, the highest first. Those that are level share a place.
#[inline(always)]
fn arrange<S: Simd>(simd: S, products: &[u32], scores: &[f32], order: &mut [u64; MOST]) {
    let (none, one) = (simd.splat_u32s(0), simd.splat_u32s(1));
    let (fours, _) = scores.as_chunks::<4>();
    let lanes = S::F32_LANES;
    let owns = S::as_simd_f32s(scores).0.iter().zip(scores.chunks(lanes));
    for ((own, scores), products) in owns.zip(products.chunks(lanes)) {
        // Who is before each of these, in sums of which none waits for the one before.
        let mut before = [none; 4];
        for four in fours {
            for (before, it) in before.iter_mut().zip(four) {
                let is_before = simd.greater_than_f32s(simd.splat_f32s(*it), *own);
                let more = simd.add_u32s(*before, one);
                *before = simd.select_u32s(is_before, more, *before);
            }
        }
        let [a, b, c, d] = before;
        let before = [simd.add_u32s(simd.add_u32s(a, b), simd.add_u32s(c, d))];
        for ((place, product), score) in
            cast_slice::<S::u32s, u32>(&before).iter().zip(products).zip(scores)
        {
            order[*place as usize % MOST] = u64::from(score.to_bits()) << 32 | u64::from(*product);
        }
    }
}
