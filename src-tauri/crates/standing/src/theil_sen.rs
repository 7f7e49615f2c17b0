//! A straight line through scores that a few bad ones cannot move: the median of the slopes between pairs.
//!
//! H. Theil (1950); P. K. Sen, *Estimates of the Regression Coefficient Based on Kendall's Tau*, Journal of the American
//! Statistical Association 63 (1968) 1379-1389. Up to 29.3 % of the points may be anything. The slopes are sorted once; a
//! fit without one point, or to points that count several times, then only weighs them anew.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::rank::quantise;

/// The most points of one fit. A place fits 16 bits, and the pairs of all fit memory.
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

/// The slopes `(y_k - y_j) / (x_k - x_j)` of the pairs with different x, ascending.
#[derive(Debug, Clone, Default)]
pub(crate) struct Slopes {
    pairs: Vec<Pair>,
}

/// All pairs of `n` points, which are at most [`MAX_POINTS`].
pub(crate) fn all_pairs(n: usize) -> Vec<(u16, u16)> {
    let n = u16::try_from(n.min(MAX_POINTS)).unwrap_or(0);
    (0..n).flat_map(|k| (0..k).map(move |j| (j, k))).collect()
}

impl Slopes {
    /// Takes the slopes of these pairs; `x` and `y` are equally long and cover them.
    pub(crate) fn refill(&mut self, x: &[f64], y: &[f64], pairs: &[(u16, u16)]) {
        self.pairs.clear();
        self.pairs.extend(pairs.iter().filter_map(|&(j, k)| {
            let (at_j, at_k) = (usize::from(j), usize::from(k));
            let run = x[at_k] - x[at_j];
            (run != 0.0).then(|| Pair { slope: (y[at_k] - y[at_j]) / run, j, k })
        }));
        self.pairs.sort_unstable_by(|a, b| a.slope.total_cmp(&b.slope));
    }

    /// The median slope where point i stands `counts[i]` times; `None` where no two points with different x stand.
    pub(crate) fn median(&self, counts: &[u32]) -> Option<f64> {
        let weight =
            |it: &Pair| u64::from(counts[usize::from(it.j)]) * u64::from(counts[usize::from(it.k)]);
        let total: u64 = self.pairs.iter().map(weight).sum();
        // Of an even number the mean of the two in the middle, at `middle` and after it; both count from 0.
        let middle = total.checked_sub(1)? / 2;
        let mut below = 0;
        let mut rest = self.pairs.iter();
        let lower = loop {
            let pair = rest.next()?;
            below += weight(pair);
            if below > middle {
                break pair.slope;
            }
        };
        if total % 2 == 1 || below > middle + 1 {
            return Some(lower);
        }
        let upper = rest.find(|it| weight(it) > 0)?;
        Some(f64::midpoint(lower, upper.slope))
    }

    /// The confidence interval of the slope at `level`, with every point once: Sen's equation 2.6, by the normal
    /// approximation. `y` are points, ties of which are told by [`quantise`]. `None` where all x are equal.
    ///
    /// With `N` slopes, `sigma^2 = [n(n-1)(2n+5) - sum t(t-1)(2t+5)] / 18` over the ties of x and of y, and z the normal quantile,
    /// the ends are the slopes at `round((N - z sigma) / 2) - 1` and `round((N + z sigma) / 2)`, from 0, held to the list. Where
    /// ties leave no variance to speak of (`sigma^2 < 0`) the approximation fails and all slopes are in the interval.
    pub(crate) fn interval(&self, x: &[f64], y: &[f64], level: f64) -> Option<(f64, f64)> {
        let last = self.pairs.len().checked_sub(1)?;
        let mut runs = x.to_vec();
        runs.sort_unstable_by(f64::total_cmp);
        let ties_x: f64 = runs.chunk_by(|a, b| a.total_cmp(b).is_eq()).map(tie_term).sum();
        let mut rises: Vec<i64> = y.iter().copied().map(quantise).collect();
        rises.sort_unstable();
        let ties_y: f64 = rises.chunk_by(|a, b| a == b).map(tie_term).sum();
        let variance = (tie_term(x) - ties_x - ties_y) / 18.0;
        if variance < 0.0 {
            return Some((self.pairs[0].slope, self.pairs[last].slope));
        }
        let spread = Normal::standard().inverse_cdf(f64::midpoint(1.0, level)) * variance.sqrt();
        let count = last as f64 + 1.0;
        let low = place((count - spread) / 2.0).saturating_sub(1).min(last);
        let high = place(f64::midpoint(count, spread)).min(last);
        Some((self.pairs[low].slope, self.pairs[high].slope))
    }
}

/// `t (t - 1) (2 t + 5)` for a group of t.
fn tie_term<T>(group: &[T]) -> f64 {
    let t = group.len() as f64;
    t * (t - 1.0) * (2.0 * t + 5.0)
}

/// The nearest whole number from 0 up, a half to the even one.
fn place(x: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole and not negative; a place in a list that is in memory"
    )]
    let place = x.round_ties_even().max(0.0) as usize;
    place
}

/// The line through the points that stand in `members` (each as often as it counts in `counts`), its slope not below 0; the
/// median of all y where no two points differ in x. `None` without members. `scratch` is overwritten.
///
/// `slope = max(0, median of the slopes)`, `intercept = median of (y - slope x)`.
pub(crate) fn rising_line(
    (x, y): (&[f64], &[f64]),
    slopes: &Slopes,
    counts: &[u32],
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
    use super::*;
    use crate::fixture::{INDEX, TWELVE, near};

    fn prices() -> Vec<f64> {
        TWELVE.iter().map(|it| it.1.ln()).collect()
    }

    fn all(x: &[f64], y: &[f64]) -> Slopes {
        let mut slopes = Slopes::default();
        slopes.refill(x, y, &all_pairs(x.len()));
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
        let (low, high) = slopes.interval(&x, &INDEX, 0.95).unwrap();
        near(low, 10.748_720_917, 1e-8);
        near(high, 32.386_292_565, 1e-8);
        let (low, high) = slopes.interval(&x, &INDEX, 0.9).unwrap();
        near(low, 15.664_854_776, 1e-8);
        near(high, 30.688_760_565, 1e-8);
    }

    #[test]
    fn a_point_that_counts_twice_is_two_points() {
        let (x, y) = (prices(), INDEX);
        let counts = [1, 0, 2, 1, 3, 0, 0, 1, 1, 2, 0, 1];
        let got = all(&x, &y).median(&counts).unwrap();
        let repeated = |of: &[f64]| -> Vec<f64> {
            let times = counts.iter().map(|it| usize::try_from(*it).unwrap());
            of.iter().zip(times).flat_map(|(&it, times)| vec![it; times]).collect()
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
        assert_eq!(slopes.interval(&x, &y, 0.9), None);
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
        assert_eq!(all(&x, &y).interval(&x, &y, 0.9), Some((0.0, 2.0)));
    }
}
