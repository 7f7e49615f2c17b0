//! Products that can never be among the first, whatever the weights.

use pulp::{Arch, Simd, WithSimd};

/// More criteria than this leave hardly a product that others beat in all of them.
const CRITERIA: usize = 8;
/// Products that are compared at once.
const LANES: usize = 16;

/// Leaves out the products that at least `depth` others beat in every criterion, by more than sums of f32 can be off; the order, the
/// greatest sum of points first, stays.
///
/// What beats a product has a greater sum, so it stands before it; and what was left out is itself beaten by `depth` that were not,
/// so it is enough to compare with those that stay.
pub(super) fn without_beaten(
    order: Vec<u32>,
    points: &[f32],
    weights: &[f32],
    criteria: usize,
    depth: usize,
) -> Vec<u32> {
    // With no weight at all, all products are level, and rank in their order.
    let no_weight = weights.chunks_exact(criteria).any(|row| row.iter().sum::<f32>() <= 0.0);
    if criteria > CRITERIA || no_weight {
        return order;
    }
    let most = points.iter().fold(0.0_f32, |most, it| most.max(*it));
    // A sum of c products is off by at most c units in the last place of the largest possible sum (N. J. Higham, Accuracy and
    // Stability of Numerical Algorithms, 2002, section 3.1), two of them by twice that; and twice that to be sure.
    let margin = most * 4.0 * criteria as f32 * f32::EPSILON;
    Arch::new().dispatch(Filter { order: &order, points, criteria, depth, margin })
}

struct Filter<'a> {
    order: &'a [u32],
    points: &'a [f32],
    criteria: usize,
    depth: usize,
    margin: f32,
}

impl WithSimd for Filter<'_> {
    type Output = Vec<u32>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Vec<u32> {
        let Filter { order, points, criteria, depth, margin } = self;
        let mut kept = Vec::new();
        // Criterion by criterion for each group of products that stay; a free lane beats nobody.
        let mut groups: Vec<[f32; LANES]> = Vec::new();
        for product in order {
            let row = &points[*product as usize * criteria..][..criteria];
            if is_beaten(&groups, row, margin, depth) {
                continue;
            }
            let lane = kept.len() % LANES;
            if lane == 0 {
                groups.resize(groups.len() + criteria, [f32::NEG_INFINITY; LANES]);
            }
            let start = groups.len() - criteria;
            for (group, x) in groups[start..].iter_mut().zip(row) {
                group[lane] = *x;
            }
            kept.push(*product);
        }
        kept
    }
}

/// Whether at least `depth` of the groups beat a row by more than the margin in every criterion.
#[inline(always)]
fn is_beaten(groups: &[[f32; LANES]], row: &[f32], margin: f32, depth: usize) -> bool {
    let mut count = 0;
    for group in groups.chunks_exact(row.len()) {
        let mut least = [f32::INFINITY; LANES];
        for (group, x) in group.iter().zip(row) {
            for (least, it) in least.iter_mut().zip(group) {
                let lead = it - x;
                *least = if lead < *least { lead } else { *least };
            }
        }
        count += least.iter().filter(|it| **it > margin).count();
        if count >= depth {
            return true;
        }
    }
    false
}
