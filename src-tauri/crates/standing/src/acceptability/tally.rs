//! Ranks draw by draw, counted.

use std::collections::HashMap;

use crate::weighting::Weightings;

/// What was counted over some draws.
#[derive(Debug)]
pub(super) struct Tally {
    n: usize,
    /// Draws in which the product of the row has the rank of the column; products that are level share the better rank.
    pub(super) shared: Vec<u32>,
    /// Draws in which a product is one of several that are level.
    ties: HashMap<Tie, u32>,
    /// The draws in which each product is first or joint first, in order.
    firsts: Vec<Vec<u32>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Tie {
    product: u16,
    /// The best place that they take up, from 0.
    top: u16,
    /// How many are level.
    size: u16,
}

/// Ranks `n` products in all draws; `scores` holds all draws of the first product first.
pub(super) fn tally(scores: &[u32], n: usize, threads: usize) -> Tally {
    let draws = scores.len() / n;
    let share = draws.div_ceil(threads).max(1);
    let parts: Vec<Tally> = std::thread::scope(|scope| {
        let all: Vec<_> = (0..draws)
            .step_by(share)
            .map(|from| scope.spawn(move || count(scores, n, from..draws.min(from + share))))
            .collect();
        // A thread that panicked would have found a fault of the program, which goes on upwards.
        all.into_iter()
            .map(|it| it.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)))
            .collect()
    });
    let mut sum = Tally::new(n);
    for part in parts {
        sum.add(part);
    }
    sum
}

fn count(scores: &[u32], n: usize, range: std::ops::Range<usize>) -> Tally {
    let draws = scores.len() / n;
    let mut tally = Tally::new(n);
    let mut order: Vec<(u32, u16)> = Vec::with_capacity(n);
    for d in range {
        order.clear();
        order.extend((0..).zip(scores.chunks_exact(draws)).map(|(i, row)| (row[d], i)));
        order.sort_unstable_by(|a, b| b.cmp(a));
        tally.draw(d, &order);
    }
    tally
}

impl Tally {
    fn new(n: usize) -> Self {
        Tally { n, shared: vec![0; n * n], ties: HashMap::new(), firsts: vec![Vec::new(); n] }
    }

    /// Counts one draw, given its scores with their products, the best first.
    fn draw(&mut self, d: usize, order: &[(u32, u16)]) {
        let mut top = 0;
        for level in order.chunk_by(|a, b| a.0 == b.0) {
            for &(_, product) in level {
                self.shared[usize::from(product) * self.n + top] += 1;
                if top == 0 {
                    self.firsts[usize::from(product)].push(narrow(d));
                }
                if level.len() > 1 {
                    let [top, size] = [top, level.len()].map(narrow);
                    *self.ties.entry(Tie { product, top, size }).or_default() += 1;
                }
            }
            top += level.len();
        }
    }

    /// Takes in what was counted over the draws that follow.
    fn add(&mut self, other: Tally) {
        for (sum, it) in self.shared.iter_mut().zip(other.shared) {
            *sum += it;
        }
        for (tie, it) in other.ties {
            *self.ties.entry(tie).or_default() += it;
        }
        for (sum, it) in self.firsts.iter_mut().zip(other.firsts) {
            sum.extend(it);
        }
    }

    /// The mean of the weights of the draws in which product `i` is first.
    pub(super) fn central(&self, i: usize, weights: &Weightings) -> Option<Vec<f64>> {
        let firsts = &self.firsts[i];
        let mut sums = vec![0.0; weights.n_parts()];
        for &d in firsts {
            for (sum, weight) in sums.iter_mut().zip(weights.row(d as usize)) {
                *sum += weight;
            }
        }
        let count = firsts.len() as f64;
        (!firsts.is_empty()).then(|| sums.into_iter().map(|it| it / count).collect())
    }

    /// The counts with ties spread evenly over the places that they take up, and who was ever in one.
    pub(super) fn split(&self) -> (Vec<f64>, Vec<bool>) {
        let mut split: Vec<f64> = self.shared.iter().copied().map(f64::from).collect();
        let mut tied = vec![false; self.n];
        // In a fixed order, so that the sums round alike every time.
        let mut ties: Vec<(Tie, u32)> =
            self.ties.iter().map(|(tie, count)| (*tie, *count)).collect();
        ties.sort_unstable();
        for (Tie { product, top, size }, count) in ties {
            let (product, count) = (usize::from(product), f64::from(count));
            tied[product] = true;
            let at = product * self.n + usize::from(top);
            split[at] -= count;
            for it in &mut split[at..at + usize::from(size)] {
                *it += count / f64::from(size);
            }
        }
        (split, tied)
    }
}

/// Numbers that are known to fit: products are at most [`super::MOST_PRODUCTS`], and a draw takes up more than 4 bytes.
fn narrow<T: TryFrom<usize> + Default>(it: usize) -> T {
    T::try_from(it).unwrap_or_default()
}
