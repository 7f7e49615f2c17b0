//! Where a quantile of the market lies, told from the ranks of a few values; where one value lies among them.

use statrs::{
    distribution::{Binomial, DiscreteCDF},
    function::beta::beta_reg,
};

use crate::{
    confidence::{Level, Limits},
    proportion::MAX_COUNT,
    rank::quantise,
    summary::BadQuantile,
};

/// Two equal tails may differ by this much in their last digits.
const SLACK: f64 = 1e-12;

/// The ranks, from 1, between which a quantile lies; an end is `None` where too few values can be beyond it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RankLimits {
    /// The rank of the low end.
    pub low: Option<usize>,
    /// The rank of the high end.
    pub high: Option<usize>,
    /// The probability that the quantile lies between, whatever the distribution.
    pub coverage: f64,
}

/// The ranks of an interval for the quantile at `p` of a market of which `n` values are typical.
///
/// The low rank r is the largest with `P(B <= r - 1) <= alpha/2`, the high rank s the smallest with `P(B >= s) <= alpha/2`, where B is
/// binomial of n and p; the quantile lies between with the probability `P(r <= B < s)`. H. A. David, H. N. Nagaraja, *Order
/// Statistics*, 2003, 7.1 (from memory).
///
/// # Errors
/// [`BadQuantile`] for a probability outside 0 to 1 and for more than [`MAX_COUNT`] values.
pub fn quantile_ranks(n: usize, p: f64, level: Level) -> Result<RankLimits, BadQuantile> {
    if !(0.0..=1.0).contains(&p) {
        return Err(BadQuantile::Probability { p });
    }
    check_count(n)?;
    let trials = n as u64;
    let binomial = Binomial::new(p, trials).map_err(|_| BadQuantile::Probability { p })?;
    let rare = |tail: f64| tail <= level.tail() * (1.0 + SLACK);
    let below = |rank: u64| if rank == 0 { 0.0 } else { binomial.cdf(rank - 1) };
    // Ranks with few enough below them, then the first with few enough from it on.
    let low = (1..=trials).take_while(|rank| rare(below(*rank))).last();
    let high = (1..=trials).rev().take_while(|rank| rare(binomial.sf(*rank - 1))).last();
    let coverage = high.map_or(1.0, below) - low.map_or(0.0, below);
    let rank = |it: Option<u64>| it.and_then(|it| usize::try_from(it).ok());
    Ok(RankLimits { low: rank(low), high: rank(high), coverage: coverage.clamp(0.0, 1.0) })
}

/// The interval of [`quantile_ranks`] in the unit of the values; an end is `None` where there is none.
///
/// # Errors
/// [`BadQuantile`] for a value that is not finite, a probability outside 0 to 1, and more than [`MAX_COUNT`] values.
pub fn quantile_interval(
    values: &[f64],
    p: f64,
    level: Level,
) -> Result<(Option<f64>, Option<f64>), BadQuantile> {
    let sorted = sorted(values)?;
    let ranks = quantile_ranks(values.len(), p, level)?;
    let at = |rank: Option<usize>| rank.and_then(|rank| sorted.get(rank.checked_sub(1)?).copied());
    Ok((at(ranks.low), at(ranks.high)))
}

/// The interval of the median; `None` for fewer than 5 values at 90 % and fewer than 6 at 95 %.
///
/// # Errors
/// [`BadQuantile`] for a value that is not finite and for more than [`MAX_COUNT`] values.
pub fn median_interval(values: &[f64], level: Level) -> Result<Option<Limits>, BadQuantile> {
    let (low, high) = quantile_interval(values, 0.5, level)?;
    Ok(low.zip(high).map(|(low, high)| Limits { low, high }))
}

/// The percentile rank of `x` among `values`: `100 (below + equal/2)/n`, after [`quantise`]; `None` for an empty list.
///
/// The mid definition, in which equal values share the middle of their places.
///
/// # Errors
/// [`BadQuantile::Value`] for a value that is not finite.
pub fn percentile_rank(values: &[f64], x: f64) -> Result<Option<f64>, BadQuantile> {
    check_values(values)?;
    let x = quantise(x);
    let count = |keep: fn(i64, i64) -> bool| {
        values.iter().filter(|value| keep(quantise(**value), x)).count() as f64
    };
    let (below, equal) = (count(|value, x| value < x), count(|value, x| value == x));
    Ok((!values.is_empty()).then(|| 100.0 * (below + equal / 2.0) / values.len() as f64))
}

/// The quantile at `p` as a weighted mean of all sorted values; `None` for an empty list.
///
/// F. E. Harrell, C. E. Davis, Biometrika 69 (1982) 635-640: the weight of the i-th is `I_(i/n)(a, b) - I_((i-1)/n)(a, b)` with
/// `a = (n+1)p`, `b = (n+1)(1-p)`. Smoother than [`crate::summary::quantiles`], but moved by outliers. The ends at p = 0 and p = 1.
///
/// # Errors
/// [`BadQuantile`] for a value that is not finite, a probability outside 0 to 1, and more than [`MAX_COUNT`] values.
pub fn harrell_davis(values: &[f64], p: f64) -> Result<Option<f64>, BadQuantile> {
    if !(0.0..=1.0).contains(&p) {
        return Err(BadQuantile::Probability { p });
    }
    check_count(values.len())?;
    let sorted = sorted(values)?;
    let n = sorted.len() as f64;
    let (a, b) = ((n + 1.0) * p, (n + 1.0) * (1.0 - p));
    if a <= 0.0 {
        return Ok(sorted.first().copied());
    }
    if b <= 0.0 {
        return Ok(sorted.last().copied());
    }
    let up_to = |i: usize| if i >= sorted.len() { 1.0 } else { beta_reg(a, b, i as f64 / n) };
    let sum = (0..).zip(&sorted).map(|(i, value)| value * (up_to(i + 1) - up_to(i))).sum();
    Ok((!sorted.is_empty()).then_some(sum))
}

fn check_count(n: usize) -> Result<(), BadQuantile> {
    if n <= MAX_COUNT as usize { Ok(()) } else { Err(BadQuantile::TooMany { n }) }
}

fn check_values(values: &[f64]) -> Result<(), BadQuantile> {
    match (1..).zip(values).find(|(_, value)| !value.is_finite()) {
        Some((place, &value)) => Err(BadQuantile::Value { place, value }),
        None => Ok(()),
    }
}

fn sorted(values: &[f64]) -> Result<Vec<f64>, BadQuantile> {
    check_values(values)?;
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    Ok(sorted)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::{
        fixture::{INDEX, near, place},
        gates::{MIN_MEDIAN_90, MIN_MEDIAN_95},
    };

    /// `1 - 2 P(Bin(n, 1/2) <= r - 1)` by scipy 1.17.1 `binom`; n = 6 to 20 as in the usual tables of the sign test.
    #[test]
    fn check_7_7_ranks_of_a_median_agree_with_scipy() {
        for (n, low, high, coverage) in [
            (6, 1, 6, 0.968_75),
            (8, 1, 8, 0.992_187_5),
            (9, 2, 8, 0.960_937_5),
            (10, 2, 9, 0.978_515_625),
            (12, 3, 10, 0.961_425_781_25),
            (15, 4, 12, 0.964_843_75),
            (20, 6, 15, 0.958_610_534_7),
            (30, 10, 21, 0.957_226_054_7),
        ] {
            let got = quantile_ranks(n, 0.5, Level::NINETY_FIVE).unwrap();
            assert_eq!((got.low, got.high), (Some(low), Some(high)), "{n}");
            near(got.coverage, coverage, 1e-9);
        }
        let five = quantile_ranks(5, 0.5, Level::NINETY_FIVE).unwrap();
        assert_eq!((five.low, five.high), (None, None));
        // By hand: 1 - 2 (1/2)^5.
        near(quantile_ranks(5, 0.5, Level::NINETY).unwrap().coverage, 0.937_5, 1e-12);
    }

    #[test]
    fn the_median_has_an_interval_from_its_gates_on() {
        for (level, gate) in [(Level::NINETY, MIN_MEDIAN_90), (Level::NINETY_FIVE, MIN_MEDIAN_95)] {
            let has = |n: usize| median_interval(&INDEX[..n], level).unwrap().is_some();
            assert!(!has(gate - 1) && has(gate));
        }
    }

    /// scipy 1.17.1 `quantile_test`.
    #[test]
    fn check_7_7_intervals_agree_with_scipy() {
        let median = median_interval(&INDEX, Level::NINETY_FIVE).unwrap().unwrap();
        near(median.low, 52.45, 1e-12);
        near(median.high, 71.5, 1e-12);
        let upper = quantile_ranks(30, 0.75, Level::NINETY_FIVE).unwrap();
        assert_eq!((upper.low, upper.high), (Some(18), Some(28)));
        near(upper.coverage, 0.967_810_488_5, 1e-9);
        // Of twelve, too few can be above the upper quartile.
        let upper = quantile_interval(&INDEX, 0.75, Level::NINETY_FIVE).unwrap();
        assert!(upper.0.is_some() && upper.1.is_none());
        let ends = quantile_ranks(12, 0.0, Level::NINETY).unwrap();
        assert_eq!((ends.low, ends.high), (None, Some(1)));
    }

    /// scipy 1.17.1 `percentileofscore(kind="mean")` on whole millionths.
    #[test]
    fn check_7_8_percentile_ranks_agree_with_scipy() {
        for (name, want) in
            [("G", 54.166_666_666_7), ("I", 79.166_666_666_7), ("L", 95.833_333_333_3)]
        {
            let x = INDEX[place(name)];
            near(percentile_rank(&INDEX, x).unwrap().unwrap(), want, 1e-9);
            // A sum in another order, one digit off, is the same value.
            near(percentile_rank(&INDEX, x.next_down()).unwrap().unwrap(), want, 1e-9);
        }
        near(percentile_rank(&[5.0, 5.0], 5.0).unwrap().unwrap(), 50.0, 0.0);
        assert_eq!(percentile_rank(&[], 5.0).unwrap(), None);
    }

    /// scipy 1.17.1 `mstats.hdquantiles`; weights of five by `beta.cdf`.
    #[test]
    fn check_7_6_weighted_quantiles_agree_with_scipy() {
        near(harrell_davis(&INDEX, 0.5).unwrap().unwrap(), 66.052_092_874_2, 1e-9);
        near(harrell_davis(&INDEX, 0.75).unwrap().unwrap(), 70.898_824_465_3, 1e-9);
        let weights = [0.057_92, 0.259_52, 0.365_12, 0.259_52, 0.057_92];
        // A weight is what a small step of its value is worth.
        let base = [-1e3, -1e2, -1e1, -1.0, 0.0];
        let median = |values: &[f64]| harrell_davis(values, 0.5).unwrap().unwrap();
        for (i, want) in weights.into_iter().enumerate() {
            let mut moved = base;
            moved[i] += 0.5;
            near((median(&moved) - median(&base)) / 0.5, want, 5e-6);
        }
        near(harrell_davis(&INDEX, 0.0).unwrap().unwrap(), 44.05, 0.0);
        near(harrell_davis(&INDEX, 1.0).unwrap().unwrap(), 78.75, 0.0);
        assert_eq!(harrell_davis(&[], 0.5).unwrap(), None);
    }

    #[test]
    fn bad_lists_are_refused() {
        assert!(matches!(
            median_interval(&[1.0, f64::NAN], Level::NINETY),
            Err(BadQuantile::Value { place: 2, .. })
        ));
        assert!(matches!(
            percentile_rank(&[f64::INFINITY], 1.0),
            Err(BadQuantile::Value { place: 1, .. })
        ));
        for p in [-0.1, 1.1, f64::NAN] {
            assert!(matches!(harrell_davis(&INDEX, p), Err(BadQuantile::Probability { .. })));
            assert!(quantile_interval(&INDEX, p, Level::NINETY).is_err());
        }
        let many = vec![0.0; MAX_COUNT as usize + 1];
        assert_eq!(median_interval(&many, Level::NINETY), Err(BadQuantile::TooMany { n: 10_001 }));
        assert!(harrell_davis(&many, 0.5).is_err());
    }

    proptest! {
        #[test]
        fn an_interval_covers_at_least_its_level_and_none_inside_it_does(
            n in 1_usize..120,
            p in 0.01..0.99_f64,
            level in 0.5..0.99_f64,
        ) {
            let level = Level::new(level).unwrap();
            let got = quantile_ranks(n, p, level).unwrap();
            prop_assert!(got.coverage >= level.fraction() - 1e-9);
            // One rank further in, a tail is too likely.
            let binomial = Binomial::new(p, n as u64).unwrap();
            let next = got.low.map_or(1, |it| it + 1);
            prop_assert!(next > n || binomial.cdf(next as u64 - 1) > level.tail());
            let next = got.high.map_or(n, |it| it - 1);
            prop_assert!(next < 1 || binomial.sf(next as u64 - 1) > level.tail());
        }

        #[test]
        fn the_order_of_values_changes_nothing(
            (values, shuffled) in prop::collection::vec(-100.0..100.0_f64, 1..20)
                .prop_flat_map(|it| (Just(it.clone()), Just(it).prop_shuffle())),
            p in 0.0..=1.0_f64,
        ) {
            prop_assert_eq!(harrell_davis(&values, p), harrell_davis(&shuffled, p));
            prop_assert_eq!(
                quantile_interval(&values, p, Level::NINETY),
                quantile_interval(&shuffled, p, Level::NINETY)
            );
            let it = harrell_davis(&values, p).unwrap().unwrap();
            let (low, high) = values.iter().fold((it, it), |(low, high), x| (low.min(*x), high.max(*x)));
            prop_assert!(low - 1e-9 <= it && it <= high + 1e-9);
        }
    }
}
