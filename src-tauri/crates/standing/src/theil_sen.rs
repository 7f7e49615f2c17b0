//! A straight line through scores that a few bad ones cannot move: the median of the slopes between pairs.
//!
//! H. Theil (1950); P. K. Sen, *Estimates of the Regression Coefficient Based on Kendall's Tau*, Journal of the American
//! Statistical Association 63 (1968) 1379-1389. Up to 29.3 % of the points may be anything. The slopes are sorted once; a
//! fit without one point, or to points that count several times, then only weighs them anew.

use std::ops::Range;

use statrs::distribution::{ContinuousCDF, Normal};

use crate::rank::quantise;

/// The most points of one fit. A place fits 16 bits, and all pairs fit memory.
pub(crate) const MAX_POINTS: usize = 2000;

/// `y = intercept + slope x`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Rise of y for a rise of x by 1.
    pub slope: f64,
    /// y at x = 0.
    pub intercept: f64,
}

impl Line {
    /// y at `x`.
    #[must_use]
    pub fn at(self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }
}

/// A slope and the two points it joins.
#[derive(Debug, Clone, Copy)]
struct Pair {
    slope: f64,
    j: u16,
    k: u16,
}

/// The slopes `(y_k - y_j) / (x_k - x_j)` of all pairs with different x, ready to be weighed.
///
/// Point i may stand any number of times, so a pair weighs the product of two counts, and the median is where half of the weight
/// lies below. How much lies below the middle of the list is a sum over a table of bits; from there the median is a few steps
/// away, and only this part of the list is in order.
#[derive(Debug, Clone, Default)]
pub(crate) struct Slopes {
    /// Ascending within `ordered`; no slope before it is larger and none after it smaller.
    pairs: Vec<Pair>,
    ordered: Range<usize>,
    /// The middle of the list, where the search starts.
    start: usize,
    /// For each point k those before it, all bits set where the slope of the two stands before `start`.
    below: Vec<u16>,
    /// The points by x.
    by_x: Vec<u16>,
    /// Where in `by_x` each run of equal x ends, as far as it is longer than 1.
    ties: Vec<Range<usize>>,
}

impl Slopes {
    /// Takes the slopes of the points `x`, `y`, which are equally many and at most [`MAX_POINTS`].
    pub(crate) fn refill(&mut self, x: &[f64], y: &[f64]) {
        self.pairs.clear();
        for (k, (x_k, y_k)) in (0..).zip(x.iter().zip(y)) {
            let before = (0..k).zip(x.iter().zip(y));
            self.pairs.extend(before.filter_map(|(j, (x_j, y_j))| {
                let run = x_k - x_j;
                (run != 0.0).then(|| Pair { slope: (y_k - y_j) / run, j, k })
            }));
        }
        self.order(x.len());
        self.below.clear();
        self.below.resize(x.len() * x.len().saturating_sub(1) / 2, 0);
        for it in &self.pairs[..self.start] {
            self.below[row(usize::from(it.k)).start + usize::from(it.j)] = u16::MAX;
        }
        self.by_x.clear();
        self.by_x.extend((0_u16..).take(x.len()));
        self.by_x.sort_unstable_by(|&a, &b| x[usize::from(a)].total_cmp(&x[usize::from(b)]));
        self.ties.clear();
        let mut start = 0;
        for run in
            self.by_x.chunk_by(|&a, &b| x[usize::from(a)].total_cmp(&x[usize::from(b)]).is_eq())
        {
            if run.len() > 1 {
                self.ties.push(start..start + run.len());
            }
            start += run.len();
        }
    }

    /// Puts the middle part in order: five standard errors of the rank of a resampled median (a third of `1 / sqrt(n)` of the list)
    /// on either side. Where that is most of the list, all of it.
    fn order(&mut self, n: usize) {
        let count = self.pairs.len();
        self.start = count / 2;
        let reach = (count as f64 * 5.0 / 3.0 / (n.max(1) as f64).sqrt()).ceil();
        let reach = whole(reach).min(count);
        self.ordered = self.start.saturating_sub(reach)..(self.start + reach).min(count);
        let by_slope = |a: &Pair, b: &Pair| a.slope.total_cmp(&b.slope);
        if self.ordered.len() >= count / 2 {
            self.ordered = 0..count;
        } else {
            self.pairs.select_nth_unstable_by(self.ordered.start, by_slope);
            let rest = &mut self.pairs[self.ordered.start..];
            rest.select_nth_unstable_by(self.ordered.len(), by_slope);
        }
        self.pairs[self.ordered.clone()].sort_unstable_by(by_slope);
    }

    /// The median slope where point i stands `counts[i]` times; `None` where no two points with different x stand.
    pub(crate) fn median(&self, counts: &[u16]) -> Option<f64> {
        let total = self.weight_of_all(counts);
        // Of an even number the mean of the two in the middle, at `middle` and after it; both count from 0.
        let middle = total.checked_sub(1)? / 2;
        let weight = |it: &Pair| product(counts[usize::from(it.j)], counts[usize::from(it.k)]);
        let mut below = self.weight_below(counts);
        let mut at = self.start;
        // The first pair that is not wholly below the middle.
        if below > middle {
            while below > middle && at > self.ordered.start {
                at -= 1;
                below -= weight(&self.pairs[at]);
            }
            if below > middle {
                return self.far_median(counts, total);
            }
        } else {
            while at < self.ordered.end && below + weight(&self.pairs[at]) <= middle {
                below += weight(&self.pairs[at]);
                at += 1;
            }
        }
        let mut rest = self.pairs[at..self.ordered.end].iter().filter(|it| weight(it) > 0);
        let Some(lower) = rest.next() else { return self.far_median(counts, total) };
        if total % 2 == 1 || below + weight(lower) > middle + 1 {
            return Some(lower.slope);
        }
        match rest.next() {
            Some(upper) => Some(f64::midpoint(lower.slope, upper.slope)),
            None => self.far_median(counts, total),
        }
    }

    /// The same where the median lies outside the ordered part.
    fn far_median(&self, counts: &[u16], total: u64) -> Option<f64> {
        let weight = |it: &Pair| product(counts[usize::from(it.j)], counts[usize::from(it.k)]);
        let mut sorted: Vec<(f64, u64)> =
            self.pairs.iter().map(|it| (it.slope, weight(it))).filter(|it| it.1 > 0).collect();
        sorted.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let at = |place: u64| {
            let mut upto = 0;
            sorted.iter().find(|it| {
                upto += it.1;
                upto > place
            })
        };
        Some(f64::midpoint(at(total.checked_sub(1)? / 2)?.0, at(total / 2)?.0))
    }

    /// `sum c_j c_k` over all pairs: half of the square of the sum less the squares of the sums at each x.
    fn weight_of_all(&self, counts: &[u16]) -> u64 {
        let sum = |of: &mut dyn Iterator<Item = u16>| of.map(u64::from).sum::<u64>();
        let all: u64 = counts.iter().map(|it| u64::from(*it)).sum();
        let alone: u64 = counts.iter().map(|it| product(*it, *it)).sum();
        let mut tied = 0;
        for run in &self.ties {
            let members = || self.by_x[run.clone()].iter().map(|it| counts[usize::from(*it)]);
            let together = sum(&mut members());
            tied += together * together - members().map(|it| product(it, it)).sum::<u64>();
        }
        (all * all - alone - tied) / 2
    }

    /// `sum c_j c_k` over the pairs before `start`.
    fn weight_below(&self, counts: &[u16]) -> u64 {
        let mut below = 0;
        for (k, &count) in counts.iter().enumerate().filter(|(_, it)| **it > 0) {
            let bits = &self.below[row(k)];
            // No sum exceeds the number of points that stand, which 16 bits hold.
            let sum =
                bits.iter().zip(counts).fold(0_u16, |sum, (bits, it)| sum.wrapping_add(bits & it));
            below += product(count, sum);
        }
        below
    }

    /// The confidence interval of the slope at `level`, with every point once: Sen's equation 2.6, by the normal
    /// approximation. `y` are points, ties of which are told by [`quantise`]. `None` where all x are equal.
    ///
    /// With `N` slopes, `sigma^2 = [n(n-1)(2n+5) - sum t(t-1)(2t+5)] / 18` over the ties of x and of y, and z the normal quantile,
    /// the ends are the slopes at `round((N - z sigma) / 2) - 1` and `round((N + z sigma) / 2)`, from 0, held to the list. Where
    /// ties leave no variance to speak of (`sigma^2 < 0`) the approximation fails and all slopes are in the interval.
    pub(crate) fn interval(&self, y: &[f64], level: f64) -> Option<(f64, f64)> {
        let last = self.pairs.len().checked_sub(1)?;
        let ties_x: f64 = self.ties.iter().map(|it| tie_term(it.len())).sum();
        let mut rises: Vec<i64> = y.iter().copied().map(quantise).collect();
        rises.sort_unstable();
        let ties_y: f64 = rises.chunk_by(|a, b| a == b).map(|it| tie_term(it.len())).sum();
        let variance = (tie_term(y.len()) - ties_x - ties_y) / 18.0;
        let mut slopes: Vec<f64> = self.pairs.iter().map(|it| it.slope).collect();
        let mut at = |place: usize| *slopes.select_nth_unstable_by(place, f64::total_cmp).1;
        if variance < 0.0 {
            return Some((at(0), at(last)));
        }
        let spread = Normal::standard().inverse_cdf(f64::midpoint(1.0, level)) * variance.sqrt();
        let count = last as f64 + 1.0;
        let low = whole(((count - spread) / 2.0).round_ties_even()).saturating_sub(1).min(last);
        let high = whole(f64::midpoint(count, spread).round_ties_even()).min(last);
        Some((at(low), at(high)))
    }
}

/// Where the points before `k` stand in a triangle.
fn row(k: usize) -> Range<usize> {
    let start = k * k.saturating_sub(1) / 2;
    start..start + k
}

fn product(a: u16, b: u16) -> u64 {
    u64::from(a) * u64::from(b)
}

/// `t (t - 1) (2 t + 5)` for a group of t.
fn tie_term(t: usize) -> f64 {
    let t = t as f64;
    t * (t - 1.0) * (2.0 * t + 5.0)
}

/// A number that is whole, as a place in a list; from 0 up.
fn whole(x: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "whole, and a place in a list that is in memory"
    )]
    let whole = x.max(0.0) as usize;
    whole
}

/// The line through the points that stand in `members` (each as often as it counts in `counts`), its slope not below 0; the
/// median of all y where no two points differ in x. `None` without members. `scratch` is overwritten.
///
/// `slope = max(0, median of the slopes)`, `intercept = median of (y - slope x)`.
pub(crate) fn rising_line(
    (x, y): (&[f64], &[f64]),
    slopes: &Slopes,
    counts: &[u16],
    members: &[u16],
    scratch: &mut Vec<f64>,
) -> Option<Line> {
    let slope = slopes.median(counts).unwrap_or(0.0).max(0.0);
    scratch.clear();
    scratch.extend(members.iter().map(|&it| y[usize::from(it)] - slope * x[usize::from(it)]));
    let intercept = median(scratch)?;
    Some(Line { slope, intercept })
}

/// The median, of an even number the mean of the two in the middle; `None` of nothing. Reorders the values.
pub(crate) fn median(values: &mut [f64]) -> Option<f64> {
    let middle = values.len().checked_sub(1)? / 2;
    let even = values.len().is_multiple_of(2);
    let (_, &mut lower, above) = values.select_nth_unstable_by(middle, f64::total_cmp);
    if !even {
        return Some(lower);
    }
    let upper = above.iter().copied().min_by(f64::total_cmp)?;
    Some(f64::midpoint(lower, upper))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{INDEX, TWELVE, near};

    fn prices() -> Vec<f64> {
        TWELVE.iter().map(|it| it.1.ln()).collect()
    }

    fn all(x: &[f64], y: &[f64]) -> Slopes {
        let mut slopes = Slopes::default();
        slopes.refill(x, y);
        slopes
    }

    /// `scipy.stats.theilslopes` of scipy 1.17.1 on ln price, `method="joint"`, alpha 0.95 and 0.9.
    #[test]
    fn check_3_3_line_and_slope_intervals_of_the_twelve_agree_with_scipy() {
        let x = prices();
        let slopes = all(&x, &INDEX);
        let members: Vec<u16> = (0..12).collect();
        let line = rising_line((&x, &INDEX), &slopes, &[1; 12], &members, &mut Vec::new()).unwrap();
        near(line.slope, 21.646_767_302, 1e-8);
        near(line.intercept, -50.366_275_011, 1e-8);
        let (low, high) = slopes.interval(&INDEX, 0.95).unwrap();
        near(low, 10.748_720_917, 1e-8);
        near(high, 32.386_292_565, 1e-8);
        let (low, high) = slopes.interval(&INDEX, 0.9).unwrap();
        near(low, 15.664_854_776, 1e-8);
        near(high, 30.688_760_565, 1e-8);
    }

    #[test]
    fn a_point_that_counts_twice_is_two_points() {
        let (x, y) = (prices(), INDEX);
        let counts = [1, 0, 2, 1, 3, 0, 0, 1, 1, 2, 0, 1];
        let got = all(&x, &y).median(&counts).unwrap();
        let repeated = |of: &[f64]| -> Vec<f64> {
            of.iter().zip(counts).flat_map(|(&it, times)| vec![it; times.into()]).collect()
        };
        let (x, y) = (repeated(&x), repeated(&y));
        let want = all(&x, &y).median(&vec![1; x.len()]).unwrap();
        near(got, want, 0.0);
    }

    #[test]
    fn medians_of_short_lists() {
        assert_eq!(median(&mut []), None);
        assert_eq!(median(&mut [3.0]), Some(3.0));
        assert_eq!(median(&mut [3.0, 1.0]), Some(2.0));
        assert_eq!(median(&mut [9.0, 1.0, 4.0, 2.0]), Some(3.0));
    }

    #[test]
    fn one_price_has_no_slope_and_the_line_is_flat() {
        let (x, y) = ([5.0; 3], [1.0, 7.0, 3.0]);
        let slopes = all(&x, &y);
        assert_eq!(slopes.median(&[1; 3]), None);
        assert_eq!(slopes.interval(&y, 0.9), None);
        let line = rising_line((&x, &y), &slopes, &[1; 3], &[0, 1, 2], &mut Vec::new()).unwrap();
        assert_eq!(line, Line { slope: 0.0, intercept: 3.0 });
    }

    #[test]
    fn a_falling_line_is_held_level() {
        let (x, y) = ([1.0, 2.0, 3.0], [9.0, 5.0, 4.0]);
        let slopes = all(&x, &y);
        near(slopes.median(&[1; 3]).unwrap(), -2.5, 1e-12);
        let line = rising_line((&x, &y), &slopes, &[1; 3], &[0, 1, 2], &mut Vec::new()).unwrap();
        assert_eq!(line, Line { slope: 0.0, intercept: 5.0 });
    }

    /// Ties of price and score together leave less than no variance; the formula then says nothing.
    #[test]
    fn many_ties_leave_the_whole_range_of_slopes_open() {
        let x = [1.0, 1.0, 1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 2.0, 2.0];
        let y = [7.0, 7.0, 7.0, 7.0, 7.0, 7.0, 7.0, 7.0, 7.0, 9.0];
        assert_eq!(all(&x, &y).interval(&y, 0.9), Some((0.0, 2.0)));
    }

    /// The definition: each point as often as it counts, all slopes of pairs with different x in one list.
    fn by_definition(x: &[f64], y: &[f64], counts: &[u16]) -> Option<f64> {
        let standing = || (0..x.len()).flat_map(|it| vec![it; counts[it].into()]);
        let mut slopes = Vec::new();
        for (at, j) in standing().enumerate() {
            for k in standing().skip(at + 1).filter(|&k| x[k].total_cmp(&x[j]).is_ne()) {
                slopes.push((y[k] - y[j]) / (x[k] - x[j]));
            }
        }
        median(&mut slopes)
    }

    proptest! {
        #[test]
        fn weighed_medians_follow_the_definition(
            points in prop::collection::vec((0_u32..12, 0_u32..40, 0_u16..4), 0..24),
        ) {
            let x: Vec<f64> = points.iter().map(|it| f64::from(it.0)).collect();
            let y: Vec<f64> = points.iter().map(|it| f64::from(it.1)).collect();
            let counts: Vec<u16> = points.iter().map(|it| it.2).collect();
            prop_assert_eq!(all(&x, &y).median(&counts), by_definition(&x, &y, &counts));
        }

        /// So many points that only the middle of their slopes is in order, and counts that lead the median away from there.
        #[test]
        fn medians_far_from_the_middle_are_found_too(seed in any::<u64>(), kept in 3_usize..80) {
            let mut stream = domain::draw::Stream::of(seed, "far", "", "");
            let x: Vec<f64> = (0..80).map(|_| stream.unit()).collect();
            let y: Vec<f64> = x.iter().map(|x| x * x * 90.0 + stream.unit()).collect();
            let mut by_x: Vec<usize> = (0..80).collect();
            by_x.sort_unstable_by(|&a, &b| x[a].total_cmp(&x[b]));
            for end in [&by_x[..kept], &by_x[80 - kept..]] {
                let mut counts = [0; 80];
                for &it in end {
                    counts[it] = 1 + u16::from(stream.bits().is_multiple_of(4));
                }
                prop_assert_eq!(all(&x, &y).median(&counts), by_definition(&x, &y, &counts));
            }
        }
    }
}
