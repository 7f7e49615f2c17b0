//! The first few of many products in every draw, without ranking the rest.
//!
//! Products are taken in the order of their mean points, so that the leading ones soon say what a product must score to be among the
//! first. Where the processor multiplies whole numbers of eight bits by fours, [`octets`] leaves a
//! few dozen products of each draw, and `few` puts them in order; otherwise `tiles` scores all of them in f32. Both
//! come to the same, product for product.

use octets::{DEEPEST, DRAWS, PART, Points, Scale, Sieve};
use pulp::{Arch, Simd, WithSimd};

use super::beaten::without_beaten;
use super::few::{Few, Memory};
use super::mix::{BadMix, checked};
use super::normal::low;
use super::tiles::Tiles;
use crate::chunks::{in_chunks, in_chunks_with};

/// Draws that are worked on in one piece: whole blocks of draws for both ways.
const PIECE: usize = 128;
/// Products that one thread adds up before it takes the next ones.
const SUMMED: usize = 1024;
/// Places that are counted, each by itself since what one takes fits the nearest cache, before they are turned into rows.
const TURNED: usize = 4;

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
    let n = checked(points, criteria)?;
    checked(weights, criteria)?;
    let depth = depth.max(1);
    let sieve = depth <= DEEPEST && octets::is_there();
    Ok(top_by(sieve, points, weights, [n, criteria, depth, threads]))
}

/// [`top`] in one of the two ways.
pub(super) fn top_by(
    sieve: bool,
    points: &[f32],
    weights: &[f32],
    sizes @ [_, criteria, _, threads]: [usize; 4],
) -> Top {
    let names = order(points, weights, sizes);
    let rows = names.iter().map(|it| &points[*it as usize * criteria..][..criteria]);
    if sieve {
        let way = Sieved {
            octets: in_octets(points, criteria, &names, threads),
            few: Few::new(points, criteria, &names),
        };
        counted(&way, weights, sizes)
    } else {
        counted(&Tiles::new(&names, rows, criteria), weights, sizes)
    }
}

/// The points of some products in eight bits.
fn in_octets(points: &[f32], criteria: usize, names: &[u32], threads: usize) -> Points {
    let parts: Vec<&[f32]> = points.chunks(SUMMED * criteria).collect();
    let ends = in_chunks(parts.len(), threads, |part| Scale::of(parts[part]));
    let scale = ends.into_iter().reduce(Scale::or).unwrap_or(Scale::of(&[]));
    let parts: Vec<&[u32]> = names.chunks(PART).collect();
    let tiles = |part: usize| scale.tiles(points, criteria, parts[part]);
    scale.points(criteria, in_chunks(parts.len(), threads, tiles))
}

/// Which products can be among the first, the greatest sum of points first.
fn order(points: &[f32], weights: &[f32], [_, criteria, depth, threads]: [usize; 4]) -> Vec<u32> {
    // The bits of sums from 0 up compare as they do; in one number with the product they are sorted without a branch.
    let rows: Vec<&[f32]> = points.chunks(SUMMED * criteria).collect();
    let sums = in_chunks(rows.len(), threads, |chunk| {
        let rows = rows[chunk].chunks_exact(criteria);
        let products = (chunk * SUMMED) as u64..;
        let one = |(product, row)| u64::from(!sum(row).to_bits()) << 32 | product;
        products.zip(rows).map(one).collect::<Vec<_>>()
    });
    let mut sums: Vec<u64> = sums.concat();
    sums.sort_unstable();
    let order: Vec<u32> = sums.into_iter().map(low).collect();
    without_beaten(order, points, weights, criteria, depth)
}

/// The sum of a row, in sums of their own for neighbours.
fn sum(row: &[f32]) -> f32 {
    const SIDE: usize = 8;
    let (full, rest) = row.as_chunks::<SIDE>();
    let mut sums = [0.0; SIDE];
    for part in full {
        for (sum, x) in sums.iter_mut().zip(part) {
            *sum += x;
        }
    }
    sums.iter().chain(rest).sum()
}

/// A way to find the first products of draws.
pub(super) trait Way: Sync {
    /// What a thread works with.
    type Memory: Send;

    fn memory(&self) -> Self::Memory;

    /// Tallies the first products of some draws.
    fn tally(&self, weights: &[f32], memory: &mut Self::Memory, tally: &mut Tally);
}

/// What a thread finds in a piece of draws.
pub(super) struct Tally {
    depth: usize,
    draws: usize,
    /// Draws that were tallied.
    done: usize,
    /// The products at each place, draw by draw.
    places: Vec<u32>,
}

impl Tally {
    pub(super) fn depth(&self) -> usize {
        self.depth
    }

    /// Tallies the products of the next draw, the first one first.
    #[inline(always)]
    pub(super) fn add(&mut self, products: impl Iterator<Item = u32>) {
        for (place, product) in
            self.places[self.done..].iter_mut().step_by(self.draws).zip(products)
        {
            *place = product;
        }
        self.done += 1;
    }
}

fn counted<W: Way>(way: &W, weights: &[f32], [n, criteria, depth, threads]: [usize; 4]) -> Top {
    let pieces: Vec<&[f32]> = weights.chunks(PIECE * criteria).collect();
    let places = depth.min(n);
    let (pieces, _) = in_chunks_with(
        pieces.len(),
        threads,
        || way.memory(),
        |memory, piece| {
            let draws = pieces[piece].len() / criteria;
            let mut tally = Tally { depth, draws, done: 0, places: vec![0; draws * places] };
            way.tally(pieces[piece], memory, &mut tally);
            (draws, tally.places)
        },
    );
    let columns = in_chunks(places.div_ceil(TURNED), threads, |column| {
        let turned = column * TURNED..places.min((column + 1) * TURNED);
        let mut by_place = vec![0_u32; n * turned.len()];
        for (place, counts) in turned.zip(by_place.chunks_exact_mut(n)) {
            for (draws, products) in &pieces {
                for product in &products[place * draws..][..*draws] {
                    counts[*product as usize] += 1;
                }
            }
        }
        by_place
    });
    let mut counts = vec![0; n * depth];
    for (column, by_place) in columns.iter().enumerate() {
        let from = column * TURNED;
        for (product, counts) in counts.chunks_exact_mut(depth).enumerate() {
            for (count, it) in counts[from..].iter_mut().zip(by_place[product..].iter().step_by(n))
            {
                *count = *it;
            }
        }
    }
    let firsts = pieces.iter().flat_map(|(draws, products)| &products[..*draws]).copied().collect();
    Top { depth, counts, firsts }
}

/// Whole scores of eight bits first, then the order of what they leave.
pub(super) struct Sieved<'a> {
    octets: Points,
    few: Few<'a>,
}

impl Way for Sieved<'_> {
    type Memory = (Sieve, Memory);

    fn memory(&self) -> Self::Memory {
        (Sieve::new(&self.octets), Memory::default())
    }

    fn tally(&self, weights: &[f32], memory: &mut Self::Memory, tally: &mut Tally) {
        Arch::new().dispatch(Find { way: self, weights, memory, tally });
    }
}

struct Find<'a> {
    way: &'a Sieved<'a>,
    weights: &'a [f32],
    memory: &'a mut (Sieve, Memory),
    tally: &'a mut Tally,
}

impl WithSimd for Find<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Find { way: Sieved { octets, few }, weights, memory, tally } = self;
        let (sieve, memory) = memory;
        for block in weights.chunks(DRAWS * few.criteria) {
            let reached = sieve.look(octets, block.chunks_exact(few.criteria), tally.depth);
            few.tally(simd, block, reached, memory, tally);
        }
    }
}
