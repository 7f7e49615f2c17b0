//! Products that share a rank, and those that only look as if they did.

use std::collections::HashMap;
use std::ops::Range;

use super::keys::Keys;
use super::ranking::Order;

/// A product that is level with the one at a better place, whose rank it shares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Level {
    /// In which draw of the piece.
    pub(super) draw: u16,
    /// Which product.
    pub(super) product: u16,
    /// Where it stands.
    pub(super) place: u16,
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

/// A draw, in an order in which only neighbours may stand wrong.
pub(super) struct Draw<'a> {
    /// The keys of all products, and who is at each place, in the draws of a step.
    pub(super) keys: &'a [Keys],
    pub(super) orders: &'a mut [Order],
    /// Which draw of the step.
    pub(super) lane: usize,
    /// Which draw of the piece.
    pub(super) draw: usize,
}

impl Draw<'_> {
    /// Puts the products at some places in order by their keys, and notes who is level. Those that are level stand from the last
    /// product to the first.
    pub(super) fn settle(
        &mut self,
        places: Range<usize>,
        level: &mut Vec<Level>,
        ties: &mut HashMap<Tie, u32>,
    ) {
        let lane = self.lane;
        let key = |product: u16| self.keys[usize::from(product)][lane];
        let mut run: Vec<(u32, u16)> =
            self.orders[places.clone()].iter().map(|it| (key(it[lane]), it[lane])).collect();
        run.sort_unstable_by(|a, b| b.cmp(a));
        for (order, (_, product)) in self.orders[places.clone()].iter_mut().zip(&run) {
            order[lane] = *product;
        }
        // There are at most 32,767 products, and far fewer draws in a piece.
        let short = |it: usize| u16::try_from(it).unwrap_or(u16::MAX);
        let mut top = places.start;
        for group in run.chunk_by(|a, b| a.0 == b.0) {
            if group.len() > 1 {
                for (place, (_, product)) in (top..).zip(group) {
                    let tie = Tie { product: *product, top: short(top), size: short(group.len()) };
                    *ties.entry(tie).or_default() += 1;
                    if place > top {
                        let [draw, place, top] = [self.draw, place, top].map(short);
                        level.push(Level { draw, product: *product, place, top });
                    }
                }
            }
            top += group.len();
        }
    }
}
