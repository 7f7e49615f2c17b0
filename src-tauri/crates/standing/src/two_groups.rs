//! By how much one group of products lies above another.

use crate::{
    confidence::{Level, Limits},
    gates::MIN_SHIFT,
    normal, rank_sums, ranks,
};

/// The most values of one group.
pub const MAX_GROUP: usize = 2_000;
/// Up to so many pairs the distribution is exact.
const EXACT_PAIRS: usize = 40_000;
/// Up to so many regroupings all are tried.
const REGROUPINGS: u128 = 200_000;
/// Two equal tails may differ by this much in their last digits.
const SLACK: f64 = 1e-12;

/// How a probability was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// From the distribution without ties.
    Exact,
    /// By trying all regroupings of the tied values.
    Regroupings,
    /// From the normal distribution, corrected for ties and for steps.
    Normal,
}

/// The shift between two groups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// The median of all differences a - b, in the unit of the values.
    pub shift: f64,
    /// Its limits; `None` when a group has fewer than [`MIN_SHIFT`] values, or none reach the level.
    pub interval: Option<Limits>,
    /// The two-sided probability of so uneven ranks when both groups are alike.
    pub p_value: f64,
    /// How it was found.
    pub method: Method,
}

/// Groups that cannot be compared. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadGroups {
    /// A group without values, or with more than [`MAX_GROUP`].
    #[error("group {group} has {n} values; give 1 to {MAX_GROUP}")]
    Size {
        /// `a` or `b`.
        group: char,
        /// How many it has.
        n: usize,
    },
    /// A value that is no finite number.
    #[error("value {place} of group {group} is {value}; give finite numbers")]
    Value {
        /// `a` or `b`.
        group: char,
        /// Which value.
        place: usize,
        /// The value found.
        value: f64,
    },
    /// Values whose difference is no number.
    #[error("the values lie so far apart that their difference is beyond the range of numbers")]
    Range,
}

/// The shift of group `a` over group `b`, whatever the form of the distribution.
///
/// J. L. Hodges, E. L. Lehmann, Annals of Mathematical Statistics 34 (1963) 598-611: the median of all n m differences. The
/// interval runs from the c-th smallest to the c-th largest difference, c the largest number with `P(U <= c - 1) <= alpha/2` for the
/// Mann-Whitney count U without ties. Without ties `p = min(1, 2 min(P(U <= u), P(U >= u)))`; with ties it is the share of all
/// regroupings with |U - nm/2| at least as large, up to 200,000 of them, and beyond that the normal approximation with corrections
/// for ties and for steps of one half. Beyond 40,000 pairs that serves in all cases.
///
/// # Errors
/// [`BadGroups`] for an empty group, more than [`MAX_GROUP`] values, and values that are not finite or too far apart.
pub fn shift(a: &[f64], b: &[f64], level: Level) -> Result<Shift, BadGroups> {
    check('a', a)?;
    check('b', b)?;
    let mut differences: Vec<f64> = a.iter().flat_map(|x| b.iter().map(move |y| x - y)).collect();
    if differences.iter().any(|it| !it.is_finite()) {
        return Err(BadGroups::Range);
    }
    differences.sort_by(f64::total_cmp);
    let (p_value, method) = p_value(a, b);
    Ok(Shift {
        shift: middle(&differences).ok_or(BadGroups::Range)?,
        interval: if a.len().min(b.len()) < MIN_SHIFT {
            None
        } else {
            from_outside(&differences, outside(a.len(), b.len(), level))
        },
        p_value,
        method,
    })
}

fn check(group: char, values: &[f64]) -> Result<(), BadGroups> {
    if values.is_empty() || values.len() > MAX_GROUP {
        return Err(BadGroups::Size { group, n: values.len() });
    }
    match (1..).zip(values).find(|(_, value)| !value.is_finite()) {
        Some((place, &value)) => Err(BadGroups::Value { group, place, value }),
        None => Ok(()),
    }
}

/// The median of a sorted list.
pub(crate) fn middle(sorted: &[f64]) -> Option<f64> {
    let n = sorted.len();
    Some(f64::midpoint(*sorted.get(n.checked_sub(1)? / 2)?, *sorted.get(n / 2)?))
}

/// The `c`-th value from either end of a sorted list; `None` for c = 0.
pub(crate) fn from_outside(sorted: &[f64], c: usize) -> Option<Limits> {
    let low = *sorted.get(c.checked_sub(1)?)?;
    let high = *sorted.get(sorted.len().checked_sub(c)?)?;
    Some(Limits { low, high })
}

/// How many steps of a cumulated distribution lie within the tail that the level leaves.
pub(crate) fn steps_within(cumulated: &[f64], level: Level) -> usize {
    cumulated.partition_point(|p| *p <= level.tail() + SLACK)
}

/// The largest c with `P(U <= c - 1) <= alpha/2`.
fn outside(n: usize, m: usize, level: Level) -> usize {
    let pairs = n * m;
    if pairs <= EXACT_PAIRS {
        return steps_within(&rank_sums::mann_whitney(n, m, pairs / 2), level);
    }
    let (n, m, pairs) = (n as f64, m as f64, pairs as f64);
    whole(pairs / 2.0 - level.z() * (pairs * (n + m + 1.0) / 12.0).sqrt() + 0.5)
}

/// The whole part of a number that may be below 0.
pub(crate) fn whole(x: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "far below 2^53, and held to 0"
    )]
    let whole = x.max(0.0) as usize;
    whole
}

fn p_value(a: &[f64], b: &[f64]) -> (f64, Method) {
    let pooled: Vec<f64> = a.iter().chain(b).copied().collect();
    let ranks = ranks::doubled(&pooled);
    let ties = ranks::ties(&ranks);
    let (n, m) = (a.len(), b.len());
    let pairs = n * m;
    // Twice the rank sum of `a`, and twice the count U of pairs in which `a` is above.
    let sum: i64 = ranks.iter().take(n).sum();
    let least = n * (n + 1);
    let twice_u = usize::try_from(sum).unwrap_or_default().saturating_sub(least);
    let off = twice_u.abs_diff(pairs);
    let tied = ties.len() < pooled.len();
    if !tied && pairs <= EXACT_PAIRS {
        // The distribution is symmetric, so the smaller tail is that of the smaller count.
        let smaller = (pairs - off) / 2;
        let tail = rank_sums::mann_whitney(n, m, smaller).last().copied().unwrap_or(1.0);
        return ((2.0 * tail).min(1.0), Method::Exact);
    }
    if tied && choices(n + m, n.min(m)) <= REGROUPINGS {
        let k = n.min(m);
        // |2 R - k (N + 1)| = |2 U - n m|, for either group.
        let middle = i64::try_from(k * (n + m + 1)).unwrap_or(i64::MAX);
        let far = i64::try_from(off).unwrap_or(i64::MAX);
        return (rank_sums::regroupings(&ranks, k, middle, far), Method::Regroupings);
    }
    let (pairs, all) = (pairs as f64, (n + m) as f64);
    let lost: f64 = ties.iter().map(|t| *t as f64).map(|t| t * (t * t - 1.0)).sum();
    let variance = pairs / 12.0 * (all + 1.0 - lost / (all * (all - 1.0)));
    let z = (off as f64 / 2.0 - 0.5).max(0.0) / variance.sqrt();
    // All values equal: no variance, nothing found.
    let p = if variance > 0.0 { (2.0 * normal::cdf(-z)).min(1.0) } else { 1.0 };
    (p, Method::Normal)
}

/// How many choices of k of n there are, or some number beyond [`REGROUPINGS`].
fn choices(n: usize, k: usize) -> u128 {
    let mut count: u128 = 1;
    for i in 1..=k {
        count = count * (n - k + i) as u128 / i as u128;
        if count > REGROUPINGS {
            break;
        }
    }
    count
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

    const A: [f64; 4] = [52.45, 61.3, 62.35, 69.95];
    const B: [f64; 5] = [44.05, 52.25, 65.75, 68.2, 71.5];

    /// R 4.2.2 `wilcox.test(exact = TRUE, conf.int = TRUE)`.
    #[test]
    fn check_7_9_shift_agrees_with_r() {
        let it = shift(&A, &B, Level::NINETY_FIVE).unwrap();
        near(it.shift, -0.675, 1e-9);
        let interval = it.interval.unwrap();
        near(interval.low, -15.75, 1e-9);
        near(interval.high, 18.3, 1e-9);
        near(it.p_value, 1.0, 0.0);
        assert_eq!(it.method, Method::Exact);
        let interval = shift(&A, &B, Level::NINETY).unwrap().interval.unwrap();
        near(interval.low, -13.3, 1e-9);
        near(interval.high, 17.7, 1e-9);
    }

    /// scipy 1.17.1 `mannwhitneyu(method="exact")`, and by hand: the smallest two-sided p of 3 and 3 is 2/20.
    #[test]
    fn untied_groups_have_an_exact_p() {
        let it = shift(&[1.0, 2.0, 3.0], &[4.0, 5.0, 6.0], Level::NINETY).unwrap();
        near(it.p_value, 0.1, 1e-12);
        assert_eq!(it.interval, None);
        let a = [1.0, 2.0, 3.0, 4.0, 6.0];
        let b = [5.0, 7.0, 8.0, 9.0, 10.0, 11.0];
        near(shift(&a, &b, Level::NINETY).unwrap().p_value, 0.008_658_008_658_008_658, 1e-12);
    }

    /// All regroupings counted with Python's itertools; the normal approximation by scipy 1.17.1
    /// `mannwhitneyu(method="asymptotic")`.
    #[test]
    fn tied_groups_are_regrouped_or_approximated() {
        let a = [1.0, 2.0, 2.0, 3.0];
        let b = [2.0, 3.0, 4.0, 4.0, 5.0];
        let it = shift(&a, &b, Level::NINETY).unwrap();
        near(it.p_value, 0.087_301_587_301_587_3, 1e-12);
        assert_eq!(it.method, Method::Regroupings);
        let a: Vec<f64> = (0..30).map(|it| f64::from(it * 7 % 11)).collect();
        let b: Vec<f64> = (0..25).map(|it| f64::from(it * 5 % 13)).collect();
        let it = shift(&a, &b, Level::NINETY).unwrap();
        near(it.p_value, 0.420_471_290_743_854_7, 1e-10);
        assert_eq!(it.method, Method::Normal);
        let it = shift(&[5.0; 30], &[5.0; 30], Level::NINETY).unwrap();
        near(it.p_value, 1.0, 0.0);
        near(it.shift, 0.0, 0.0);
    }

    /// scipy 1.17.1 `mannwhitneyu(method="asymptotic")`.
    #[test]
    fn large_groups_are_approximated() {
        let a: Vec<f64> = (0..300).map(|it| f64::from(it * 7919 % 1009)).collect();
        let b: Vec<f64> = (0..300).map(|it| f64::from(it * 104_729 % 1009) + 0.5).collect();
        let it = shift(&a, &b, Level::NINETY).unwrap();
        assert_eq!(it.method, Method::Normal);
        near(it.p_value, 0.687_677_483_282_986_6, 1e-9);
        // The approximate limits hold the same number of differences as the definition to a few in 90,000.
        let exact = steps_within(&rank_sums::mann_whitney(150, 150, 11_250), Level::NINETY);
        let near_it = {
            let pairs = 22_500.0_f64;
            whole(pairs / 2.0 - Level::NINETY.z() * (pairs * 301.0 / 12.0).sqrt() + 0.5)
        };
        assert!(exact.abs_diff(near_it) <= 3, "{exact} and {near_it}");
    }

    #[test]
    fn groups_that_cannot_be_compared_are_refused() {
        assert_eq!(shift(&[], &B, Level::NINETY), Err(BadGroups::Size { group: 'a', n: 0 }));
        assert!(matches!(
            shift(&A, &[1.0, f64::NAN], Level::NINETY),
            Err(BadGroups::Value { group: 'b', place: 2, .. })
        ));
        assert_eq!(shift(&[1e308], &[-1e308], Level::NINETY), Err(BadGroups::Range));
        assert!(shift(&vec![0.0; MAX_GROUP + 1], &B, Level::NINETY).is_err());
    }

    fn group() -> impl Strategy<Value = Vec<f64>> {
        // Whole numbers tie often.
        prop::collection::vec((0_i32..12).prop_map(f64::from), 1..9)
    }

    proptest! {
        #[test]
        fn swapping_the_groups_mirrors_the_shift(a in group(), b in group()) {
            let (one, other) = (shift(&a, &b, Level::NINETY).unwrap(), shift(&b, &a, Level::NINETY).unwrap());
            prop_assert!((one.shift + other.shift).abs() < 1e-12);
            prop_assert!((one.p_value - other.p_value).abs() < 1e-12);
            prop_assert_eq!(one.interval.map(|it| (it.low, it.high)), other.interval.map(|it| (-it.high, -it.low)));
        }

        #[test]
        fn moving_a_group_moves_the_shift_as_far(a in group(), b in group(), far in -20_i32..20) {
            let far = f64::from(far);
            let moved: Vec<f64> = a.iter().map(|it| it + far).collect();
            let (one, other) = (shift(&a, &b, Level::NINETY).unwrap(), shift(&moved, &b, Level::NINETY).unwrap());
            prop_assert!((one.shift + far - other.shift).abs() < 1e-12);
            if let (Some(one), Some(wide)) = (one.interval, shift(&a, &b, Level::NINETY_FIVE).unwrap().interval) {
                prop_assert!(wide.low <= one.low && one.high <= wide.high);
                prop_assert!(one.low <= other.shift - far && other.shift - far <= one.high);
            }
        }

        #[test]
        fn the_order_of_values_changes_nothing(
            (a, shuffled) in group().prop_flat_map(|it| (Just(it.clone()), Just(it).prop_shuffle())),
            b in group(),
        ) {
            prop_assert_eq!(shift(&a, &b, Level::NINETY), shift(&shuffled, &b, Level::NINETY));
        }
    }
}
