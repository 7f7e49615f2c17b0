//! The ranks of each product draw by draw, bit by bit, for whoever compares products with each other.
//!
//! Ranks below `n` take as many bits as `n - 1` has. Each bit has a plane of its own, in which the draws of a piece lie side by side,
//! so that one operation compares a bit of as many draws as a vector has bits.

use pulp::bytemuck::{cast_slice, cast_slice_mut};
use pulp::{Arch, Simd, WithSimd};

use super::keys::{BLOCK, STEP};
use super::level::Level;
use super::ranking::{Order, PIECE};

/// Draws of a plane: those of a piece.
const WIDE: usize = PIECE * BLOCK;
/// Words of a plane.
pub(super) const WORDS: usize = WIDE / 64;
const _: () = assert!(WORDS.is_multiple_of(8), "a plane is whole vectors, also of the widest");
/// Products whose planes lie side by side.
pub(super) const SIDE: usize = 4;
/// Rows of ranks that are turned into planes together: as many as a rank has bits.
const ROWS: usize = 16;
/// Draws of such a row.
const NEAR: usize = WIDE / ROWS;

/// One bit of the rank of a product in each draw of a piece; all planes have the draws in the same order, which is not their own.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
#[repr(align(64))]
pub(super) struct Plane(pub(super) [u64; WORDS]);

/// The same bit of products that follow each other.
pub(super) type Side = [Plane; SIDE];

/// How many planes a product has among `n`.
pub(super) fn depth(n: usize) -> usize {
    // There are at most 32,767 products.
    (usize::BITS - n.saturating_sub(1).leading_zeros()).max(1) as usize
}

/// The ranks of each product in the draws of a piece, before they are turned into planes.
pub(super) struct Sheets(Vec<Sheet>);

/// A row more than needed, since sheets that are a multiple of 1024 bytes apart would drive each other out of the nearest cache.
type Sheet = [Plane; ROWS + 1];

impl Sheets {
    pub(super) fn new(n: usize) -> Self {
        Sheets(vec![[Plane::default(); ROWS + 1]; n])
    }

    /// The planes of a piece, from the lowest bit up: those of the first products, then of the next ones, the last of which may be
    /// filled up with products that are always first. Products that are level share the better rank; beyond the last draw all ranks
    /// are alike, so that nobody wins there.
    pub(super) fn planes(&mut self, orders: &[Order], draws: usize, level: &[Level]) -> Vec<Side> {
        let Sheets(sheets) = self;
        let n = sheets.len();
        for (from, orders) in (0..draws).step_by(STEP).zip(orders.chunks_exact(n)) {
            let (row, near) = (from / NEAR, from % NEAR);
            for (place, order) in (0_u16..).zip(orders) {
                for (at, product) in (near..).zip(order) {
                    cast_slice_mut(&mut sheets[usize::from(*product)][row].0)[at] = place;
                }
            }
        }
        let mut set = |product: usize, draw: usize, rank: u16| {
            cast_slice_mut(&mut sheets[product][draw / NEAR].0)[draw % NEAR] = rank;
        };
        for level in level {
            set(usize::from(level.product), usize::from(level.draw), level.top);
        }
        for draw in draws..WIDE {
            (0..n).for_each(|it| set(it, draw, 0));
        }
        let depth = depth(n);
        let mut planes = vec![Side::default(); n.div_ceil(SIDE) * depth];
        for (sheets, planes) in sheets.chunks(SIDE).zip(planes.chunks_exact_mut(depth)) {
            Arch::new().dispatch(Turn { sheets, planes });
        }
        planes
    }
}

/// Turns rows of ranks into planes.
struct Turn<'a> {
    sheets: &'a [Sheet],
    planes: &'a mut [Side],
}

impl WithSimd for Turn<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        for (at, sheet) in self.sheets.iter().enumerate() {
            for word in 0..2 * WORDS / S::U32_LANES {
                let mut rows: [S::u32s; ROWS] =
                    std::array::from_fn(|it| vectors::<S>(&sheet[it])[word]);
                exchange::<S, 8>(simd, &mut rows, 0x00ff_00ff);
                exchange::<S, 4>(simd, &mut rows, 0x0f0f_0f0f);
                exchange::<S, 2>(simd, &mut rows, 0x3333_3333);
                exchange::<S, 1>(simd, &mut rows, 0x5555_5555);
                for (planes, row) in self.planes.iter_mut().zip(rows) {
                    S::as_mut_simd_u32s(cast_slice_mut(&mut planes[at].0)).0[word] = row;
                }
            }
        }
    }
}

#[inline(always)]
fn vectors<S: Simd>(plane: &Plane) -> &[S::u32s] {
    S::as_simd_u32s(cast_slice(&plane.0)).0
}

/// A step of exchanging rows and bits of squares of sixteen by sixteen, which lie side by side: the quarters of `APART` rows and bits
/// that are off the diagonal, in all squares of twice that size. The mask has the bits of the first quarters.
#[inline(always)]
fn exchange<S: Simd, const APART: usize>(simd: S, rows: &mut [S::u32s; ROWS], mask: u32) {
    #[expect(clippy::cast_possible_truncation, reason = "at most 8")]
    let (apart, mask) = (simd.splat_u32s(APART as u32), simd.splat_u32s(mask));
    for pair in 0..ROWS / 2 {
        let one = pair / APART * 2 * APART + pair % APART;
        let (a, b) = (rows[one], rows[one + APART]);
        let differ = simd.xor_u32s(simd.wrapping_dyn_shr_u32s(a, apart), b);
        let differ = simd.and_u32s(differ, mask);
        rows[one] = simd.xor_u32s(a, simd.wrapping_dyn_shl_u32s(differ, apart));
        rows[one + APART] = simd.xor_u32s(b, differ);
    }
}

/// The ranks of product `i`, from its planes.
#[cfg(test)]
pub(super) fn ranks(planes: &[Side], n: usize, i: usize) -> Vec<usize> {
    let mine = &planes[i / SIDE * depth(n)..][..depth(n)];
    let bit = |plane: &Side, draw: usize| {
        let row: &[u16] = cast_slice(&plane[i % SIDE].0);
        usize::from(row[draw % NEAR] >> (draw / NEAR) & 1)
    };
    (0..WIDE).map(|draw| (0..).zip(mine).map(|(k, plane)| bit(plane, draw) << k).sum()).collect()
}
