//! The rank of each product draw by draw, for whoever compares products with each other.

use super::keys::BLOCK;
use super::ranking::{Level, Order};

/// The ranks of one product in the draws of a block, from 0. Signed, since vector units compare signed numbers.
pub(super) type Ranks = [i16; BLOCK];

/// Draws of which the ranks of all products fit into the nearest cache: rows of a block lie so far apart that they drive each other
/// out.
const NEAR: usize = 32;

/// A row a product and block: all products of the first block of draws, then of the second, ... Products that are level share the
/// better rank; beyond the last draw all ranks are alike, so that nobody wins there.
pub(super) fn ranks(orders: &[Order], n: usize, draws: usize, level: &[Level]) -> Vec<Ranks> {
    let mut near = vec![[0_i16; NEAR]; n];
    let mut rows = vec![[0; BLOCK]; n * draws.div_ceil(BLOCK)];
    for (rows, orders) in rows.chunks_exact_mut(n).zip(orders.chunks_exact(n)) {
        for from in (0..BLOCK).step_by(NEAR) {
            for (place, order) in (0_i16..).zip(orders) {
                for (at, product) in order[from..from + NEAR].iter().enumerate() {
                    near[usize::from(*product)][at] = place;
                }
            }
            for (row, near) in rows.iter_mut().zip(&near) {
                row[from..from + NEAR].copy_from_slice(near);
            }
        }
    }
    for level in level {
        let draw = usize::from(level.draw);
        // There are at most 32,767 products.
        let rank = i16::try_from(level.top).unwrap_or(i16::MAX);
        rows[draw / BLOCK * n + usize::from(level.product)][draw % BLOCK] = rank;
    }
    let last = draws % BLOCK;
    if last > 0 {
        for row in &mut rows[draws / BLOCK * n..] {
            row[last..].fill(0);
        }
    }
    rows
}
