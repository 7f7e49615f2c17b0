//! The products of each draw in order, and how often each is at which place.
//!
//! Many draws are sorted side by side, a lane each, by short keys that carry their product. What is at one place in the draws of a
//! piece is counted at once, while the counts of that place are in the nearest cache.

use std::collections::HashMap;

use pulp::bytemuck::{cast_slice, cast_slice_mut};
use pulp::{Arch, Simd, WithSimd};

use super::keys::{BLOCK, Keys, STEP, Source};
use super::level::{Draw, Level, Tie};
use super::lines::Lines;
use super::network::{UNIT, sort_from};
use super::planes::{Sheets, Side};
use super::short::Short;

/// Blocks that are ranked in one piece.
pub(super) const PIECE: usize = 4;

/// Places whose products are counted at a time: where neighbouring draws have the same product at a place, its count does not wait
/// for the one before.
const TOGETHER: usize = 4;

/// The products that are at one place in the draws of a step.
pub(super) type Order = [u16; STEP];

/// What is kept of the draws of a piece.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Piece {
    /// The product at the first place of each draw.
    pub(super) firsts: Vec<u16>,
    /// Who shares the rank of another product.
    pub(super) level: Vec<Level>,
    /// The ranks of the products in each draw, if that was asked for.
    pub(super) planes: Vec<Side>,
}

/// What a thread works with.
pub(super) struct Worker {
    n: usize,
    /// Of each place in turn, how often each product has its rank.
    pub(super) counts: Vec<u32>,
    pub(super) ties: HashMap<Tie, u32>,
    keys: Lines<u32>,
    /// The orders of all places in the first step of draws, then in the second, ...
    orders: Vec<Order>,
    /// Short keys of as many draws as a vector has lanes.
    sorted: Lines<u32>,
    /// Ranks by product, if they are asked for.
    sheets: Option<Sheets>,
}

impl Worker {
    pub(super) fn new(n: usize, ranks: bool) -> Self {
        Worker {
            n,
            counts: vec![0; n * n],
            ties: HashMap::new(),
            keys: Lines::new(n * BLOCK),
            orders: vec![[0; STEP]; n * PIECE * BLOCK / STEP],
            sorted: Lines::new(n.next_multiple_of(UNIT) * STEP),
            sheets: ranks.then(|| Sheets::new(n)),
        }
    }

    /// Adds what another one counted.
    pub(super) fn add(mut self, other: Self) -> Self {
        for (sum, it) in self.counts.iter_mut().zip(other.counts) {
            *sum += it;
        }
        for (tie, count) in other.ties {
            *self.ties.entry(tie).or_default() += count;
        }
        self
    }

    /// Ranks the draws of a piece, and counts them.
    pub(super) fn piece<S: Source>(&mut self, source: &S, at: usize) -> Piece {
        let n = self.n;
        let draws = (source.draws() - at * PIECE * BLOCK).min(PIECE * BLOCK);
        let mut orders = std::mem::take(&mut self.orders);
        let mut level = Vec::new();
        let blocks = orders.chunks_exact_mut(n * BLOCK / STEP).take(draws.div_ceil(BLOCK));
        for (block, orders) in blocks.enumerate() {
            source.fill(at * PIECE + block, self.keys.as_mut_slice().as_chunks_mut().0);
            let rank = Rank { worker: self, orders, level: &mut level, from: block * BLOCK, draws };
            Arch::new().dispatch(rank);
        }
        count(&mut self.counts, n, &orders, draws);
        for level in &level {
            let product = usize::from(level.product);
            self.counts[usize::from(level.place) * n + product] -= 1;
            self.counts[usize::from(level.top) * n + product] += 1;
        }
        let mut firsts = Vec::with_capacity(PIECE * BLOCK);
        for orders in orders.chunks_exact(n) {
            firsts.extend_from_slice(&orders[0]);
        }
        firsts.truncate(draws);
        let planes = self.sheets.as_mut().map(|it| it.planes(&orders, draws, &level));
        self.orders = orders;
        Piece { firsts, level, planes: planes.unwrap_or_default() }
    }
}

/// Ranks one block.
struct Rank<'a> {
    worker: &'a mut Worker,
    orders: &'a mut [Order],
    level: &'a mut Vec<Level>,
    /// The first draw of the block in the piece, and how many the piece has.
    from: usize,
    draws: usize,
}

impl WithSimd for Rank<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Rank { worker: Worker { n, ties, keys, sorted, .. }, orders, level, from, draws } =
            self;
        let (n, lanes) = (*n, S::F32_LANES);
        let keys: &[Keys] = keys.as_mut_slice().as_chunks().0;
        // Lanes are at most as many as the draws of a step.
        let sorted = &mut sorted.as_mut_slice()[..n.next_multiple_of(UNIT) * lanes];
        let steps = keys.chunks_exact(n).zip(orders.chunks_exact_mut(n));
        for (draw, (keys, orders)) in (from..draws).step_by(STEP).zip(steps) {
            let short = Short::of(simd, keys);
            for lane in (0..STEP).step_by(lanes) {
                let (rows, _) = S::as_mut_simd_f32s(cast_slice_mut(sorted));
                let (units, rest) = keys.as_chunks::<UNIT>();
                let whole = units.len() * UNIT;
                rows[whole..].fill(simd.splat_f32s(0.0));
                for ((i, keys), row) in (0_u32..).zip(rest).zip(&mut rows[whole..]) {
                    // There are at most 32,767 products.
                    let i = u32::try_from(whole).unwrap_or(u32::MAX) + i;
                    *row = short.one(simd, keys, simd.splat_u32s(i), lane);
                }
                // Vector units compare numbers with a fraction at least as fast as whole ones, and the bits of both compare alike.
                let order = |a, b| (simd.max_f32s(a, b), simd.min_f32s(a, b));
                let make = |unit: usize, _| short.unit(simd, &units[unit], unit * UNIT, lane);
                sort_from(rows, order, units.len(), make);
                let (rows, _) = S::as_simd_u32s(sorted);
                let mut last = simd.splat_u32s(u32::MAX);
                let mut least = last;
                for (order, row) in orders.iter_mut().zip(rows) {
                    short.products::<S>(*row, &mut order[lane..lane + lanes]);
                    // Neighbours whose short keys are alike differ in the product alone.
                    least = simd.min_u32s(least, simd.xor_u32s(last, *row));
                    last = *row;
                }
                let least = [least];
                let least: &[u32] = cast_slice(&least);
                for (l, _) in least.iter().enumerate().filter(|(_, it)| short.is_alike(**it)) {
                    let (lane, draw) = (lane + l, draw + lane + l);
                    if draw < draws {
                        let mut it = Draw { keys, orders: &mut *orders, lane, draw };
                        let key = |place: usize| sorted[place * lanes + l];
                        let mut from = 0;
                        for end in 1..=n {
                            if end == n || !short.is_alike(key(end) ^ key(end - 1)) {
                                if end - from > 1 {
                                    it.settle(from..end, level, ties);
                                }
                                from = end;
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Counts who is at which place in a piece.
fn count(counts: &mut [u32], n: usize, orders: &[Order], draws: usize) {
    for (place, counts) in (0..n).step_by(TOGETHER).zip(counts.chunks_mut(TOGETHER * n)) {
        for (from, orders) in (0..draws).step_by(STEP).zip(orders.chunks_exact(n)) {
            let used = STEP.min(draws - from);
            if let Some(orders) = orders[place..].first_chunk::<TOGETHER>() {
                // Nearly always all draws, so that their number is known to the compiler.
                if used == STEP {
                    add(counts, n, orders, STEP);
                } else {
                    add(counts, n, orders, used);
                }
            } else {
                for (counts, order) in counts.chunks_exact_mut(n).zip(&orders[place..]) {
                    add(counts, n, &[*order], used);
                }
            }
        }
    }
}

/// Counts the products at some places in the draws of a step.
#[inline(always)]
fn add<const PLACES: usize>(counts: &mut [u32], n: usize, orders: &[Order; PLACES], used: usize) {
    let mut rest = counts;
    let mut rows: [&mut [u32]; PLACES] = std::array::from_fn(|_| {
        let (row, others) = std::mem::take(&mut rest).split_at_mut(n);
        rest = others;
        row
    });
    for draw in 0..used.min(STEP) {
        for (row, order) in rows.iter_mut().zip(orders) {
            row[usize::from(order[draw])] += 1;
        }
    }
}
