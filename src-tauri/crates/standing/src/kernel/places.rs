//! Every product ranked in every draw.

use std::collections::HashMap;

use pulp::bytemuck::cast_slice;
use pulp::{Arch, Simd, WithSimd};

use super::keys::{BLOCK, Keys, Source};
use super::network::{UNIT, sort};
use crate::chunks::in_chunks;

/// The ranks of one product in the draws of a block, from 0. Signed, since vector units compare signed numbers.
pub(super) type Ranks = [i16; BLOCK];

/// Blocks that are ranked in one piece.
const PIECE: usize = 8;

/// Ranks of products in draws, and how often each is taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Places {
    pub(super) n: usize,
    pub(super) draws: usize,
    /// A row a product and block: all products of the first block of draws, then of the second, ... Products that are level share
    /// the better rank.
    pub(super) pieces: Vec<Vec<Ranks>>,
    counts: Vec<u32>,
    ties: Vec<(Tie, u32)>,
}

/// A product in a group of products that are level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tie {
    /// Which product.
    pub product: i16,
    /// The best of the places that the group takes up, from 0.
    pub top: i16,
    /// How many are level.
    pub size: i16,
}

impl Places {
    /// Ranks all products in all draws, on up to `threads` threads.
    #[must_use]
    pub fn of<S: Source>(source: &S, threads: usize) -> Self {
        let (n, draws) = (source.n(), source.draws());
        let blocks = draws.div_ceil(BLOCK);
        let made = in_chunks(blocks.div_ceil(PIECE), threads, |piece| {
            let mut worker = Worker::new(n);
            let blocks = piece * PIECE..blocks.min((piece + 1) * PIECE);
            let mut ranks = vec![[0; BLOCK]; n * blocks.len()];
            for (block, ranks) in blocks.zip(ranks.chunks_exact_mut(n)) {
                let used = BLOCK.min(draws - block * BLOCK);
                source.fill(block, &mut worker.keys);
                Arch::new().dispatch(Rank { worker: &mut worker, ranks, used });
            }
            (ranks, worker.ties)
        });
        let (pieces, ties): (Vec<_>, Vec<_>) = made.into_iter().unzip();
        let mut sum: HashMap<Tie, u32> = HashMap::new();
        for (tie, count) in ties.into_iter().flatten() {
            *sum.entry(tie).or_default() += count;
        }
        let mut ties: Vec<(Tie, u32)> = sum.into_iter().collect();
        ties.sort_unstable();
        let mut places = Places { n, draws, pieces, counts: Vec::new(), ties };
        places.counts = places.counted(threads);
        places
    }

    /// How often each product takes each rank.
    fn counted(&self, threads: usize) -> Vec<u32> {
        const PRODUCTS: usize = 16;
        in_chunks(self.n.div_ceil(PRODUCTS), threads, |piece| {
            let products = piece * PRODUCTS..self.n.min((piece + 1) * PRODUCTS);
            let mut counts = vec![0; self.n * products.len()];
            // Neighbouring draws often have the same rank: with a table each, no count waits for the one before.
            let mut tables = [(); 4].map(|()| vec![0; self.n]);
            for (i, counts) in products.zip(counts.chunks_exact_mut(self.n)) {
                tables.iter_mut().for_each(|it| it.fill(0));
                for (block, ranks) in self.blocks(i).enumerate() {
                    for ranks in ranks[..BLOCK.min(self.draws - block * BLOCK)].chunks(4) {
                        for (table, rank) in tables.iter_mut().zip(ranks) {
                            table[usize::from(rank.unsigned_abs())] += 1;
                        }
                    }
                }
                for table in &tables {
                    for (sum, it) in counts.iter_mut().zip(table) {
                        *sum += it;
                    }
                }
            }
            counts
        })
        .concat()
    }

    /// The draws in which product `i` has rank 1, 2, ..., n; products that are level share the better rank.
    #[must_use]
    pub fn counts(&self, i: usize) -> &[u32] {
        &self.counts[i * self.n..(i + 1) * self.n]
    }

    /// In how many draws each product was in which tie, in the order of the products.
    #[must_use]
    pub fn ties(&self) -> &[(Tie, u32)] {
        &self.ties
    }

    /// The ranks of product `i`, from 0, draw by draw.
    pub fn ranks(&self, i: usize) -> impl Iterator<Item = i16> {
        self.blocks(i).flatten().copied().take(self.draws)
    }

    /// The draws in which product `i` is first or joint first.
    pub fn firsts(&self, i: usize) -> impl Iterator<Item = usize> {
        // To the end of each block without a branch, which compilers vectorise.
        let has = |ranks: &Ranks| ranks.iter().fold(false, |has, rank| has | (*rank == 0));
        self.blocks(i).enumerate().filter(move |(_, ranks)| has(ranks)).flat_map(
            |(block, ranks)| {
                let used = BLOCK.min(self.draws - block * BLOCK);
                (block * BLOCK..)
                    .zip(&ranks[..used])
                    .filter(|(_, rank)| **rank == 0)
                    .map(|(d, _)| d)
            },
        )
    }

    /// The ranks of product `i`, block by block.
    pub(super) fn blocks(&self, i: usize) -> impl Iterator<Item = &Ranks> {
        self.pieces.iter().flat_map(move |piece| piece.iter().skip(i).step_by(self.n))
    }
}

/// Draws that are sorted from and into memory of their own: rows of a block lie so far apart that they drive each other out of the
/// cache. As many as the widest vectors have lanes.
const STEP: usize = 16;

/// The keys and ranks of one product in the draws of a step.
#[derive(Clone, Copy)]
struct Near {
    keys: [u32; STEP],
    ranks: [i16; STEP],
}

/// What a piece is worked on with.
struct Worker {
    keys: Vec<Keys>,
    near: Vec<Near>,
    /// Short keys, with their products, of as many draws as a vector has lanes.
    sorted: Vec<u32>,
    ties: HashMap<Tie, u32>,
}

impl Worker {
    fn new(n: usize) -> Self {
        Worker {
            keys: vec![[0; BLOCK]; n],
            near: vec![Near { keys: [0; STEP], ranks: [0; STEP] }; n],
            sorted: Vec::new(),
            ties: HashMap::new(),
        }
    }
}

/// Ranks one block of which the first draws are used.
struct Rank<'a> {
    worker: &'a mut Worker,
    ranks: &'a mut [Ranks],
    used: usize,
}

impl WithSimd for Rank<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Rank { worker: Worker { keys, near, sorted, ties }, ranks, used } = self;
        let (n, lanes) = (ranks.len(), S::U32_LANES);
        let near = near.as_mut_slice();
        let short = Short::of(keys, used);
        sorted.resize(n.next_multiple_of(UNIT) * lanes, 0);
        for from in (0..used).step_by(STEP) {
            for (near, keys) in near.iter_mut().zip(keys.iter()) {
                near.keys.copy_from_slice(&keys[from..from + STEP]);
            }
            for lane in (0..STEP).step_by(lanes) {
                short.load(near, lane, lanes, sorted);
                let (rows, _) = S::as_mut_simd_u32s(sorted);
                sort(rows, |a, b| (simd.max_u32s(a, b), simd.min_u32s(a, b)));
                // Neighbours whose short keys are alike differ in the product alone.
                let mut least = simd.splat_u32s(u32::MAX);
                for pair in rows[..n].windows(2) {
                    least = simd.min_u32s(least, simd.xor_u32s(pair[0], pair[1]));
                }
                for (place, row) in (0_i16..).zip(sorted.chunks_exact(lanes).take(n)) {
                    for (at, key) in (lane..STEP).zip(row) {
                        near[short.product(*key)].ranks[at] = place;
                    }
                }
                let least = [least];
                let least: &[u32] = cast_slice(&least);
                for (at, _) in least.iter().enumerate().filter(|(_, it)| short.is_alike(**it)) {
                    let order = sorted.iter().skip(at).step_by(lanes).take(n);
                    let order = order.map(|it| short.product(*it)).collect();
                    let ties = (from + lane + at < used).then_some(&mut *ties);
                    exactly(order, lane + at, near, ties);
                }
            }
            for (near, ranks) in near.iter().zip(ranks.iter_mut()) {
                ranks[from..from + STEP].copy_from_slice(&near.ranks);
            }
        }
        // Those of no draw are alike, so that nobody wins there.
        for ranks in ranks {
            ranks[used..].fill(0);
        }
    }
}

/// How keys are cut so that they fit into 32 bits with their product. They keep their order, or become alike.
#[derive(Clone, Copy)]
struct Short {
    low: u32,
    cut: u32,
    /// Bits that say which product it is.
    product: u32,
}

impl Short {
    #[inline(always)]
    fn of(keys: &[Keys], used: usize) -> Self {
        let (mut low, mut high) = (u32::MAX, 0);
        for keys in keys {
            for key in &keys[..used] {
                low = low.min(*key);
                high = high.max(*key);
            }
        }
        let bits = |most: u32| u32::BITS - most.leading_zeros();
        // There are at most 32,767 products.
        let product = bits(u32::try_from(keys.len().saturating_sub(1)).unwrap_or(u32::MAX));
        let cut = (bits(high.saturating_sub(low)) + product).saturating_sub(u32::BITS);
        Short { low, cut, product }
    }

    /// Writes the short keys of some draws; below them stands nothing.
    #[inline(always)]
    fn load(self, near: &[Near], from: usize, lanes: usize, sorted: &mut [u32]) {
        for ((i, near), row) in (0_u32..).zip(near).zip(sorted.chunks_exact_mut(lanes)) {
            for (it, key) in row.iter_mut().zip(&near.keys[from..from + lanes]) {
                // What stands beyond the last draw may be lower, and is not read.
                *it = ((key.wrapping_sub(self.low)) >> self.cut) << self.product | i;
            }
        }
        sorted[near.len() * lanes..].fill(0);
    }

    #[inline(always)]
    fn product(self, key: u32) -> usize {
        (key & ((1 << self.product) - 1)) as usize
    }

    /// Whether keys that differ by this are alike but for the product.
    #[inline(always)]
    fn is_alike(self, differ: u32) -> bool {
        differ >> self.product == 0
    }
}

/// Ranks one draw by the keys themselves, given an order in which only neighbours may stand wrong; ties are counted when there is a
/// place for them.
fn exactly(
    order: Vec<usize>,
    draw: usize,
    near: &mut [Near],
    mut ties: Option<&mut HashMap<Tie, u32>>,
) {
    let mut order: Vec<(u32, usize)> =
        order.into_iter().map(|product| (near[product].keys[draw], product)).collect();
    for end in 1..order.len() {
        let mut at = end;
        while at > 0 && order[at - 1].0 < order[at].0 {
            order.swap(at - 1, at);
            at -= 1;
        }
    }
    let mut top = 0_i16;
    for level in order.chunk_by(|a, b| a.0 == b.0) {
        // There are at most 32,767 products.
        let size = i16::try_from(level.len()).unwrap_or(i16::MAX);
        for (_, product) in level {
            near[*product].ranks[draw] = top;
            if let Some(ties) = ties.as_deref_mut().filter(|_| size > 1) {
                let product = i16::try_from(*product).unwrap_or(i16::MAX);
                *ties.entry(Tie { product, top, size }).or_default() += 1;
            }
        }
        top = top.saturating_add(size);
    }
}
