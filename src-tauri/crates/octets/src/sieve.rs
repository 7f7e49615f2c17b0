//! Which of many products can be among the first in a draw, by whole scores of eight bits.
//!
//! Processors that multiply eight-bit numbers by fours do in one instruction what takes four in f32. The whole scores of the leading
//! products, in groups, give each draw a score that at least as many products reach as are asked for: the maxima of the groups are
//! scores of different products. Whoever stays below it by more than twice the margin of [`Points`] cannot be among the first;
//! a few dozen of ten thousand are left. The sum of a draw fits 32 bits for up to 66,000 criteria.

use crate::points::{LANES, Points, QUAD, TALL};

/// Draws that are worked on while a tile of points is in the nearest cache.
pub const DRAWS: usize = 64;
/// The most places that can be asked for: as many as there are groups of leading products.
pub const DEEPEST: usize = TALL * LANES;

/// Groups of bits of a tile and a draw: as many as fill up words.
pub(crate) const CELL: usize = TALL.next_multiple_of(4);
/// Bits of them.
const CELL_BITS: usize = CELL * LANES;

/// Memory for a block of draws, looked through together.
#[derive(Debug)]
pub struct Sieve {
    way: Way,
    held: Held,
}

/// What is held of a block of draws.
#[derive(Debug)]
pub(crate) struct Held {
    /// Whole weights, a row a draw.
    pub(crate) weights: Vec<[u8; QUAD]>,
    pub(crate) margins: [i32; DRAWS],
    /// A bit a product: whether it can be among the first, in the order of a way.
    pub(crate) reached: Vec<u64>,
    /// The numbers of the bits that are set.
    pub(crate) found: Vec<u32>,
}

/// How whole scores are made and looked through.
#[derive(Debug)]
pub(crate) enum Way {
    /// Not at all: everything can be among the first.
    None,
    /// Groups of a tile, then draws, then tiles.
    #[cfg(target_arch = "x86_64")]
    Fours,
    /// As [`amx`](crate::amx) says.
    #[cfg(target_arch = "x86_64")]
    Matrices(crate::amx::Matrices),
}

/// A product, by its place, that can be among the first in a draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reached {
    /// Which draw of those that were looked through.
    pub draw: usize,
    /// Which product, in the order of the points.
    pub product: usize,
}

impl Sieve {
    /// Memory for these points.
    #[must_use]
    pub fn new(points: &Points) -> Self {
        let mut ways = Way::all(points);
        Sieve::by(ways.pop().unwrap_or(Way::None), points)
    }

    /// The same for one way of those that are there.
    pub(crate) fn by(way: Way, points: &Points) -> Self {
        let tiles = points.tiles().len();
        Sieve {
            way,
            held: Held {
                weights: vec![[0; QUAD]; DRAWS * points.quads],
                margins: [0; DRAWS],
                reached: vec![0; tiles * DRAWS * CELL_BITS / u64::BITS as usize],
                found: Vec::new(),
            },
        }
    }

    /// Looks through up to [`DRAWS`] draws for what can be among the first `depth` products, at least 1; beyond [`DEEPEST`] everything
    /// can. Products come in no order, but for most part the leading ones first.
    #[inline(always)]
    pub fn look<'a>(
        &mut self,
        points: &Points,
        rows: impl Iterator<Item = &'a [f32]>,
        depth: usize,
    ) -> impl Iterator<Item = Reached> + Clone {
        let mut draws = 0;
        let Held { weights, margins, .. } = &mut self.held;
        for ((row, weights), margin) in
            rows.zip(weights.chunks_exact_mut(points.quads)).zip(margins)
        {
            *margin = points.weights(row, weights);
            draws += 1;
        }
        let of_bit = self.dispatch(points, depth, draws);
        // The last tile may be filled up with what is no product.
        let products = points.products;
        let found = self.held.found.iter().map(move |it| of_bit.of(*it as usize));
        found.filter(move |it| it.product < products)
    }

    fn dispatch(&mut self, points: &Points, depth: usize, draws: usize) -> Bits {
        let Sieve { way, held } = self;
        match way {
            #[cfg(target_arch = "x86_64")]
            Way::Fours if depth <= DEEPEST => {
                #[expect(unsafe_code, reason = "compiled for more than every processor has")]
                // SAFETY: there is such a way only where the processor has all that the function was compiled for.
                unsafe {
                    crate::vnni::look(points, depth, draws, held);
                }
                Bits::Rows
            }
            #[cfg(target_arch = "x86_64")]
            Way::Matrices(matrices) if depth <= DEEPEST => {
                #[expect(unsafe_code, reason = "compiled for more than every processor has")]
                // SAFETY: as above.
                unsafe {
                    crate::amx::look(points, depth, draws, held, matrices);
                }
                Bits::Packed
            }
            _ => {
                all(points, draws, &mut held.found);
                Bits::Rows
            }
        }
    }
}

impl Way {
    /// The ways that there are here, the quickest last.
    pub(crate) fn all(points: &Points) -> Vec<Way> {
        let mut ways = vec![Way::None];
        #[cfg(target_arch = "x86_64")]
        if is_there() {
            ways.push(Way::Fours);
            ways.extend(crate::amx::Matrices::new(points).map(Way::Matrices));
        }
        #[cfg(not(target_arch = "x86_64"))]
        let _ = points;
        ways
    }
}

/// In which order bits stand.
#[derive(Debug, Clone, Copy)]
enum Bits {
    /// Groups of a tile, then draws, then tiles.
    Rows,
    #[cfg(target_arch = "x86_64")]
    Packed,
}

impl Bits {
    /// Which product and draw a bit is of.
    #[inline(always)]
    fn of(self, bit: usize) -> Reached {
        match self {
            Bits::Rows => {
                let (cell, lane) = (bit / CELL_BITS, bit % CELL_BITS);
                Reached { draw: cell % DRAWS, product: cell / DRAWS * TALL * LANES + lane }
            }
            #[cfg(target_arch = "x86_64")]
            Bits::Packed => crate::amx::of_bit(bit),
        }
    }
}

/// Whether the processor can do it. Where it cannot, everything can be among the first.
#[must_use]
pub fn is_there() -> bool {
    #[cfg(target_arch = "x86_64")]
    let is_there = std::arch::is_x86_feature_detected!("avx512f")
        && std::arch::is_x86_feature_detected!("avx512cd")
        && std::arch::is_x86_feature_detected!("popcnt")
        && std::arch::is_x86_feature_detected!("avx512vnni");
    #[cfg(not(target_arch = "x86_64"))]
    let is_there = false;
    is_there
}

/// Whether the processor multiplies matrices of eight-bit numbers, and the system lends their registers.
#[must_use]
pub fn has_matrices() -> bool {
    #[cfg(target_arch = "x86_64")]
    let has = is_there() && crate::amx::is_there();
    #[cfg(not(target_arch = "x86_64"))]
    let has = false;
    has
}

/// Everything can be among the first.
fn all(points: &Points, draws: usize, found: &mut Vec<u32>) {
    found.clear();
    for (tile, from) in (0..points.products).step_by(TALL * LANES).enumerate() {
        for draw in 0..draws {
            let first = (tile * DRAWS + draw) * CELL_BITS;
            let lanes = (points.products - from).min(TALL * LANES);
            #[expect(clippy::cast_possible_truncation, reason = "of up to 50 million products")]
            found.extend((first..first + lanes).map(|it| it as u32));
        }
    }
}
