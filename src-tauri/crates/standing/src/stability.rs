//! How far weights may move before another product is first.
//!
//! Exact for an index that is a weighted sum: the lead of the first product over a rival is linear in the weights, so
//! every limit is a quotient. With winner a, rival j, `d = x_a - x_j` and the lead `D = w d`:
//!
//! - one weight changed, the others rescaled in proportion: `D + t (d_k - R_k)` with `R_k` the mean of the other `d`
//!   under their weights; level at `t = -D / (d_k - R_k)` (E. Triantaphyllou, A. Sanchez, *A Sensitivity Analysis
//!   Approach for Some Deterministic Multi-Criteria Decision-Making Methods*, Decision Sciences 28 (1997) 151-194);
//! - the least weight that must move, wherever it comes from: a linear programme that a greedy choice solves;
//! - the shortest move in the plane of weights: `-D (d - mean d) / |d - mean d|^2`, where that leaves no weight below
//!   0.

mod shift;

pub use self::shift::Move;
use crate::rank::quantise;

/// Differences of weights below this are rounding.
const LEVEL: f64 = 1e-12;
/// Differences of points below this are rounding; a thousandth of what [`quantise`] keeps apart.
const LEVEL_POINTS: f64 = 1e-9;

/// How stable the first place is. Lists of products and of weights are in the order given; all places count from 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Stability {
    /// The product that is first; the earliest of those level with each other.
    pub winner: usize,
    /// For each weight, where the winner stays first.
    pub intervals: Vec<WeightInterval>,
    /// For each product, the least weight (a fraction) that must move until it is level with the winner; `None` for
    /// the winner itself and for a product that no weights bring level.
    pub smallest_shift: Vec<Option<f64>>,
    /// How that weight moves; also `None` for a product that is level already.
    pub moves: Vec<Option<Move>>,
    /// For each product, the Euclidean length of the shortest move of weights that brings it level; `None` also where
    /// that move would leave a weight below 0.
    pub shortest: Vec<Option<f64>>,
}

/// Where a weight may lie, the others rescaled in proportion, with the winner first or joint first.
///
/// All fields are `None` for a weight of 1, beside which there is nothing to rescale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightInterval {
    /// The lower limit, a fraction.
    pub low: Option<f64>,
    /// The upper limit, a fraction.
    pub high: Option<f64>,
    /// The product that is first below the lower limit; `None` where the limit is 0 and no product's doing.
    pub rival_low: Option<usize>,
    /// The product that is first above the upper limit; `None` where the limit is 1 and no product's doing.
    pub rival_high: Option<usize>,
}

/// Scores or weights whose stability cannot be told. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadStability {
    /// No product, or no weight.
    #[error("there is nothing to compare; give at least one product and one weight")]
    Empty,
    /// A product with more or fewer scores than there are weights.
    #[error("product {place} has {found} scores where there are {wanted} weights")]
    Lengths {
        /// Which product.
        place: usize,
        /// How many scores it has.
        found: usize,
        /// How many weights there are.
        wanted: usize,
    },
    /// A score outside the scale.
    #[error("score {criterion} of product {place} is {score}; give points from 0 to 100")]
    Score {
        /// Which product.
        place: usize,
        /// Which of its scores.
        criterion: usize,
        /// The score found.
        score: f64,
    },
    /// A weight that is none.
    #[error("weight {place} is {weight}; give a number from 0 up")]
    Weight {
        /// Which weight.
        place: usize,
        /// The weight found.
        weight: f64,
    },
    /// Weights that are no shares.
    #[error("the weights sum to {sum}; they must sum to 1 within 1e-9")]
    Sum {
        /// Their sum.
        sum: f64,
    },
}

/// How stable the first place is under changes of the weights. `scores` has a row a product and a column a weight,
/// points from 0 to 100; `weights` are shares. Leads are compared after [`quantise`].
///
/// # Errors
/// [`BadStability`] for nothing to compare, rows of other lengths than the weights, points outside 0 to 100, a weight
/// below 0, or weights that do not sum to 1 within 1e-9.
pub fn stability(scores: &[Vec<f64>], weights: &[f64]) -> Result<Stability, BadStability> {
    check(scores, weights)?;
    let index = |row: &[f64]| row.iter().zip(weights).map(|(x, w)| x * w).sum::<f64>();
    let micropoints: Vec<i64> = scores.iter().map(|row| quantise(index(row))).collect();
    let mut winner = 0;
    for (i, score) in micropoints.iter().enumerate() {
        if *score > micropoints[winner] {
            winner = i;
        }
    }
    let first = &scores[winner];
    let leads: Vec<Option<Lead>> = (0..scores.len())
        .map(|j| {
            (j != winner).then(|| {
                let by: Vec<f64> = first.iter().zip(&scores[j]).map(|(a, x)| a - x).collect();
                let level = micropoints[j] == micropoints[winner];
                Lead { total: if level { 0.0 } else { index(&by) }, by }
            })
        })
        .collect();
    let shifts: Vec<_> =
        leads.iter().map(|it| it.as_ref().and_then(|it| shift::smallest(it, weights))).collect();
    Ok(Stability {
        winner,
        intervals: (0..weights.len()).map(|k| interval(k, weights, &leads)).collect(),
        smallest_shift: shifts.iter().map(|it| it.as_ref().map(|it| it.total)).collect(),
        moves: shifts.into_iter().map(|it| it.filter(|it| !it.from.is_empty())).collect(),
        shortest: leads
            .iter()
            .map(|it| it.as_ref().and_then(|it| shift::shortest(it, weights)))
            .collect(),
    })
}

impl Stability {
    /// The product that the least shift of weights brings level with the winner, the earliest of several.
    #[must_use]
    pub fn nearest(&self) -> Option<usize> {
        let shifts = self.smallest_shift.iter().enumerate();
        shifts
            .filter_map(|(j, shift)| shift.map(|it| (j, it)))
            .reduce(|best, it| if it.1 < best.1 - LEVEL { it } else { best })
            .map(|it| it.0)
    }
}

/// The winner's lead over a rival.
#[derive(Debug)]
struct Lead {
    /// In each subsystem, points.
    by: Vec<f64>,
    /// In the index, points; 0 for products level with each other.
    total: f64,
}

fn interval(k: usize, weights: &[f64], leads: &[Option<Lead>]) -> WeightInterval {
    let others = || weights.iter().enumerate().filter(move |(l, _)| *l != k).map(|it| it.1);
    let rest: f64 = others().sum();
    if rest <= 0.0 {
        return WeightInterval { low: None, high: None, rival_low: None, rival_high: None };
    }
    let (mut low, mut high, mut rival_low, mut rival_high) = (0.0, 1.0, None, None);
    for (j, lead) in leads.iter().enumerate() {
        let Some(lead) = lead else { continue };
        let elsewhere = lead.by.iter().enumerate().filter(|(l, _)| *l != k).map(|it| it.1);
        let mean = elsewhere.zip(others()).map(|(d, w)| d * w).sum::<f64>() / rest;
        // What a unit of this weight, taken from the others, adds to the lead.
        let gain = lead.by[k] - mean;
        if gain.abs() <= LEVEL_POINTS {
            continue;
        }
        let level = weights[k] - lead.total / gain;
        if gain > 0.0 && level > low + LEVEL {
            (low, rival_low) = (level, Some(j));
        } else if gain < 0.0 && level < high - LEVEL {
            (high, rival_high) = (level, Some(j));
        }
    }
    WeightInterval { low: Some(low), high: Some(high), rival_low, rival_high }
}

fn check(scores: &[Vec<f64>], weights: &[f64]) -> Result<(), BadStability> {
    if scores.is_empty() || weights.is_empty() {
        return Err(BadStability::Empty);
    }
    for (place, row) in (1..).zip(scores) {
        if row.len() != weights.len() {
            let (found, wanted) = (row.len(), weights.len());
            return Err(BadStability::Lengths { place, found, wanted });
        }
        if let Some((criterion, &score)) =
            (1..).zip(row).find(|(_, it)| !(0.0..=100.0).contains(*it))
        {
            return Err(BadStability::Score { place, criterion, score });
        }
    }
    if let Some((place, &weight)) =
        (1..).zip(weights).find(|(_, it)| !(it.is_finite() && **it >= 0.0))
    {
        return Err(BadStability::Weight { place, weight });
    }
    let sum: f64 = weights.iter().sum();
    if (sum - 1.0).abs() > 1e-9 { Err(BadStability::Sum { sum }) } else { Ok(()) }
}

#[cfg(test)]
mod tests;
