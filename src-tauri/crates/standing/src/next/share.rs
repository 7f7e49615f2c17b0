//! The share of a product's variance that one source carries.

use std::{collections::HashMap, ops::Range};

use statrs::distribution::{Beta, ContinuousCDF};

use super::doubt::Scores;
use crate::normal;

/// Most different values of a source that count as its levels; a source with more is cut into as many bins.
pub(super) const BINS: usize = 20;
/// Hinges of the broken line that follows the score along a source with many values.
const HINGES: usize = 5;
/// The chance that a source without influence is given a share.
const LEVEL: f64 = 0.001;

/// The draws of a product sorted by a source.
#[derive(Debug)]
pub(super) struct Sorted {
    /// The finding draws, from the least value of the source to the greatest.
    pub(super) order: Vec<usize>,
    /// Where the different values lie in `order`, when they are few.
    pub(super) levels: Option<Vec<Range<usize>>>,
}

/// Sorts, and keeps what depends on the number of draws alone.
#[derive(Debug, Default)]
pub(super) struct Sorter {
    /// For a number of draws: orthonormal columns (each of mean 0) along the sorted draws.
    columns: HashMap<usize, Vec<Vec<f64>>>,
    /// For numbers of draws and of free columns: the squared correlation exceeded by chance at [`LEVEL`].
    limits: HashMap<(usize, usize), f64>,
}

impl Sorter {
    /// Sorts the draws by a source.
    pub(super) fn sort(&mut self, z: &[f64]) -> Sorted {
        let mut keyed: Vec<(f64, usize)> = z.iter().copied().zip(0..).collect();
        keyed.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut levels = Vec::new();
        let mut start = 0;
        for at in 1..=keyed.len() {
            if keyed.get(at).is_none_or(|it| it.0 > keyed[start].0) {
                levels.push(start..at);
                start = at;
                if levels.len() > BINS {
                    break;
                }
            }
        }
        Sorted {
            order: keyed.into_iter().map(|it| it.1).collect(),
            levels: (levels.len() <= BINS).then_some(levels),
        }
    }

    /// The squared correlation ratio of the score on the source, freed of the part that chance adds
    /// (`1 - (1 - R^2)(n - 1)/(n - 1 - p)`, M. Ezekiel, *Methods of Correlation Analysis*, 1930, from memory); 0 where
    /// chance alone would show as much in one case of a thousand.
    ///
    /// Means a level where the source has few; else a broken line along the normal score of its rank, which follows a
    /// monotone response and needs fewer draws than bins do. Where that leaves little, neighbours in the order tell
    /// what really is left: half the mean squared step between them.
    #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
    pub(super) fn share(&mut self, sorted: &Sorted, scores: &Scores) -> f64 {
        let n = sorted.order.len();
        let total = scores.variance * (n as f64 - 1.0);
        let score = |at: usize| scores.points[sorted.order[at]] - scores.mean;
        let (explained, linear, free) = match &sorted.levels {
            Some(levels) => {
                let squares = levels.iter().map(|it| {
                    let size = it.len() as f64;
                    it.clone().map(score).sum::<f64>().powi(2) / size
                });
                (squares.sum::<f64>(), 0.0, levels.len() - 1)
            }
            None => {
                let columns = self.columns.entry(n).or_insert_with(|| columns(n));
                let list: Vec<f64> = (0..n).map(score).collect();
                let mut parts = columns.iter().map(|column| {
                    column.iter().zip(&list).map(|(a, b)| a * b).sum::<f64>().powi(2)
                });
                let linear = parts.next().unwrap_or(0.0);
                (linear + parts.sum::<f64>(), linear, HINGES + 1)
            }
        };
        let ratio = explained / total;
        // A straight trend shows in fewer draws than any other.
        if free == 0 || (ratio <= self.limit(n, free) && linear / total <= self.limit(n, 1)) {
            return 0.0;
        }
        let freedom = (n as f64 - 1.0) / (n as f64 - 1.0 - free as f64);
        let mut share = 1.0 - (1.0 - ratio) * freedom;
        if sorted.levels.is_none() && share > 0.8 {
            let steps: f64 = (1..n).map(|at| (score(at) - score(at - 1)).powi(2)).sum();
            share = share.max(1.0 - steps / (2.0 * total));
        }
        share.clamp(0.0, 1.0)
    }

    /// Under chance alone the squared multiple correlation follows Beta(p/2, (n - 1 - p)/2).
    #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
    fn limit(&mut self, n: usize, free: usize) -> f64 {
        *self.limits.entry((n, free)).or_insert_with(|| {
            let rest = n.saturating_sub(1 + free);
            Beta::new(free as f64 / 2.0, rest as f64 / 2.0)
                .map_or(1.0, |it| it.inverse_cdf(1.0 - LEVEL))
        })
    }
}

/// A straight line and hinges over the normal scores of `n` ranks, made orthonormal (Gram-Schmidt); the straight line
/// first.
#[expect(clippy::cast_precision_loss, reason = "counts of draws")]
fn columns(n: usize) -> Vec<Vec<f64>> {
    let scores: Vec<f64> =
        (0..n).map(|at| normal::quantile((at as f64 + 0.5) / n as f64)).collect();
    let mut columns: Vec<Vec<f64>> = Vec::new();
    for hinge in 0..=HINGES {
        let knot = if hinge == 0 {
            f64::NEG_INFINITY
        } else {
            normal::quantile(hinge as f64 / (HINGES + 1) as f64)
        };
        let mut column: Vec<f64> = scores
            .iter()
            .map(|it| if knot.is_finite() { (it - knot).max(0.0) } else { *it })
            .collect();
        let mean = column.iter().sum::<f64>() / n as f64;
        column.iter_mut().for_each(|it| *it -= mean);
        for done in &columns {
            let part: f64 = done.iter().zip(&column).map(|(a, b)| a * b).sum();
            column.iter_mut().zip(done).for_each(|(it, done)| *it -= part * done);
        }
        let length = column.iter().map(|it| it * it).sum::<f64>().sqrt();
        column.iter_mut().for_each(|it| *it /= length);
        columns.push(column);
    }
    columns
}
