//! The products of each draw in order, and how often each is at which place.
//!
//! Many draws are sorted side by side, a lane each, by short keys that carry their product. What is at one place in the draws of a
//! piece is counted at once, while the counts of that place are in the nearest cache.

use std::collections::HashMap;

use pulp::bytemuck::{cast_slice, cast_slice_mut};
use pulp::{Arch, Simd, WithSimd};

use super::keys::{BLOCK, Keys, STEP, Source};
use super::lines::Lines;
use super::network::{UNIT, sort};
use super::planes::{Sheets, Side};

/// Blocks that are ranked in one piece.
pub(super) const PIECE: usize = 4;

/// How many numbers a product can have.
const NAMES: usize = 1 << u16::BITS;

/// A count for each number.
type Table = Box<[u32; NAMES]>;

fn table() -> Table {
    // Not made on the stack, and only what is used is ever touched.
    vec![0; NAMES].into_boxed_slice().try_into().expect("a table of this length")
}

/// The products that are at one place in the draws of a block.
pub(super) type Order = [u16; BLOCK];

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

/// A product that is level with the one at a better place, whose rank it shares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Level {
    /// In which draw of the piece.
    pub(super) draw: u16,
    /// Which product.
    pub(super) product: u16,
    /// Where it stands.
    place: u16,
    /// The best place of those that are level with it.
    pub(super) top: u16,
}

/// A product in a group of products that are level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tie {
    /// Which product.
    pub product: u16,
    /// The best of the places that the group takes up, from 0.
    pub top: u16,
    /// How many are level.
    pub size: u16,
}

/// What a thread works with.
pub(super) struct Worker {
    n: usize,
    /// Of each place in turn, how often each product has its rank.
    pub(super) counts: Vec<u32>,
    pub(super) ties: HashMap<Tie, u32>,
    /// Counts of one place, in even and in odd draws: neighbouring draws often have the same product there, and so no count waits for
    /// the one before. There is room for any number, so that none needs a check.
    tables: [Table; 2],
    keys: Lines<u32>,
    /// The orders of all places in the first block of draws, then in the second, ...
    orders: Vec<Order>,
    /// Short keys of as many draws as a vector has lanes.
    sorted: Lines<u32>,
    /// The products of these keys.
    products: Lines<u16>,
    /// Keys and products of one draw.
    order: Vec<(u32, u16)>,
    /// Ranks by product, if they are asked for.
    sheets: Option<Sheets>,
}

impl Worker {
    pub(super) fn new(n: usize, ranks: bool) -> Self {
        Worker {
            n,
            counts: vec![0; n * n],
            ties: HashMap::new(),
            tables: [table(), table()],
            keys: Lines::new(n * BLOCK),
            orders: vec![[0; BLOCK]; n * PIECE],
            sorted: Lines::new(n.next_multiple_of(UNIT) * STEP),
            products: Lines::new(n.next_multiple_of(UNIT) * STEP),
            order: Vec::new(),
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
        for (block, orders) in orders.chunks_exact_mut(n).take(draws.div_ceil(BLOCK)).enumerate() {
            source.fill(at * PIECE + block, self.keys.as_mut_slice().as_chunks_mut().0);
            let used = draws - block * BLOCK;
            let rank = Rank { worker: self, orders, level: &mut level, block, used };
            Arch::new().dispatch(rank);
        }
        let (counts, tables) = (&mut self.counts, &mut self.tables);
        Arch::new().dispatch(Count { counts, tables, n, orders: &orders, draws });
        for level in &level {
            let product = usize::from(level.product);
            self.counts[usize::from(level.place) * n + product] -= 1;
            self.counts[usize::from(level.top) * n + product] += 1;
        }
        let firsts = orders.chunks_exact(n).flat_map(|it| it[0]).take(draws).collect();
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
    block: usize,
    /// Draws from this block on.
    used: usize,
}

impl WithSimd for Rank<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Rank { worker: Worker { n, ties, keys, sorted, products, order, .. }, orders, .. } =
            self;
        let (n, lanes) = (*n, S::F32_LANES);
        let keys: &[Keys] = keys.as_mut_slice().as_chunks().0;
        // Lanes are at most as many as the draws of a step.
        let sorted = &mut sorted.as_mut_slice()[..n.next_multiple_of(UNIT) * lanes];
        let products = &mut products.as_mut_slice()[..sorted.len()];
        let used = self.used.min(BLOCK);
        for (from, keys) in (0..used).step_by(STEP).zip(keys.chunks_exact(n)) {
            let short = Short::of(keys);
            for lane in (0..STEP).step_by(lanes) {
                short.load(simd, keys, lane, S::as_mut_simd_u32s(sorted).0);
                // Vector units compare numbers with a fraction at least as fast as whole ones, and the bits of both compare alike.
                let (rows, _) = S::as_mut_simd_f32s(cast_slice_mut(sorted));
                sort(rows, |a, b| (simd.max_f32s(a, b), simd.min_f32s(a, b)));
                let (rows, _) = S::as_simd_u32s(sorted);
                // Neighbours whose short keys are alike differ in the product alone.
                let mut least = simd.splat_u32s(u32::MAX);
                for pair in rows[..n].windows(2) {
                    least = simd.min_u32s(least, simd.xor_u32s(pair[0], pair[1]));
                }
                let at = from + lane;
                for (it, key) in products.iter_mut().zip(sorted.iter()) {
                    *it = short.product(*key);
                }
                for (order, row) in orders.iter_mut().zip(products.chunks_exact(lanes)) {
                    order[at..at + lanes].copy_from_slice(row);
                }
                let least = [least];
                let least: &[u32] = cast_slice(&least);
                for (l, _) in least.iter().enumerate().filter(|(_, it)| short.is_alike(**it)) {
                    if at + l < used {
                        let key = |product: u16| keys[usize::from(product)][lane + l];
                        order.clear();
                        order.extend(orders.iter().map(|it| (key(it[at + l]), it[at + l])));
                        settle(order, self.block * BLOCK + at + l, self.level, ties);
                        for (to, it) in orders.iter_mut().zip(order.iter()) {
                            to[at + l] = it.1;
                        }
                    }
                }
            }
        }
    }
}

/// How keys are cut so that they fit into a positive number with their product. They keep their order, or become alike.
#[derive(Clone, Copy)]
struct Short {
    low: u32,
    cut: u32,
    /// Bits that say which product it is.
    product: u32,
}

impl Short {
    #[inline(always)]
    fn of(keys: &[Keys]) -> Self {
        let (mut low, mut high) = ([u32::MAX; STEP], [0; STEP]);
        for keys in keys {
            for ((low, high), key) in low.iter_mut().zip(&mut high).zip(keys) {
                *low = (*low).min(*key);
                *high = (*high).max(*key);
            }
        }
        let low = low.into_iter().fold(u32::MAX, u32::min);
        let span = high.into_iter().fold(0, u32::max).saturating_sub(low);
        // There are at most 32,767 products.
        let product = usize::BITS - keys.len().saturating_sub(1).leading_zeros();
        // Below the bits of infinity, all bits make positive numbers.
        let room = f32::INFINITY.to_bits() >> product;
        let cut = (0..u32::BITS).find(|cut| span >> cut < room).unwrap_or_default();
        Short { low, cut, product }
    }

    /// Writes the short keys of as many draws as a vector has lanes; below them stands nothing.
    #[inline(always)]
    fn load<S: Simd>(self, simd: S, keys: &[Keys], from: usize, sorted: &mut [S::u32s]) {
        let (low, cut) = (simd.splat_u32s(self.low), simd.splat_u32s(self.cut));
        let product = simd.splat_u32s(self.product);
        let (sorted, below) = sorted.split_at_mut(keys.len());
        for ((i, keys), row) in (0_u32..).zip(keys).zip(sorted) {
            let key = S::as_simd_u32s(&keys[from..]).0[0];
            let short = simd.wrapping_dyn_shr_u32s(simd.sub_u32s(key, low), cut);
            *row = simd.or_u32s(simd.wrapping_dyn_shl_u32s(short, product), simd.splat_u32s(i));
        }
        below.fill(simd.splat_u32s(0));
    }

    #[inline(always)]
    fn product(self, key: u32) -> u16 {
        #[expect(clippy::cast_possible_truncation, reason = "at most 15 bits are left")]
        let product = (key & ((1 << self.product) - 1)) as u16;
        product
    }

    /// Whether keys that differ by this are alike but for the product.
    #[inline(always)]
    fn is_alike(self, differ: u32) -> bool {
        differ >> self.product == 0
    }
}

/// Puts one draw in order by the keys themselves, given an order in which only neighbours may stand wrong, and notes who is level.
fn settle(
    order: &mut [(u32, u16)],
    draw: usize,
    level: &mut Vec<Level>,
    ties: &mut HashMap<Tie, u32>,
) {
    for end in 1..order.len() {
        let mut at = end;
        while at > 0 && order[at - 1].0 < order[at].0 {
            order.swap(at - 1, at);
            at -= 1;
        }
    }
    // There are at most 32,767 products, and far fewer draws in a piece.
    let short = |it: usize| u16::try_from(it).unwrap_or(u16::MAX);
    let mut top = 0;
    for group in order.chunk_by(|a, b| a.0 == b.0) {
        if group.len() > 1 {
            for (place, (_, product)) in (top..).zip(group) {
                let tie = Tie { product: *product, top: short(top), size: short(group.len()) };
                *ties.entry(tie).or_default() += 1;
                if place > top {
                    let [draw, place, top] = [draw, place, top].map(short);
                    level.push(Level { draw, product: *product, place, top });
                }
            }
        }
        top += group.len();
    }
}

/// Counts who is at which place in a piece.
struct Count<'a> {
    counts: &'a mut [u32],
    tables: &'a mut [Table; 2],
    n: usize,
    orders: &'a [Order],
    draws: usize,
}

impl WithSimd for Count<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Count { counts, tables: [even, odd], n, orders, draws } = self;
        for (place, counts) in counts.chunks_exact_mut(n).enumerate() {
            for (from, orders) in (0..draws).step_by(BLOCK).zip(orders.chunks_exact(n)) {
                let used = BLOCK.min(draws - from);
                let (pairs, rest) = orders[place][..used].as_chunks();
                for [a, b] in pairs {
                    even[usize::from(*a)] += 1;
                    odd[usize::from(*b)] += 1;
                }
                for it in rest {
                    even[usize::from(*it)] += 1;
                }
            }
            for ((sum, even), odd) in counts.iter_mut().zip(even.iter_mut()).zip(odd.iter_mut()) {
                *sum += *even + *odd;
                (*even, *odd) = (0, 0);
            }
        }
    }
}
