//! Whether two things rise together among the products: does price buy a better cabinet?

use pulp::{Arch, Simd, WithSimd};

use crate::{
    confidence::{Level, Limits},
    gates::{DOUBLE_COUNTING, MIN_DOUBLE_COUNTING, MIN_TAU_INTERVAL, MIN_TAU_P},
    permutation, ranks,
};

/// The most pairs of one question.
pub const MAX_PAIRS: usize = 1_000;
/// Up to so many pairs the distribution without ties is exact.
const EXACT: usize = 200;

/// How two lists hang together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Association {
    /// How many pairs.
    pub n: usize,
    /// Kendall's tau-b, -1 to 1.
    pub tau_b: f64,
    /// Of two products that differ in both, the share in which the one with more x has more y; `(1 + tau)/2` without ties.
    pub concordance: f64,
    /// The two-sided probability of so large a tau when nothing hangs together; `None` below [`MIN_TAU_P`] pairs.
    pub p_value: Option<f64>,
    /// The limits of tau; `None` below [`MIN_TAU_INTERVAL`] pairs and at a tau of -1 or 1.
    pub interval: Option<Limits>,
    /// Spearman's rho, -1 to 1.
    pub spearman: f64,
}

impl Association {
    /// Whether two subsystems hang together so closely that they may count the same thing twice ([`DOUBLE_COUNTING`]).
    #[must_use]
    pub fn counts_twice(&self) -> bool {
        self.n >= MIN_DOUBLE_COUNTING && self.tau_b.abs() > DOUBLE_COUNTING
    }
}

/// Pairs of which no correlation can be taken. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadPairs {
    /// Lists of different lengths.
    #[error("x has {x} values and y has {y}; they must be pairs")]
    Lengths {
        /// How many x.
        x: usize,
        /// How many y.
        y: usize,
    },
    /// Fewer than two pairs.
    #[error("{n} pairs hang together in no way; give at least 2")]
    TooFew {
        /// How many there are.
        n: usize,
    },
    /// More than [`MAX_PAIRS`].
    #[error("{n} pairs are too many; give at most {MAX_PAIRS}")]
    TooMany {
        /// How many there are.
        n: usize,
    },
    /// A value that is no finite number.
    #[error("value {place} of {list} is {value}; give finite numbers")]
    Value {
        /// `x` or `y`.
        list: char,
        /// Which value.
        place: usize,
        /// The value found.
        value: f64,
    },
    /// A list whose values are all equal.
    #[error("all values of {list} are equal, so nothing can rise with them")]
    Constant {
        /// `x` or `y`.
        list: char,
    },
}

/// How `x` and `y` hang together; values are compared as they are, so give sums rounded.
///
/// `tau_b = (C - D)/sqrt((n0 - n1)(n0 - n2))` with C pairs of products in the same order, D in the opposite one, `n0 = n(n-1)/2`, and
/// n1, n2 of equal x or y (M. G. Kendall, Biometrika 30 (1938) 81-93 and 33 (1945) 239-251). Spearman's rho is the correlation of the
/// mid-ranks. Without ties and up to 200 pairs p is exact, `min(1, 2 min(P(S <= s), P(S >= s)))`, from the number of orders with so many
/// inversions; else the share of all orders of y to 8 pairs and of 10,000 random ones beyond whose |C - D| is at least as large. The
/// interval is `tanh(atanh(tau) +- z sqrt(0.437/(n - 4)))` (E. C. Fieller, H. O. Hartley, E. S. Pearson, Biometrika 44 (1957) 470-481).
///
/// # Errors
/// [`BadPairs`] for lists of different lengths, fewer than 2 or more than [`MAX_PAIRS`] pairs, values that are not finite, and a list
/// of equal values.
pub fn associate(x: &[f64], y: &[f64], level: Level) -> Result<Association, BadPairs> {
    let pairs = Pairs::new(x, y)?;
    let (s, same, differ) = pairs.kendall();
    let n = x.len();
    let tau_b = (s as f64 / differ).clamp(-1.0, 1.0);
    Ok(Association {
        n,
        tau_b,
        concordance: same,
        p_value: (n >= MIN_TAU_P).then(|| pairs.p_value(s)),
        interval: interval(n, tau_b, level),
        spearman: pairs.spearman(),
    })
}

/// Kendall's tau-b alone, as [`associate`] has it.
///
/// # Errors
/// [`BadPairs`] as for [`associate`].
pub fn tau_b(x: &[f64], y: &[f64]) -> Result<f64, BadPairs> {
    let (s, _, root) = Pairs::new(x, y)?.kendall();
    Ok((s as f64 / root).clamp(-1.0, 1.0))
}

/// The two-sided probability of so large a Spearman's rho when nothing hangs together: among all orders of y to 8 pairs and 10,000
/// random ones beyond; `None` below [`MIN_TAU_P`] pairs.
///
/// # Errors
/// [`BadPairs`] as for [`associate`].
pub fn spearman_p(x: &[f64], y: &[f64]) -> Result<Option<f64>, BadPairs> {
    let pairs = Pairs::new(x, y)?;
    Ok((x.len() >= MIN_TAU_P)
        .then(|| permutation::p_value(&pairs.y, "spearman", |y| centred(&pairs.x, y).abs())))
}

/// Limits of a tau from `n` pairs.
fn interval(n: usize, tau: f64, level: Level) -> Option<Limits> {
    if n < MIN_TAU_INTERVAL || tau.abs() >= 1.0 {
        return None;
    }
    let half = level.z() * (0.437 / (n as f64 - 4.0)).sqrt();
    Some(Limits { low: (tau.atanh() - half).tanh(), high: (tau.atanh() + half).tanh() })
}

/// Twice the mid-ranks of both, ordered by x and then by y, so that the order given decides nothing.
struct Pairs {
    x: Vec<i64>,
    y: Vec<i64>,
    /// How many have a smaller x; they stand before it.
    below: Vec<usize>,
}

impl Pairs {
    fn new(x: &[f64], y: &[f64]) -> Result<Self, BadPairs> {
        let n = x.len();
        if n != y.len() {
            return Err(BadPairs::Lengths { x: n, y: y.len() });
        }
        if n < 2 {
            return Err(BadPairs::TooFew { n });
        }
        if n > MAX_PAIRS {
            return Err(BadPairs::TooMany { n });
        }
        let rank = |list: char, values: &[f64]| {
            if let Some((place, &value)) = (1..).zip(values).find(|(_, value)| !value.is_finite()) {
                return Err(BadPairs::Value { list, place, value });
            }
            let ranks = ranks::doubled(values);
            if ranks::ties(&ranks).len() < 2 {
                return Err(BadPairs::Constant { list });
            }
            Ok(ranks)
        };
        let (x, y) = (rank('x', x)?, rank('y', y)?);
        let mut pairs: Vec<(i64, i64)> = x.into_iter().zip(y).collect();
        pairs.sort_unstable();
        let (x, y): (Vec<i64>, _) = pairs.into_iter().unzip();
        let below = x.iter().map(|it| x.partition_point(|other| other < it)).collect();
        Ok(Pairs { x, y, below })
    }

    /// C - D, the share C/(C + D), and the denominator of tau-b.
    fn kendall(&self) -> (i64, f64, f64) {
        let pairs_of = |t: usize| (t * t.saturating_sub(1) / 2) as f64;
        let tied = |ranks: &[i64]| ranks::ties(ranks).into_iter().map(pairs_of).sum::<f64>();
        let all = pairs_of(self.x.len());
        let s = self.concordant(&self.y);
        let differ = self.sum_over_pairs(&self.y, |a, b| i16::from(a != b));
        let root = ((all - tied(&self.x)) * (all - tied(&self.y))).sqrt();
        // Both lists vary, so some pair differs in both.
        (s, f64::midpoint(1.0, s as f64 / differ.max(1) as f64), root)
    }

    /// C - D for an order of y.
    fn concordant(&self, y: &[i64]) -> i64 {
        self.sum_over_pairs(y, |a, b| i16::from(a < b) - i16::from(a > b))
    }

    /// A count over all pairs of smaller and larger x, given their y.
    fn sum_over_pairs(&self, y: &[i64], count: impl Fn(i16, i16) -> i16) -> i64 {
        // Twice the rank of at most a thousand fits, and so does a count of them; short words are compared many at once.
        let y: Vec<i16> = y.iter().map(|it| i16::try_from(*it).unwrap_or(i16::MAX)).collect();
        Arch::new().dispatch(Sum { y: &y, below: &self.below, count })
    }

    fn p_value(&self, s: i64) -> f64 {
        let n = self.x.len();
        let untied = |ranks: &[i64]| ranks::ties(ranks).len() == n;
        if n <= EXACT && untied(&self.x) && untied(&self.y) {
            let pairs = n * (n - 1) / 2;
            let off = usize::try_from(s.abs()).unwrap_or(pairs);
            // Inversions on the rarer side; both sides are equally likely.
            return (2.0 * at_most_inversions(n, (pairs - off.min(pairs)) / 2)).min(1.0);
        }
        permutation::p_value(&self.y, "kendall", |y| self.concordant(y).abs())
    }

    fn spearman(&self) -> f64 {
        let products = centred(&self.x, &self.y) as f64;
        let squares = |ranks: &[i64]| centred(ranks, ranks) as f64;
        (products / (squares(&self.x) * squares(&self.y)).sqrt()).clamp(-1.0, 1.0)
    }
}

/// A count over all pairs, vectorised for the processor at hand.
struct Sum<'a, F> {
    y: &'a [i16],
    below: &'a [usize],
    count: F,
}

impl<F: Fn(i16, i16) -> i16> WithSimd for Sum<'_, F> {
    type Output = i64;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> i64 {
        let Sum { y, below, count } = self;
        let mut sum = 0;
        for (b, below) in y.iter().zip(below) {
            let mut of_one = 0_i16;
            for a in &y[..*below] {
                of_one += count(*a, *b);
            }
            sum += i64::from(of_one);
        }
        sum
    }
}

/// `n sum a b - sum a sum b`, exact for ranks of up to [`MAX_PAIRS`].
fn centred(a: &[i64], b: &[i64]) -> i64 {
    let n = i64::try_from(a.len()).unwrap_or(i64::MAX);
    let products: i64 = a.iter().zip(b).map(|(a, b)| a * b).sum();
    n * products - a.iter().sum::<i64>() * b.iter().sum::<i64>()
}

/// The probability that a random order of `n` has at most `v` inversions, v at most half of all.
///
/// The m-th entry adds 0 to m - 1 inversions, all equally likely.
fn at_most_inversions(n: usize, v: usize) -> f64 {
    let mut p: Vec<f64> = std::iter::once(1.0).chain(std::iter::repeat_n(0.0, v)).collect();
    for m in 2..=n {
        let mut sums = Vec::with_capacity(v + 1);
        let mut sum = 0.0;
        for p in &p {
            sum += p;
            sums.push(sum);
        }
        let before = std::iter::repeat_n(&0.0, m).chain(&sums);
        p = sums.iter().zip(before).map(|(to, before)| (to - before) / m as f64).collect();
    }
    p.iter().sum()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::{
        fixture::{INDEX, TWELVE, near},
        multiple::holm,
    };

    fn of(x: &[f64], y: &[f64]) -> Association {
        associate(x, y, Level::NINETY_FIVE).unwrap()
    }

    fn subsystem(at: usize) -> Vec<f64> {
        TWELVE.iter().map(|it| it.2[at]).collect()
    }

    fn prices() -> Vec<f64> {
        TWELVE.iter().map(|it| it.1).collect()
    }

    /// scipy 1.17.1 `kendalltau`.
    #[test]
    fn check_1_1_subsystems_of_the_twelve_agree_with_scipy() {
        for (a, b, want) in [
            (0, 1, 0.242_424),
            (0, 2, 0.363_636),
            (0, 3, 0.333_333),
            (1, 2, 0.272_727),
            (1, 3, 0.727_273),
            (2, 3, 0.060_606),
        ] {
            let it = of(&subsystem(a), &subsystem(b));
            near(it.tau_b, want, 5e-7);
            assert_eq!(it.counts_twice(), (a, b) == (1, 3));
            assert!(!of(&subsystem(a)[..9], &subsystem(b)[..9]).counts_twice());
        }
    }

    /// scipy 1.17.1 `kendalltau` and `spearmanr`.
    #[test]
    fn check_8_price_and_subsystems_agree_with_scipy() {
        for (at, want) in
            [(0, 0.400_047_345_7), (1, 0.369_274_473_0), (2, 0.461_593_091_2), (3, 0.400_047_345_7)]
        {
            near(of(&prices(), &subsystem(at)).tau_b, want, 1e-9);
        }
        let crossover = of(&prices(), &subsystem(2));
        near(crossover.spearman, 0.624_565_248_2, 1e-9);
        // By the formula, in numpy 2.4.6.
        let interval = crossover.interval.unwrap();
        near(interval.low, 0.041_227_829_8, 1e-9);
        near(interval.high, 0.743_122_254_6, 1e-9);
        // Two prices are shared by two products each, so p comes from shuffles: about the asymptotic 0.0732, 0.0982, 0.0387, 0.0732.
        let p: Vec<f64> = (0..4).map(|at| of(&prices(), &subsystem(at)).p_value.unwrap()).collect();
        for (got, want) in
            p.iter().zip([0.073_240_462_5, 0.098_222_077_1, 0.038_741_838_5, 0.073_240_462_5])
        {
            near(*got, want, 0.015);
        }
        assert!(holm(&p).unwrap().iter().all(|p| *p > 0.05), "{p:?}");
    }

    /// `cor.test(exact = TRUE)` of R 4.2.2, and all 5040 orders by Python's itertools.
    #[test]
    fn check_8_exact_values_agree_with_r() {
        let x = [129.0, 149.0, 159.0, 179.0, 209.0, 229.0, 249.0];
        let y = [52.0, 48.0, 70.0, 63.0, 75.0, 68.0, 80.0];
        let it = of(&x, &y);
        near(it.tau_b, 0.619_047_619_0, 1e-9);
        near(it.p_value.unwrap(), 0.069_047_619_0, 1e-9);
        near(it.spearman, 0.785_714_285_7, 1e-9);
        near(spearman_p(&x, &y).unwrap().unwrap(), 0.048_015_873_0, 1e-9);
        // Without ties (1 + tau)/2: 17 of 21 pairs.
        near(it.concordance, 17.0 / 21.0, 1e-12);
        assert_eq!(it.interval, None);
    }

    /// scipy 1.17.1 `kendalltau` for tau; all 720 orders by Python's itertools for p.
    #[test]
    fn check_8_ties_are_permuted() {
        let x = [129.0, 149.0, 149.0, 179.0, 199.0, 199.0];
        let y = [52.0, 48.0, 52.0, 63.0, 63.0, 80.0];
        let it = of(&x, &y);
        near(it.tau_b, 0.692_307_692_3, 1e-9);
        near(it.p_value.unwrap(), 0.122_222_222_2, 1e-9);
    }

    /// scipy 1.17.1 `kendalltau(method="exact")`.
    #[test]
    fn exact_tails_of_many_pairs_agree_with_scipy() {
        for (n, factor, p) in [
            (12, 5, 4.175_351_397_573_62e-9),
            (33, 7, 2.070_063_735_530_06e-13),
            (60, 31, 0.324_343_155_341_036_75),
            (200, 77, 0.508_092_538_420_721_2),
        ] {
            let x: Vec<f64> = (0..n).map(f64::from).collect();
            let y: Vec<f64> = (0..n).map(|it| f64::from(it * factor % 211)).collect();
            let got = of(&x, &y).p_value.unwrap();
            assert!((got / p - 1.0).abs() < 1e-9, "{n}: {got:e} instead of {p:e}");
        }
        // By hand: all 30 in order, 2/30!.
        let x: Vec<f64> = (0..30).map(f64::from).collect();
        let factorial: f64 = (1..=30).map(f64::from).product();
        let it = of(&x, &x);
        assert!((it.p_value.unwrap() * factorial / 2.0 - 1.0).abs() < 1e-12);
        assert_eq!((it.tau_b, it.interval), (1.0, None));
    }

    /// Beyond 200 pairs of unrelated lists shuffles find nothing; scipy 1.17.1 asymptotic p is 0.4983.
    #[test]
    fn more_pairs_are_shuffled() {
        let x: Vec<f64> = (0..250).map(f64::from).collect();
        let y: Vec<f64> = (0..250).map(|it| f64::from(it * 7919 % 1009)).collect();
        near(of(&x, &y).p_value.unwrap(), 0.4983, 0.02);
    }

    #[test]
    fn few_pairs_have_less() {
        for (n, p, interval) in [
            (2, false, false),
            (4, false, false),
            (5, true, false),
            (7, true, false),
            (8, true, true),
        ] {
            let it = of(&prices()[..n], &INDEX[..n]);
            assert_eq!((it.p_value.is_some(), it.interval.is_some()), (p, interval), "{n}");
        }
        assert_eq!(spearman_p(&prices()[..4], &INDEX[..4]), Ok(None));
    }

    #[test]
    fn what_is_no_list_of_pairs_is_refused() {
        let refused = |x: &[f64], y: &[f64]| associate(x, y, Level::NINETY).unwrap_err();
        assert_eq!(refused(&[1.0, 2.0], &[1.0]), BadPairs::Lengths { x: 2, y: 1 });
        assert_eq!(refused(&[1.0], &[1.0]), BadPairs::TooFew { n: 1 });
        assert_eq!(refused(&[1.0, 1.0], &[1.0, 2.0]), BadPairs::Constant { list: 'x' });
        assert_eq!(refused(&[1.0, 2.0], &[0.0, -0.0]), BadPairs::Constant { list: 'y' });
        assert!(matches!(
            refused(&[1.0, 2.0], &[1.0, f64::NAN]),
            BadPairs::Value { list: 'y', place: 2, .. }
        ));
        let many = vec![0.0; MAX_PAIRS + 1];
        assert_eq!(refused(&many, &many), BadPairs::TooMany { n: 1001 });
    }

    fn any_pairs() -> impl Strategy<Value = Vec<(f64, f64)>> {
        prop::collection::vec((0_i32..9, 0_i32..9).prop_map(|(x, y)| (x.into(), y.into())), 2..12)
    }

    proptest! {
        // Each case tries thousands of orders.
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn the_order_of_pairs_changes_nothing(
            (pairs, shuffled) in any_pairs().prop_flat_map(|it| (Just(it.clone()), Just(it).prop_shuffle())),
        ) {
            let split = |pairs: &[(f64, f64)]| pairs.iter().copied().unzip::<f64, f64, Vec<_>, Vec<_>>();
            let ((x, y), (u, v)) = (split(&pairs), split(&shuffled));
            prop_assert_eq!(associate(&x, &y, Level::NINETY), associate(&u, &v, Level::NINETY));
        }

        #[test]
        fn turning_one_list_round_turns_the_sign(pairs in any_pairs()) {
            let (x, y): (Vec<f64>, Vec<f64>) = pairs.into_iter().unzip();
            let back: Vec<f64> = y.iter().map(|it| -it).collect();
            if let (Ok(one), Ok(other)) = (associate(&x, &y, Level::NINETY), associate(&x, &back, Level::NINETY)) {
                prop_assert!((one.tau_b + other.tau_b).abs() < 1e-15);
                prop_assert!((one.spearman + other.spearman).abs() < 1e-15);
                prop_assert!((one.concordance + other.concordance - 1.0).abs() < 1e-12);
                prop_assert!(one.tau_b.abs() <= 1.0 && (0.0..=1.0).contains(&one.concordance));
                if let Some(limits) = one.interval {
                    prop_assert!(limits.low < one.tau_b && one.tau_b < limits.high);
                }
            }
        }

        /// The exact distribution is the share of all orders.
        #[test]
        fn exact_and_permuted_values_agree(y in Just((0..7).map(f64::from).collect::<Vec<_>>()).prop_shuffle()) {
            let x: Vec<f64> = (0..7).map(f64::from).collect();
            let pairs = Pairs::new(&x, &y).unwrap();
            let permuted = permutation::p_value(&pairs.y, "kendall", |y| pairs.concordant(y).abs());
            let exact = associate(&x, &y, Level::NINETY).unwrap().p_value.unwrap();
            prop_assert!((exact - permuted).abs() < 1e-12, "{} and {}", exact, permuted);
        }
    }
}
