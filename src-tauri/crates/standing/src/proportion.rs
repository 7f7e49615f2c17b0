//! The share of a market in which something is found, from so many of so many that were opened.

use statrs::function::beta::beta_reg;

use crate::confidence::{Level, Limits};

/// The largest count that is accepted; beyond it the series for the incomplete beta function ends before it has converged.
pub const MAX_COUNT: u32 = 10_000;

/// So many of so many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Share {
    k: u32,
    n: u32,
}

/// Counts that are no share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadShare {
    /// None looked at, or more than [`MAX_COUNT`].
    #[error("{n} were looked at; give a whole number from 1 to {MAX_COUNT}")]
    Total {
        /// The number found.
        n: u32,
    },
    /// More than were looked at.
    #[error("{k} of {n} is no share; give at most as many as were looked at")]
    Part {
        /// How many have it.
        k: u32,
        /// How many were looked at.
        n: u32,
    },
}

impl Share {
    /// `k` of `n`.
    ///
    /// # Errors
    /// [`BadShare`] unless k <= n and 1 <= n <= [`MAX_COUNT`].
    pub fn new(k: u32, n: u32) -> Result<Self, BadShare> {
        if n == 0 || n > MAX_COUNT {
            Err(BadShare::Total { n })
        } else if k > n {
            Err(BadShare::Part { k, n })
        } else {
            Ok(Share { k, n })
        }
    }

    /// How many have it.
    #[must_use]
    pub fn k(self) -> u32 {
        self.k
    }

    /// How many were looked at.
    #[must_use]
    pub fn n(self) -> u32 {
        self.n
    }

    /// `k/n`.
    #[must_use]
    pub fn fraction(self) -> f64 {
        f64::from(self.k) / f64::from(self.n)
    }

    /// The score interval, `(p + z^2/2n +- z sqrt(p(1-p)/n + z^2/4n^2))/(1 + z^2/n)`.
    ///
    /// Its coverage is close to the level on average over all shares, below it for some. E. B. Wilson, Journal of the American
    /// Statistical Association 22 (1927) 209-212; L. D. Brown, T. T. Cai, A. DasGupta, Statistical Science 16 (2001) 101-133
    /// recommend it for few. An end that is 0 or 1 by the formula is so exactly.
    #[must_use]
    pub fn wilson(self, level: Level) -> Limits {
        let (p, n, z) = (self.fraction(), f64::from(self.n), level.z());
        let square = z * z / n;
        let middle = p + square / 2.0;
        let half = z * (p * (1.0 - p) / n + square / n / 4.0).sqrt();
        self.held(Limits {
            low: (middle - half) / (1.0 + square),
            high: (middle + half) / (1.0 + square),
        })
    }

    /// The equal-tailed interval of the beta distribution with `k + 1/2` and `n - k + 1/2`; 0 at k = 0 and 1 at k = n.
    ///
    /// Brown, Cai and DasGupta, 2001, with their change of the two ends.
    #[must_use]
    pub fn jeffreys(self, level: Level) -> Limits {
        let (yes, no) = (f64::from(self.k) + 0.5, f64::from(self.n - self.k) + 0.5);
        self.held(Limits {
            low: beta_quantile(yes, no, level.tail()),
            high: 1.0 - beta_quantile(no, yes, level.tail()),
        })
    }

    /// The exact interval: every share at which neither k or more nor k or fewer is rarer than half of what the level leaves.
    ///
    /// It covers at least as often as the level says, whatever the share. C. J. Clopper, E. S. Pearson, Biometrika 26 (1934)
    /// 404-413; the ends are quantiles of beta distributions with `k, n - k + 1` and `k + 1, n - k`.
    #[must_use]
    pub fn exact(self, level: Level) -> Limits {
        let (yes, no) = (f64::from(self.k), f64::from(self.n - self.k));
        // The two functions give what holds exactly where a count is 0.
        self.held(Limits {
            low: if self.k == 0 { 0.0 } else { beta_quantile(yes, no + 1.0, level.tail()) },
            high: if self.k == self.n {
                1.0
            } else {
                1.0 - beta_quantile(no, yes + 1.0, level.tail())
            },
        })
    }

    /// Limits within 0 to 1, with 0 for none and 1 for all.
    fn held(self, limits: Limits) -> Limits {
        Limits {
            low: if self.k == 0 { 0.0 } else { limits.low.clamp(0.0, 1.0) },
            high: if self.k == self.n { 1.0 } else { limits.high.clamp(0.0, 1.0) },
        }
    }
}

/// The largest share that is not ruled out (at 5 %) by finding none among `n`: `1 - 0.05^(1/n)`, about `3/n`.
///
/// J. A. Hanley, A. Lippman-Hand, JAMA 249 (1983) 1743-1745. 1 for n = 0.
#[must_use]
pub fn zero_bound(n: u32) -> f64 {
    -(0.05_f64.ln() / f64::from(n)).exp_m1()
}

/// The point below which a beta distribution has the probability `p`, by halving; `a`, `b` > 0.
///
/// Halving, since it ends for every level and reaches the last digit.
fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    loop {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            return middle;
        }
        if beta_reg(a, b, middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use statrs::distribution::{Binomial, DiscreteCDF};

    use super::*;
    use crate::fixture::near;

    fn share(k: u32, n: u32) -> Share {
        Share::new(k, n).unwrap()
    }

    /// statsmodels 0.15.0 `proportion_confint`; `binom.test` and `prop.test` of R 4.2.2 agree. Jeffreys at 0/10 and 12/12 with
    /// the ends of the paper, which statsmodels does not have.
    #[test]
    #[rustfmt::skip]
    fn check_7_1_intervals_agree_with_statsmodels_and_r() {
        for (k, n, level, wilson, jeffreys, exact) in [
            (0, 10, 0.95, (0.0, 0.277_532_799_9), (0.0, 0.217_196_267_5), (0.0, 0.308_497_107_8)),
            (7, 9, 0.95, (0.452_588_969_1, 0.936_774_892_9), (0.456_175_566_9, 0.950_698_077_0), (0.399_906_426_3, 0.971_855_026_5)),
            (7, 9, 0.90, (0.503_642_782_4, 0.923_505_262_5), (0.508_363_034_9, 0.932_688_386_4), (0.450_358_350_5, 0.958_976_832_5)),
            (9, 12, 0.90, (0.512_661_968_2, 0.895_347_434_4), (0.516_237_852_6, 0.903_644_523_5), (0.472_673_396_4, 0.928_129_744_5)),
            (12, 12, 0.90, (0.816_018_805_3, 1.0), (0.854_943_481_8, 1.0), (0.779_077_808_1, 1.0)),
            (3, 40, 0.95, (0.025_836_025_8, 0.198_642_335_2), (0.021_576_674_4, 0.186_814_297_2), (0.015_742_179_9, 0.203_864_748_7)),
            (21, 30, 0.90, (0.550_617_503_8, 0.816_292_772_9), (0.552_395_958_0, 0.820_282_905_4), (0.534_927_293_4, 0.833_674_044_4)),
        ] {
            let level = Level::new(level).unwrap();
            let it = share(k, n);
            for (got, want) in [(it.wilson(level), wilson), (it.jeffreys(level), jeffreys), (it.exact(level), exact)] {
                near(got.low, want.0, 1e-9);
                near(got.high, want.1, 1e-9);
            }
        }
        // Before the ends are held, Jeffreys' interval of 0/10 begins at 4.789043e-05 (statsmodels), that of 12/12 ends at 0.9998395508.
        near(beta_quantile(0.5, 10.5, 0.025), 4.789_043e-5, 1e-11);
        near(1.0 - beta_quantile(0.5, 12.5, 0.05), 0.999_839_550_8, 1e-9);
    }

    #[test]
    fn check_7_3_the_bound_of_a_zero_count() {
        for (n, want, rule_of_three) in [
            (5, 0.450_719_728_3, 0.6),
            (10, 0.258_865_550_9, 0.3),
            (12, 0.220_922_191_9, 0.25),
            (20, 0.139_108_340_7, 0.15),
            (30, 0.095_033_852_9, 0.1),
            (59, 0.049_507_609_9, 3.0 / 59.0),
        ] {
            near(zero_bound(n), want, 1e-9);
            near(3.0 / f64::from(n), rule_of_three, 1e-12);
            // The same number by another route: the upper 90 % exact limit of none.
            near(share(0, n).exact(Level::NINETY).high, want, 1e-9);
        }
        near(zero_bound(0), 1.0, 0.0);
    }

    /// scipy 1.17.1: `beta.ppf(.05, 4000, 6001)`, `beta.ppf(.95, 4001, 6000)`, and the same for 1 of 10,000.
    #[test]
    fn limits_of_ten_thousand_agree_with_scipy() {
        let it = share(4000, MAX_COUNT).exact(Level::NINETY);
        near(it.low, 0.391_914_170_884_372_25, 1e-10);
        near(it.high, 0.408_128_900_042_510_57, 1e-10);
        let it = share(1, MAX_COUNT).exact(Level::NINETY);
        near(it.low, 5.129_316_283_767_3e-6, 1e-14);
        near(it.high, 0.000_474_297_659_165_436_8, 1e-12);
    }

    #[test]
    fn counts_that_are_no_share_are_refused() {
        assert_eq!(Share::new(0, 0), Err(BadShare::Total { n: 0 }));
        assert_eq!(Share::new(1, MAX_COUNT + 1), Err(BadShare::Total { n: 10_001 }));
        assert_eq!(Share::new(4, 3), Err(BadShare::Part { k: 4, n: 3 }));
        near(share(3, 4).fraction(), 0.75, 0.0);
        assert_eq!((share(3, 4).k(), share(3, 4).n()), (3, 4));
    }

    fn any_share() -> impl Strategy<Value = Share> {
        (1_u32..400).prop_flat_map(|n| (0..=n).prop_map(move |k| share(k, n)))
    }

    proptest! {
        /// The definition: at its ends the two tails of the binomial distribution are half of what the level leaves.
        #[test]
        fn exact_limits_are_where_the_binomial_tails_are(it in any_share(), level in 0.5..0.999_f64) {
            let level = Level::new(level).unwrap();
            let limits = it.exact(level);
            if it.k() > 0 {
                let tail = Binomial::new(limits.low, it.n().into()).unwrap().sf(u64::from(it.k()) - 1);
                prop_assert!((tail / level.tail() - 1.0).abs() < 1e-8, "{}", tail);
            }
            if it.k() < it.n() {
                let tail = Binomial::new(limits.high, it.n().into()).unwrap().cdf(it.k().into());
                prop_assert!((tail / level.tail() - 1.0).abs() < 1e-8, "{}", tail);
            }
        }

        #[test]
        fn every_interval_holds_the_share_and_widens_with_the_level(
            it in any_share(),
            level in 0.2..0.99_f64,
            more in 0.0..0.009_f64,
        ) {
            let at = |level| {
                let level = Level::new(level).unwrap();
                [it.wilson(level), it.jeffreys(level), it.exact(level)]
            };
            for (at, (narrow, wide)) in at(level).into_iter().zip(at(level + more)).enumerate() {
                prop_assert!(wide.low <= narrow.low + 1e-12 && narrow.high <= wide.high + 1e-12);
                // The other two may leave out a share at low levels.
                if at != 1 {
                    let p = it.fraction();
                    prop_assert!(narrow.low <= p + 1e-12 && p <= narrow.high + 1e-12, "{:?} in {:?}", it, narrow);
                }
                prop_assert!(0.0 <= wide.low && wide.low < wide.high && wide.high <= 1.0);
            }
        }

        #[test]
        fn what_is_not_found_has_the_mirrored_interval(it in any_share(), level in 0.5..0.99_f64) {
            let level = Level::new(level).unwrap();
            let other = share(it.n() - it.k(), it.n());
            for (a, b) in [
                (it.wilson(level), other.wilson(level)),
                (it.jeffreys(level), other.jeffreys(level)),
                (it.exact(level), other.exact(level)),
            ] {
                prop_assert!((a.low - 1.0 + b.high).abs() < 1e-12 && (a.high - 1.0 + b.low).abs() < 1e-12);
            }
        }
    }
}
