//! Interval scores and the ranks they leave open.

/// An interval of points on the scale from 0 to 100; of width 0 where nothing is missing.
///
/// The ends are sharp bounds, not a confidence interval: every missing part at its worst and at its best (C. F. Manski, *Partial
/// Identification of Probability Distributions*, 2003, worst-case bounds).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    low: f64,
    high: f64,
}

/// Two numbers that are no interval of points.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "{low} to {high} is not an interval of points; give two numbers from 0 to 100, the lower one first"
)]
pub struct BadInterval {
    /// The low end found.
    pub low: f64,
    /// The high end found.
    pub high: f64,
}

impl Interval {
    /// Nothing known.
    pub const UNKNOWN: Interval = Interval { low: 0.0, high: 100.0 };

    /// The interval from `low` to `high` points.
    ///
    /// # Errors
    /// [`BadInterval`] unless 0 <= low <= high <= 100.
    pub fn new(low: f64, high: f64) -> Result<Self, BadInterval> {
        if 0.0 <= low && low <= high && high <= 100.0 {
            Ok(Interval { low, high })
        } else {
            Err(BadInterval { low, high })
        }
    }

    /// Bounds from sums of products, whose last digit may fall outside the scale.
    pub(crate) fn rounded(low: f64, high: f64) -> Self {
        let low = low.clamp(0.0, 100.0);
        Interval { low, high: high.clamp(low, 100.0) }
    }

    /// The low end, points.
    #[must_use]
    pub fn low(self) -> f64 {
        self.low
    }

    /// The high end, points.
    #[must_use]
    pub fn high(self) -> f64 {
        self.high
    }

    /// The distance between the ends, points.
    #[must_use]
    pub fn width(self) -> f64 {
        self.high - self.low
    }
}

/// The best and the worst rank that intervals leave open; 1 is first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct RankInterval {
    /// One more than the number of products that are certainly above.
    pub best: usize,
    /// One more than the number of products that may be above.
    pub worst: usize,
}

/// A number in whole millionths: `round(x 10^6)`. NaN becomes 0, what is out of range the nearest end.
///
/// Two sums of the same terms in another order differ in the last bit (62.35 can come out as 62.349999999999994); ranks and ties
/// are decided on these integers instead. Editorial; a millionth of a point or of a dollar is far below what is printed.
#[must_use]
pub fn quantise(x: f64) -> i64 {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "the fraction is rounded off and `as` saturates"
    )]
    let micro = (x * 1e6).round() as i64;
    micro
}

/// The rank interval of every product, in the order given.
///
/// `best_i = 1 + #{j : low_j > high_i}`, `worst_i = 1 + #{j != i : high_j > low_i}`, both after [`quantise`]; products level with
/// each other share the better rank. Sharp for one fixed set of weights when the unknowns of different products are unrelated.
/// Takes O(n log n). Editorial form of worst-case bounds (Manski 2003) on a count.
#[must_use]
pub fn rank_intervals(scores: &[Interval]) -> Vec<RankInterval> {
    let sorted = |end: fn(Interval) -> f64| {
        let mut ends: Vec<i64> = scores.iter().map(|&it| quantise(end(it))).collect();
        ends.sort_unstable();
        ends
    };
    let (lows, highs) = (sorted(Interval::low), sorted(Interval::high));
    let above = |ends: &[i64], x: i64| ends.len() - ends.partition_point(|&end| end <= x);
    scores
        .iter()
        .map(|it| {
            let (low, high) = (quantise(it.low), quantise(it.high));
            RankInterval {
                best: 1 + above(&lows, high),
                worst: 1 + above(&highs, low) - usize::from(high > low),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::interval;

    /// Bounds and ranks by numpy: F, G without its driver, H, I without its crossover, J of the twelve.
    #[test]
    fn rank_intervals_of_five_products_agree_with_numpy() {
        let five = [
            interval(69.95, 69.95),
            interval(41.25, 76.25),
            interval(69.1, 69.1),
            interval(53.0, 78.0),
            interval(72.05, 72.05),
        ];
        let want = [(2, 4), (1, 5), (3, 5), (1, 5), (1, 3)]
            .map(|(best, worst)| RankInterval { best, worst });
        assert_eq!(rank_intervals(&five), want);
    }

    #[test]
    fn products_level_with_each_other_share_the_better_rank() {
        let sum_a = 0.1 + 0.2 + 0.3;
        let sum_b = 0.3 + 0.2 + 0.1;
        assert_ne!(
            f64::to_bits(sum_a),
            f64::to_bits(sum_b),
            "the two sums must differ in the last bit for this check"
        );
        let ranks =
            rank_intervals(&[interval(sum_a, sum_a), interval(sum_b, sum_b), interval(0.5, 0.5)]);
        assert_eq!(
            ranks.iter().map(|it| (it.best, it.worst)).collect::<Vec<_>>(),
            [(1, 1), (1, 1), (3, 3)]
        );
    }

    #[test]
    fn what_is_no_interval_is_refused() {
        for (low, high) in
            [(1.0, 0.5), (-1e-9, 5.0), (0.0, 100.1), (f64::NAN, 1.0), (1.0, f64::NAN)]
        {
            let error = Interval::new(low, high).unwrap_err().to_string();
            assert!(error.contains("from 0 to 100"), "{error}");
        }
        assert!(rank_intervals(&[]).is_empty());
    }

    #[test]
    fn micro_points_round_to_the_nearest() {
        assert_eq!(quantise(62.349_999_999_999_994), 62_350_000);
        assert_eq!(quantise(0.000_000_4), 0);
        assert_eq!(quantise(f64::INFINITY), i64::MAX);
    }

    fn any_interval() -> impl Strategy<Value = Interval> {
        // Whole points often tie, which is where ranks go wrong.
        (0_u8..=20, 0_u8..=20)
            .prop_map(|(a, b)| interval(f64::from(a.min(b)) * 5.0, f64::from(a.max(b)) * 5.0))
    }

    proptest! {
        #[test]
        fn ranks_follow_the_definition(scores in prop::collection::vec(any_interval(), 0..20)) {
            let ranks = rank_intervals(&scores);
            for (i, (it, rank)) in scores.iter().zip(&ranks).enumerate() {
                let others = || scores.iter().enumerate().filter(move |(j, _)| *j != i).map(|(_, other)| other);
                prop_assert_eq!(rank.best, 1 + others().filter(|other| other.low > it.high).count());
                prop_assert_eq!(rank.worst, 1 + others().filter(|other| other.high > it.low).count());
            }
        }

        #[test]
        fn widening_an_interval_never_narrows_a_rank_interval(
            scores in prop::collection::vec(any_interval(), 1..20),
            at in any::<prop::sample::Index>(),
            down in 0.0..1.0_f64,
            up in 0.0..1.0_f64,
        ) {
            let mut wider = scores.clone();
            let it = &mut wider[at.index(scores.len())];
            *it = interval(it.low * (1.0 - down), it.high + (100.0 - it.high) * up);
            for (before, after) in rank_intervals(&scores).iter().zip(rank_intervals(&wider)) {
                prop_assert!(after.best <= before.best && after.worst >= before.worst, "{:?} became {:?}", before, after);
            }
        }

        #[test]
        fn the_order_of_the_list_changes_nothing(
            (scores, order) in prop::collection::vec(any_interval(), 0..20)
                .prop_flat_map(|it| { let n = it.len(); (Just(it), Just((0..n).collect::<Vec<_>>()).prop_shuffle()) }),
        ) {
            let ranks = rank_intervals(&scores);
            let shuffled: Vec<Interval> = order.iter().map(|&i| scores[i]).collect();
            let want: Vec<RankInterval> = order.iter().map(|&i| ranks[i]).collect();
            prop_assert_eq!(rank_intervals(&shuffled), want);
        }
    }
}
