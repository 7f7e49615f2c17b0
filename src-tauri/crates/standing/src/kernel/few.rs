//! The order of the few products of a draw that can be among the first.
//!
//! Sums of sixteen lanes are quick, but round in another order than [`super::tiles`] does. Where all leads are larger than both
//! roundings together, the order of the two is the same; where one is not, scores are added up as there.

use octets::DEEPEST;
use pulp::Simd;
use pulp::bytemuck::cast_slice;

/// The most products that are compared all with all.
const MOST: usize = 128;
/// As many numbers as a vector has at most.
const SIDE: usize = 16;

/// The points of all products.
pub(super) struct Few<'a> {
    pub(super) points: &'a [f32],
    /// At least as many as a vector has lanes.
    pub(super) criteria: usize,
    /// The rows of the products, which are level in this order, by their numbers.
    pub(super) names: &'a [u32],
}

/// What a thread works with.
#[derive(Default)]
pub(super) struct Memory {
    scores: Vec<f32>,
    exact: Vec<(f32, u32)>,
}

impl Few<'_> {
    #[inline(always)]
    fn row(&self, product: u32) -> &[f32] {
        let from = self.names[product as usize] as usize * self.criteria;
        &self.points[from..from + self.criteria]
    }

    /// Puts products of a draw, given by their numbers, in order and leaves the names of the first `depth` of them, at most
    /// [`DEEPEST`]; of those that are level, the one with the lower name is before the other.
    #[inline(always)]
    pub(super) fn arrange<S: Simd>(
        &self,
        simd: S,
        weights: &[f32],
        products: &mut Vec<u32>,
        depth: usize,
        Memory { scores, exact }: &mut Memory,
    ) {
        let mut order = [0; DEEPEST + 1];
        if products.len() <= MOST
            && self.is_clear(simd, weights, products, scores, &mut order[..=depth])
        {
            let few = products.len().min(depth);
            products.clear();
            products.extend_from_slice(&order[..few]);
        } else {
            exact.clear();
            for product in products.iter() {
                let mut sum = 0.0;
                for (x, w) in self.row(*product).iter().zip(weights) {
                    sum = x.mul_add(*w, sum);
                }
                exact.push((sum, self.names[*product as usize]));
            }
            exact.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            products.clear();
            products.extend(exact.iter().take(depth).map(|it| it.1));
        }
    }

    /// Finds the first products, and one more, by quick scores; whether their order, and that they are the first, is beyond doubt.
    #[inline(always)]
    fn is_clear<S: Simd>(
        &self,
        simd: S,
        weights: &[f32],
        products: &[u32],
        scores: &mut Vec<f32>,
        order: &mut [u32],
    ) -> bool {
        let lanes = S::F32_LANES;
        let (w, rest) = S::as_simd_f32s(weights);
        // The last vector begins before the end of the one before it, where its weights are 0.
        let mut last = [0.0; SIDE];
        last[lanes - rest.len()..lanes].copy_from_slice(rest);
        let last = S::as_simd_f32s(&last).0[0];
        scores.clear();
        for product in products {
            let row = self.row(*product);
            let mut sums = simd.mul_f32s(S::as_simd_f32s(&row[row.len() - lanes..]).0[0], last);
            for (x, w) in S::as_simd_f32s(row).0.iter().zip(w) {
                sums = simd.mul_add_e_f32s(*x, *w, sums);
            }
            scores.push(simd.reduce_sum_f32s(sums));
        }
        // What fills up the last vector is before nobody.
        scores.resize(scores.len().next_multiple_of(SIDE), -1.0);
        // A place that nobody takes, since others share a better one, leaves doubt.
        let mut ranked = [f32::INFINITY; DEEPEST + 1];
        let ranked = &mut ranked[..order.len()];
        let (none, one) = (simd.splat_f32s(0.0), simd.splat_f32s(1.0));
        let (fours, _) = scores.as_chunks::<4>();
        for (from, own) in (0..).step_by(lanes).zip(S::as_simd_f32s(scores).0) {
            // Who is before each of these, in sums of which none waits for the one before.
            let mut before = [none; 4];
            for four in fours {
                for (before, it) in before.iter_mut().zip(four) {
                    let is_before = simd.greater_than_f32s(simd.splat_f32s(*it), *own);
                    *before = simd.add_f32s(*before, simd.select_f32s(is_before, one, none));
                }
            }
            let [a, b, c, d] = before;
            let before = [simd.add_f32s(simd.add_f32s(a, b), simd.add_f32s(c, d))];
            for (at, rank) in (from..products.len()).zip(cast_slice::<S::f32s, f32>(&before)) {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a count"
                )]
                let rank = *rank as usize;
                if rank < ranked.len() {
                    (order[rank], ranked[rank]) = (self.names[products[at] as usize], scores[at]);
                }
            }
        }
        // A sum is off by at most as many roundings as there are on the way of a product through it (N. J. Higham, Accuracy and
        // Stability of Numerical Algorithms, 2002, section 3.1), and no way is longer than there are criteria, nor than a vector and a
        // few. Two scores are off, by two sums each, and a rounding is half a unit in the last place; where numbers have no full
        // precision any more, nothing is clear.
        let most = self.criteria + self.criteria / S::F32_LANES + S::F32_LANES.ilog2() as usize + 2;
        let doubt = ranked[0] * most as f32 * f32::EPSILON + f32::MIN_POSITIVE;
        let last = products.len().min(ranked.len()) - 1;
        ranked[..=last].windows(2).all(|it| it[0] - it[1] > doubt)
    }
}
