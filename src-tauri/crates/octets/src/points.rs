//! Points and weights as whole numbers of eight bits, and by how much scores made of them can be wrong.
//!
//! A point is `x = c + g (y + r)` with `y` from -127 to 127, `c` the middle of all points and `g` a share of their span; a weight is
//! `w = u q + e` with `q` from 0 to 255 and `u` a share of the largest weight of its draw. So a score is
//!
//! ```text
//! sum w x = c sum w + g u sum q y + g (sum e y + sum w r)
//! ```
//!
//! The first term is the same for all products of a draw, the second is the whole number that is computed, and of the last all but
//! `y` is known: `|sum e y|` is at most 127 times the sum of `|e|`, and, after Cauchy and Schwarz, at most the length of `e` times that
//! of the longest row of `y`; `|r|` is measured over the table. What is known of one product's whole number so holds for its score
//! within a margin that is the same for all products of a draw.

use std::slice::ChunksExact;

use pulp::{Arch, Simd, WithSimd};

/// Criteria of which the points of a product stand side by side.
pub(crate) const QUAD: usize = 4;
/// Products of which the points stand side by side.
pub(crate) const LANES: usize = 16;
/// Groups of products of a tile.
pub(crate) const TALL: usize = 6;

/// Four points of each of sixteen products, at the start of a cache line.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
pub(crate) struct Group(pub(crate) [[i8; QUAD]; LANES]);

/// The largest whole number that a point becomes.
const MOST: f32 = 127.0;
/// What the largest weight of a draw becomes.
const HEAVIEST: f32 = 255.0;

/// Where numbers begin to be whole: from here on their last bits count in ones.
const WHOLE: f32 = (1 << 23) as f32;
/// The same for numbers below 0.
const SIGNED: f32 = 1.5 * WHOLE;

/// Products of a part of [`Points`], except for the last one: whole tiles.
pub const PART: usize = 8 * TALL * LANES;

/// The ends of the scale of points.
#[derive(Debug, Clone, Copy)]
pub struct Scale {
    low: f32,
    high: f32,
}

/// Points of some products as whole numbers.
#[derive(Debug)]
pub struct Part {
    products: usize,
    tiles: Vec<Group>,
    /// The largest distance of a point from its whole number, in units.
    off: f32,
    /// The square of the length of the longest row.
    longest: f64,
}

/// The points of all products.
#[derive(Debug)]
pub struct Points {
    /// Fours of criteria.
    pub(crate) quads: usize,
    pub(crate) products: usize,
    /// All groups of a tile for the first four criteria, then for the next, ...; then the next tile. What fills up the last tile is
    /// lower than every product.
    pub(crate) tiles: Vec<Group>,
    /// The largest distance of a point from its whole number, in units.
    off: f64,
    /// The length of the longest row of whole numbers.
    longest: f64,
    /// How far a score in f32 can be off, in units: for a sum of weights of 1, and however small they are.
    rounding: f64,
    smallest: f64,
}

impl Scale {
    /// Of points, which are finite and from 0 up.
    #[must_use]
    pub fn of(points: &[f32]) -> Self {
        Arch::new().dispatch(Ends(points))
    }

    /// Of two that hold for some points each, the one that holds for all of them.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Scale { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    /// The whole numbers of some products, at most [`PART`], in the order of their `names`; `points` are all points, rows of
    /// `criteria` (at least one), a row a product.
    #[must_use]
    pub fn tiles(self, points: &[f32], criteria: usize, names: &[u32]) -> Part {
        Arch::new().dispatch(Make { scale: self, points, criteria, names })
    }

    /// All parts, in their order; each but the last has [`PART`] products.
    ///
    /// # Panics
    /// When one has not, since it would not be whole tiles.
    #[must_use]
    pub fn points(self, criteria: usize, parts: Vec<Part>) -> Points {
        assert!(parts.iter().rev().skip(1).all(|it| it.products == PART));
        let (mut off, mut longest) = (0.0_f32, 0.0_f64);
        for it in &parts {
            (off, longest) = (off.max(it.off), longest.max(it.longest));
        }
        // Roundings of numbers up to 127 are far below the first of these; those of sums are counted by the criteria.
        let off = f64::from(off) + 1e-4;
        let units_last = criteria as f64 * f64::from(f32::EPSILON);
        let longest = longest.sqrt() * (1.0 + units_last);
        let unit = f64::from(self.unit());
        // A sum of c products is off by at most c units in the last place of itself, however it is added up and whether products are
        // rounded too (N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2002, section 3.1), and where numbers have no
        // full precision any more, by 2 c of the smallest number.
        let rounding = units_last * f64::from(self.high) / unit;
        let smallest = 2.0 * criteria as f64 * f64::from(f32::from_bits(1)) / unit;
        let products = parts.iter().map(|it| it.products).sum();
        let tiles = parts.into_iter().flat_map(|it| it.tiles).collect();
        Points { quads: criteria.div_ceil(QUAD), products, tiles, off, longest, rounding, smallest }
    }

    fn centre(self) -> f32 {
        self.low / 2.0 + self.high / 2.0
    }

    /// What a step of the whole numbers is worth.
    fn unit(self) -> f32 {
        ((self.high - self.low) / 2.0 / MOST).max(f32::MIN_POSITIVE)
    }
}

impl Points {
    pub(crate) fn tiles(&self) -> ChunksExact<'_, Group> {
        self.tiles.chunks_exact(self.quads * TALL)
    }

    /// Writes the weights of a draw as whole numbers. Whoever has a whole score that is lower than that of another product by more
    /// than twice the margin that is returned has a lower score in f32 as well.
    ///
    /// In f32, in as many sums as a vector has lanes.
    #[inline(always)]
    pub(crate) fn weights(&self, row: &[f32], octets: &mut [[u8; QUAD]]) -> i32 {
        let (full, rest) = row.as_chunks::<LANES>();
        let mut last = [0.0; LANES];
        last[..rest.len()].copy_from_slice(rest);
        let parts = full.iter().chain([&last]);
        let mut most = [0.0_f32; LANES];
        for part in parts.clone() {
            for l in 0..LANES {
                most[l] = if part[l] > most[l] { part[l] } else { most[l] };
            }
        }
        // Any unit will do; this one does not vanish where numbers have no full precision any more.
        let unit =
            (folded(most, |a, b| if a > b { a } else { b }) / HEAVIEST).max(f32::MIN_POSITIVE);
        let units = 1.0 / unit;
        let (mut sum, mut apart, mut square) =
            ([0.0_f32; LANES], [0.0_f32; LANES], [0.0_f32; LANES]);
        for (part, octets) in parts.zip(octets.as_flattened_mut().chunks_mut(LANES)) {
            let mut whole = [0.0_f32; LANES];
            for l in 0..LANES {
                whole[l] = part[l] * units + WHOLE;
                let e = (WHOLE - whole[l]).mul_add(unit, part[l]) * units;
                sum[l] += part[l];
                apart[l] += e.abs();
                square[l] = e.mul_add(e, square[l]);
            }
            for (octet, whole) in octets.iter_mut().zip(&whole) {
                #[expect(clippy::cast_possible_truncation, reason = "at most 255")]
                let q = whole.to_bits() as u8;
                *octet = q;
            }
        }
        let [sum, apart, square] =
            [sum, apart, square].map(|it| f64::from(folded(it, |a, b| a + b)));
        let by_weights = (f64::from(MOST) * apart).min(self.longest * square.sqrt());
        let by_points = ((self.off + self.rounding) * sum + self.smallest) / f64::from(unit);
        // Every sum is off by at most as many units in the last place as there are weights, and all else by far less than one.
        let rounded = 1.0 + (row.len() + 2) as f64 * f64::from(f32::EPSILON);
        #[expect(clippy::cast_possible_truncation, reason = "beyond i32 the largest one is meant")]
        let margin = ((by_weights + by_points) * rounded + 1.0) as i32;
        margin
    }
}

/// All lanes in one number, by halves: in a chain each would wait for the one before.
#[inline(always)]
fn folded(mut lanes: [f32; LANES], join: impl Fn(f32, f32) -> f32) -> f32 {
    for half in [LANES / 2, LANES / 4, LANES / 8, LANES / 16] {
        for l in 0..half {
            lanes[l] = join(lanes[l], lanes[l + half]);
        }
    }
    lanes[0]
}

/// Makes a [`Part`].
struct Make<'a> {
    scale: Scale,
    points: &'a [f32],
    criteria: usize,
    names: &'a [u32],
}

impl WithSimd for Make<'_> {
    type Output = Part;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Part {
        let Make { scale, points, criteria, names } = self;
        let (centre, units) = (scale.centre(), 1.0 / scale.unit());
        let (quads, tile) = (criteria.div_ceil(QUAD), TALL * LANES);
        let least = Group([[i8::MIN + 1; QUAD]; LANES]);
        let mut tiles = vec![least; names.len().div_ceil(tile) * quads * TALL];
        let mut octets = vec![0_i8; quads * QUAD];
        let (mut off, mut longest) = ([0.0_f32; LANES], 0.0_f64);
        for (at, name) in names.iter().enumerate() {
            let row = &points[*name as usize * criteria..][..criteria];
            let (full, rest) = row.as_chunks::<LANES>();
            // Beyond the last criterion there is no weight.
            let mut last = [centre; LANES];
            last[..rest.len()].copy_from_slice(rest);
            let mut square = [0.0_f32; LANES];
            for (part, octets) in full.iter().chain([&last]).zip(octets.chunks_mut(LANES)) {
                let mut whole = [0.0_f32; LANES];
                for l in 0..LANES {
                    let x = (part[l] - centre) * units;
                    whole[l] = x + SIGNED;
                    let y = whole[l] - SIGNED;
                    let apart = (x - y).abs();
                    off[l] = if apart > off[l] { apart } else { off[l] };
                    square[l] = y.mul_add(y, square[l]);
                }
                for (octet, whole) in octets.iter_mut().zip(&whole) {
                    #[expect(clippy::cast_possible_truncation, reason = "from -127 to 127")]
                    let y = whole.to_bits() as u8;
                    *octet = y.cast_signed();
                }
            }
            longest = longest.max(square.iter().map(|it| f64::from(*it)).sum());
            let groups = &mut tiles[at / tile * quads * TALL + at % tile / LANES..];
            for (group, quad) in groups.iter_mut().step_by(TALL).zip(octets.as_chunks().0) {
                group.0[at % LANES] = *quad;
            }
        }
        Part { products: names.len(), tiles, off: off.into_iter().fold(0.0, f32::max), longest }
    }
}

/// Finds the lowest and the highest point.
struct Ends<'a>(&'a [f32]);

impl WithSimd for Ends<'_> {
    type Output = Scale;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Scale {
        let (mut low, mut high) = ([f32::INFINITY; LANES], [0.0_f32; LANES]);
        let (full, rest) = self.0.as_chunks::<LANES>();
        for part in full {
            for l in 0..LANES {
                low[l] = if part[l] < low[l] { part[l] } else { low[l] };
                high[l] = if part[l] > high[l] { part[l] } else { high[l] };
            }
        }
        let (low, high) = (low.iter().chain(rest), high.iter().chain(rest));
        Scale {
            low: low.copied().fold(f32::INFINITY, f32::min),
            high: high.copied().fold(0.0, f32::max),
        }
    }
}
