//! Draws of weights of which only limits or only an order are stated.

use domain::draw::Stream;

use super::{BadWeighting, Weightings, anywhere, some};

/// Tries after which the share of hits decides whether to go on by rejection.
const TRIES: usize = 10_000;
/// Least share of hits; below it, rejection takes longer than a walk.
const LEAST_HITS: usize = TRIES / 100;
/// Most steps of a walk from one draw to the next.
const STEPS_MAX: usize = 1000;

impl Weightings {
    /// Draws over all weights within limits, each equally likely. A weight whose limits are equal is fixed.
    ///
    /// By rejection from draws over all weights; where under 1 % of them lie within the limits, by a hit-and-run walk
    /// (T. Tervonen, G. van Valkenhoef, N. Basturk, D. Postmus, European Journal of Operational Research 224 (2013)
    /// 552-559, volume and pages from memory), whose draws are not quite independent.
    ///
    /// # Errors
    /// [`BadWeighting`] for limits outside 0 to 1, limits that no shares keep, or no draws.
    pub fn within(
        low: &[f64],
        high: &[f64],
        draws: usize,
        seed: u64,
    ) -> Result<Self, BadWeighting> {
        let n_parts = some(low.len(), draws)?;
        if high.len() != n_parts {
            return Err(BadWeighting::Lengths { place: 2, found: high.len(), wanted: n_parts });
        }
        for (place, (&low, &high)) in (1..).zip(low.iter().zip(high)) {
            if !(0.0 <= low && low <= high && high <= 1.0) {
                return Err(BadWeighting::Limits { place, low, high });
            }
        }
        let (least, most): (f64, f64) = (low.iter().sum(), high.iter().sum());
        if least > 1.0 + 1e-9 || most < 1.0 - 1e-9 {
            return Err(BadWeighting::NoRoom { low: least, high: most });
        }
        let mut stream = Stream::of(seed, "weights within limits", "", "");
        let values = match by_rejection(low, high, draws, &mut stream) {
            Some(values) => values,
            None => by_walk(low, high, draws, &mut stream),
        };
        Ok(Weightings { n_parts, values })
    }

    /// Draws over all weights that keep an order, each equally likely: a draw over all weights, sorted. `order` names
    /// the weights from the largest to the smallest, counted from 0. Their mean is [`super::rank_order_centroid`].
    ///
    /// # Errors
    /// [`BadWeighting`] for no weights or draws, or an order that does not name each weight once.
    pub fn ordered(order: &[usize], draws: usize, seed: u64) -> Result<Self, BadWeighting> {
        let n_parts = some(order.len(), draws)?;
        let mut seen = vec![false; n_parts];
        for &part in order {
            match seen.get_mut(part) {
                Some(seen) if !*seen => *seen = true,
                _ => return Err(BadWeighting::Order { place: part + 1, wanted: n_parts }),
            }
        }
        let mut stream = Stream::of(seed, "weights in order", "", "");
        let mut values = vec![0.0; n_parts * draws];
        let mut sorted = vec![0.0; n_parts];
        for row in values.chunks_exact_mut(n_parts) {
            anywhere(&mut stream, &mut sorted);
            sorted.sort_unstable_by(|a, b| b.total_cmp(a));
            for (&part, &weight) in order.iter().zip(&sorted) {
                row[part] = weight;
            }
        }
        Ok(Weightings { n_parts, values })
    }
}

/// `None` where too few draws lie within the limits.
fn by_rejection(low: &[f64], high: &[f64], draws: usize, stream: &mut Stream) -> Option<Vec<f64>> {
    let mut values = Vec::with_capacity(low.len() * draws);
    let mut row = vec![0.0; low.len()];
    let (mut tries, mut hits) = (0, 0);
    while hits < draws {
        if tries == TRIES && hits < LEAST_HITS {
            return None;
        }
        anywhere(stream, &mut row);
        tries += 1;
        if row.iter().zip(low.iter().zip(high)).all(|(w, (low, high))| (low..=high).contains(&w)) {
            values.extend_from_slice(&row);
            hits += 1;
        }
    }
    Some(values)
}

/// A walk within the limits: from each place a random direction that keeps the sum, and a uniform place on the
/// stretch of it that lies within.
fn by_walk(low: &[f64], high: &[f64], draws: usize, stream: &mut Stream) -> Vec<f64> {
    let width: Vec<f64> = low.iter().zip(high).map(|(low, high)| high - low).collect();
    let (least, room): (f64, f64) = (low.iter().sum(), width.iter().sum());
    // As far up in each weight's limits as all of them together must be.
    let share = if room > 0.0 { ((1.0 - least) / room).clamp(0.0, 1.0) } else { 0.0 };
    let start = || low.iter().zip(&width).map(move |(low, width)| low + share * width);
    let mut at: Vec<f64> = start().collect();
    let free = width.iter().filter(|it| **it > 0.0).count();
    // None where every weight is fixed.
    let steps = free.pow(3).min(STEPS_MAX);
    let mut values = Vec::with_capacity(low.len() * draws);
    let mut way = vec![0.0; low.len()];
    // The first stretch leads away from the start and gives no draw.
    for draw in 0..=draws {
        for _ in 0..steps {
            // Steps in proportion to the width of the limits; their sum is shared out likewise.
            way.iter_mut().zip(&width).for_each(|(way, width)| *way = width * stream.normal());
            let excess = way.iter().sum::<f64>() / room;
            way.iter_mut().zip(&width).for_each(|(way, width)| *way -= width * excess);
            let (mut back, mut forth) = (f64::NEG_INFINITY, f64::INFINITY);
            for (k, &step) in way.iter().enumerate().filter(|(_, step)| **step != 0.0) {
                let (one, other) = ((low[k] - at[k]) / step, (high[k] - at[k]) / step);
                back = back.max(one.min(other));
                forth = forth.min(one.max(other));
            }
            let length = back + (forth - back) * stream.unit();
            if length.is_finite() {
                for k in 0..at.len() {
                    at[k] = (at[k] + length * way[k]).clamp(low[k], high[k]);
                }
            }
        }
        if draw > 0 {
            values.extend_from_slice(&at);
        }
    }
    values
}

#[cfg(test)]
mod tests {
    use super::super::{check, rank_order_centroid};
    use super::*;
    use crate::fixture::near;

    #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
    fn mean_and_sd(draws: &Weightings, k: usize) -> (f64, f64) {
        let n = draws.draws() as f64;
        let list = || (0..draws.draws()).map(|d| draws.row(d)[k]);
        let mean = list().sum::<f64>() / n;
        (mean, (list().map(|it| (it - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt())
    }

    /// The mean of uniform weights in order is the rank-order centroid; the tolerance is four standard errors.
    #[test]
    fn check_6_2_the_mean_of_sorted_draws_is_the_rank_order_centroid() {
        let n = 40_000;
        let order = [2, 0, 3, 1];
        let draws = Weightings::ordered(&order, n, 1).unwrap();
        for (part, want) in order.into_iter().zip(rank_order_centroid(4)) {
            let (mean, sd) = mean_and_sd(&draws, part);
            #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
            near(mean, want, 4.0 * sd / (n as f64).sqrt());
        }
        assert!((0..n).all(|d| order.is_sorted_by_key(|k| -draws.row(d)[*k])));
    }

    /// In a box that cuts no corner off, three weights are two free ones: w1 and w2 uniform in a square of side 2e as
    /// long as the third keeps its limits. With limits of the third twice as wide, mean and standard deviation are
    /// those of the uniform distribution, `e / sqrt(3)`, and the third has `sqrt(2) e / sqrt(3)`.
    #[test]
    fn rejection_and_walk_draw_uniformly_within_the_limits() {
        for e in [0.1, 0.005] {
            let mid = [0.3, 0.4, 0.3];
            let low = [mid[0] - e, mid[1] - e, mid[2] - 2.0 * e];
            let high = [mid[0] + e, mid[1] + e, mid[2] + 2.0 * e];
            let rejected = by_rejection(&low, &high, 100, &mut Stream::named("box")).is_some();
            assert_eq!(rejected, e > 0.05, "one box is large, the other small");
            let n = 20_000;
            let draws = Weightings::within(&low, &high, n, 9).unwrap();
            let spread = e / 3_f64.sqrt();
            for (k, want) in [spread, spread, 2_f64.sqrt() * spread].into_iter().enumerate() {
                let (mean, sd) = mean_and_sd(&draws, k);
                // Twice the standard error of independent draws: neighbours of the walk are alike.
                #[expect(clippy::cast_precision_loss, reason = "counts of draws")]
                let error = 2.0 * want / (n as f64).sqrt();
                near(mean, mid[k], 4.0 * error);
                near(sd, want, 4.0 * error);
            }
            for d in 0..n {
                let row = draws.row(d);
                check(d, row, 3).unwrap();
                assert!((0..3).all(|k| low[k] <= row[k] && row[k] <= high[k]), "{row:?}");
            }
        }
    }

    #[test]
    fn limits_that_leave_one_point_give_that_point() {
        let w = [0.5, 0.0, 0.25, 0.25];
        let draws = Weightings::within(&w, &w, 5, 0).unwrap();
        assert_eq!(draws, Weightings::fixed(&w, 5).unwrap());
        // One weight may move, and has nowhere to go.
        let draws = Weightings::within(&w, &[0.5, 0.0, 0.25, 0.3], 5, 0).unwrap();
        for d in 0..5 {
            for (got, want) in draws.row(d).iter().zip(w) {
                near(*got, want, 1e-12);
            }
        }
    }

    #[test]
    fn limits_and_orders_that_leave_nothing_are_refused() {
        let within = |low: &[f64], high: &[f64]| Weightings::within(low, high, 5, 0).unwrap_err();
        assert_eq!(within(&[], &[]), BadWeighting::Empty);
        assert!(matches!(within(&[0.1], &[0.1, 0.2]), BadWeighting::Lengths { place: 2, .. }));
        assert!(matches!(within(&[0.3, 0.2], &[0.2, 0.8]), BadWeighting::Limits { place: 1, .. }));
        assert!(matches!(within(&[0.3, 0.2], &[0.4, 1.1]), BadWeighting::Limits { place: 2, .. }));
        assert!(matches!(within(&[0.6, 0.6], &[0.7, 0.7]), BadWeighting::NoRoom { .. }));
        assert!(matches!(within(&[0.1, 0.1], &[0.2, 0.2]), BadWeighting::NoRoom { .. }));
        let nan = within(&[f64::NAN, 0.1], &[0.2, 0.2]);
        assert!(matches!(nan, BadWeighting::Limits { .. }));
        for order in [&[0, 0][..], &[1, 2], &[2, 1]] {
            assert!(matches!(
                Weightings::ordered(order, 1, 0),
                Err(BadWeighting::Order { wanted: 2, .. })
            ));
        }
    }
}
