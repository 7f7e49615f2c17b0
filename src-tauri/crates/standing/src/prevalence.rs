//! How common something is in a market, told from the products that were opened.
//!
//! Some of them may be undetermined: not looked at, or not to be told. They count as "no" at the low end and as "yes" at the
//! high end, so that not looking never helps a claim. A claim about the market needs limits that hold whatever the market is
//! (the exact ones, 90 %); the safe form "7 of the 9 we opened" is always at hand.

use std::fmt;

use crate::{
    confidence::{Level, Limits},
    gates::{MIN_FEW, MIN_HALF, MIN_MOST},
    proportion::{BadShare, Share, zero_bound},
};

/// A word for a share of the market. The edges besides one half are editorial.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// More than a half.
    Most,
    /// Less than a quarter.
    Few,
    /// More than three quarters.
    NearlyAll,
    /// From a quarter to three quarters.
    AboutHalf,
}

/// What the products that were opened say about the market.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MarketVerdict {
    /// The whole interval lies within the word's range.
    Supported,
    /// The whole interval lies outside of it.
    Contradicted,
    /// Neither.
    NotSupported,
    /// So few were opened that no count could support it.
    TooFew,
}

/// Counts of which the unknown and the yes do not fit the number opened, or that are no share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadPrevalence {
    /// More than were opened.
    #[error("{yes} with it and {unknown} undetermined are more than the {opened} opened")]
    TooMany {
        /// How many have it.
        yes: u32,
        /// How many are undetermined.
        unknown: u32,
        /// How many were opened.
        opened: u32,
    },
    /// None opened, or too many.
    #[error(transparent)]
    Share(#[from] BadShare),
}

/// So many with it and so many undetermined among those opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Prevalence {
    /// Those that surely have it.
    yes: Share,
    /// Those that may have it.
    possible: Share,
}

impl Quantity {
    /// All of them.
    pub const ALL: [Quantity; 4] =
        [Quantity::Most, Quantity::Few, Quantity::NearlyAll, Quantity::AboutHalf];

    /// The word in a sentence.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Quantity::Most => "most",
            Quantity::Few => "few",
            Quantity::NearlyAll => "nearly all",
            Quantity::AboutHalf => "about half",
        }
    }

    /// How many must be opened before any count could support it.
    #[must_use]
    pub fn least_opened(self) -> u32 {
        match self {
            Quantity::Most => MIN_MOST,
            Quantity::Few | Quantity::NearlyAll => MIN_FEW,
            Quantity::AboutHalf => MIN_HALF,
        }
    }

    /// The shares that it stands for; an end at 0 or 1 is no limit.
    fn range(self) -> (f64, f64) {
        match self {
            Quantity::Most => (0.5, 1.0),
            Quantity::Few => (0.0, 0.25),
            Quantity::NearlyAll => (0.75, 1.0),
            Quantity::AboutHalf => (0.25, 0.75),
        }
    }

    fn judge(self, found: Limits) -> MarketVerdict {
        let (low, high) = self.range();
        let above = |x: f64| low <= 0.0 || x > low;
        let below = |x: f64| high >= 1.0 || x < high;
        if above(found.low) && below(found.high) {
            MarketVerdict::Supported
        } else if (low > 0.0 && found.high < low) || (high < 1.0 && found.low > high) {
            MarketVerdict::Contradicted
        } else {
            MarketVerdict::NotSupported
        }
    }

    /// The counts among `opened` determined products that would support it, smallest and largest; `None` if none would.
    ///
    /// # Errors
    /// [`BadShare`] for no products or more than [`crate::proportion::MAX_COUNT`].
    pub fn counts_needed(self, opened: u32) -> Result<Option<(u32, u32)>, BadShare> {
        let mut needed = None;
        // A share's limits rise with its count, so the counts that support it lie side by side.
        for k in 0..=opened {
            let limits = Share::new(k, opened)?.exact(Level::NINETY);
            if self.judge(limits) == MarketVerdict::Supported {
                needed = Some(needed.map_or((k, k), |(first, _)| (first, k)));
            } else if needed.is_some() {
                break;
            }
        }
        Ok(needed.filter(|_| opened >= self.least_opened()))
    }
}

impl MarketVerdict {
    /// The word in files.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            MarketVerdict::Supported => "supported",
            MarketVerdict::Contradicted => "contradicted",
            MarketVerdict::NotSupported => "not_supported",
            MarketVerdict::TooFew => "too_few",
        }
    }
}

impl Prevalence {
    /// `yes` have it and `unknown` are undetermined among `opened`.
    ///
    /// # Errors
    /// [`BadPrevalence`] unless yes + unknown <= opened, and for counts that are no [`Share`].
    pub fn new(yes: u32, unknown: u32, opened: u32) -> Result<Self, BadPrevalence> {
        match yes.checked_add(unknown) {
            Some(possible) if possible <= opened => Ok(Prevalence {
                yes: Share::new(yes, opened)?,
                possible: Share::new(possible, opened)?,
            }),
            _ => Err(BadPrevalence::TooMany { yes, unknown, opened }),
        }
    }

    /// How many surely have it.
    #[must_use]
    pub fn yes(self) -> u32 {
        self.yes.k()
    }

    /// How many are undetermined.
    #[must_use]
    pub fn unknown(self) -> u32 {
        self.possible.k() - self.yes.k()
    }

    /// How many were opened.
    #[must_use]
    pub fn opened(self) -> u32 {
        self.yes.n()
    }

    /// The share among those opened, with every undetermined one a no and with every one a yes.
    #[must_use]
    pub fn bounds(self) -> Limits {
        Limits { low: self.yes.fraction(), high: self.possible.fraction() }
    }

    /// Score limits of the share of the market ([`Share::wilson`]): the low one with the undetermined as no, the high one as yes.
    #[must_use]
    pub fn wilson(self, level: Level) -> Limits {
        self.ends(|it| it.wilson(level))
    }

    /// The same by [`Share::jeffreys`].
    #[must_use]
    pub fn jeffreys(self, level: Level) -> Limits {
        self.ends(|it| it.jeffreys(level))
    }

    /// The same by [`Share::exact`], which decides.
    #[must_use]
    pub fn exact(self, level: Level) -> Limits {
        self.ends(|it| it.exact(level))
    }

    fn ends(self, limits: impl Fn(Share) -> Limits) -> Limits {
        Limits { low: limits(self.yes).low, high: limits(self.possible).high }
    }

    /// Whether the market may be spoken of so: by the 90 % exact limits, each a one-sided test at 5 %.
    #[must_use]
    pub fn verdict(self, quantity: Quantity) -> MarketVerdict {
        if self.opened() < quantity.least_opened() {
            MarketVerdict::TooFew
        } else {
            quantity.judge(self.exact(Level::NINETY))
        }
    }

    /// The largest share of the market that finding none does not rule out (at 5 %); `None` unless none has it and all are
    /// determined.
    #[must_use]
    pub fn zero_bound(self) -> Option<f64> {
        (self.possible.k() == 0).then(|| zero_bound(self.opened()))
    }

    /// What can be said in any case.
    #[must_use]
    pub fn safe(self) -> Safe {
        let limits = self.exact(Level::NINETY);
        Safe { yes: self.yes(), unknown: self.unknown(), opened: self.opened(), limits }
    }
}

/// The sentence that holds whatever the market is: a count, with the limits for a market of which those opened are typical.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Safe {
    /// How many have it.
    pub yes: u32,
    /// How many are undetermined.
    pub unknown: u32,
    /// How many were opened.
    pub opened: u32,
    /// The 90 % exact limits of the share of the market.
    pub limits: Limits,
}

impl fmt::Display for Safe {
    /// `7 of the 9 we opened; if these are typical, 45 % to 96 % of those at this price`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.yes {
            0 => write!(f, "none of the {} we opened", self.opened)?,
            yes => write!(f, "{yes} of the {} we opened", self.opened)?,
        }
        if self.unknown > 0 {
            write!(f, "; {} more could not be told", self.unknown)?;
        }
        let (low, high) = (self.limits.low * 100.0, self.limits.high * 100.0);
        match self.yes {
            0 => write!(
                f,
                "; if these are typical, up to {high:.0} % of those at this price could still"
            ),
            _ => write!(
                f,
                "; if these are typical, {low:.0} % to {high:.0} % of those at this price"
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use MarketVerdict::{Contradicted, NotSupported, Supported, TooFew};
    use Quantity::{AboutHalf, Few, Most, NearlyAll};
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

    fn of(yes: u32, unknown: u32, opened: u32) -> Prevalence {
        Prevalence::new(yes, unknown, opened).unwrap()
    }

    /// Bounds by hand; limits by statsmodels 0.15.0 `proportion_confint(method="beta")`.
    #[test]
    fn check_4_5_undetermined_ones_widen_both_ways() {
        let it = of(9, 2, 14);
        near(it.bounds().low, 0.642_857_142_9, 1e-9);
        near(it.bounds().high, 0.785_714_285_7, 1e-9);
        near(it.exact(Level::NINETY).low, 0.390_414_867_5, 1e-9);
        near(it.exact(Level::NINETY).high, 0.938_897_071_1, 1e-9);
        assert_eq!((it.yes(), it.unknown(), it.opened()), (9, 2, 14));
        let it = of(7, 2, 12);
        near(it.bounds().low, 0.583_333_333_3, 1e-9);
        near(it.bounds().high, 0.75, 1e-9);
    }

    /// The counts at which scipy 1.17.1 `binomtest(k, n, 0.5, "greater")` first gives p <= 0.05.
    #[test]
    #[rustfmt::skip]
    fn check_7_2_most_needs_so_many() {
        for (n, want) in [
            (5, 5), (6, 6), (7, 7), (8, 7), (9, 8), (10, 9), (11, 9), (12, 10), (13, 10), (14, 11), (15, 12), (16, 12), (17, 13),
            (18, 13), (19, 14), (20, 15), (25, 18), (30, 20), (40, 26), (50, 32), (100, 59),
        ] {
            assert_eq!(Most.counts_needed(n), Ok(Some((want, n))), "of {n}");
        }
        for n in 1..=4 {
            assert_eq!(Most.counts_needed(n), Ok(None), "of {n}");
            assert_eq!(of(n, 0, n).verdict(Most), TooFew);
        }
        // What rules without the guarantee would let pass.
        assert_eq!(of(7, 0, 9).verdict(Most), NotSupported);
        assert_eq!(of(3, 0, 3).verdict(Most), TooFew);
    }

    /// scipy 1.17.1 `binomtest(k, n, 0.5, "greater")`.
    #[test]
    fn check_7_2_most_is_a_one_sided_binomial_test() {
        use statrs::distribution::{Binomial, DiscreteCDF};
        for (k, n, want) in [
            (5, 5, 0.031_25),
            (6, 7, 0.062_5),
            (7, 8, 0.035_156_25),
            (9, 12, 0.072_998_046_875),
            (10, 12, 0.019_287_109_375),
            (20, 30, 0.049_368_573_4),
        ] {
            let p = Binomial::new(0.5, u64::from(n)).unwrap().sf(u64::from(k) - 1);
            near(p, want, 1e-10);
            assert_eq!(of(k, 0, n).verdict(Most) == Supported, p <= 0.05, "{k} of {n}");
        }
    }

    /// Clopper-Pearson limits by statsmodels 0.15.0 for every count.
    #[test]
    fn check_7_2_few_nearly_all_and_about_half_need_so_many() {
        for (n, most) in (11..=17).map(|n| (n, 0)).chain((18..=20).map(|n| (n, 1))) {
            assert_eq!(Few.counts_needed(n), Ok(Some((0, most))), "of {n}");
        }
        for (n, most) in [(25, 2), (30, 3), (40, 5), (50, 7), (100, 17)] {
            assert_eq!(Few.counts_needed(n), Ok(Some((0, most))), "of {n}");
        }
        for (n, least) in [
            (11, 11),
            (12, 12),
            (15, 15),
            (18, 17),
            (20, 19),
            (25, 23),
            (30, 27),
            (40, 35),
            (50, 43),
        ] {
            assert_eq!(NearlyAll.counts_needed(n), Ok(Some((least, n))), "of {n}");
        }
        for (n, want) in [(14, (7, 7)), (16, (8, 8)), (19, (9, 10)), (20, (9, 11))] {
            assert_eq!(AboutHalf.counts_needed(n), Ok(Some(want)), "of {n}");
        }
        for n in 1..=10 {
            assert_eq!((Few.counts_needed(n), NearlyAll.counts_needed(n)), (Ok(None), Ok(None)));
        }
        for n in 1..=13 {
            assert_eq!(AboutHalf.counts_needed(n), Ok(None), "of {n}");
        }
    }

    /// Every gate is the first number at which some count supports the word.
    #[test]
    fn gates_stand_where_the_exact_limits_first_clear_the_range() {
        for quantity in Quantity::ALL {
            let first = (1..=20).find(|n| {
                (0..=*n).any(|k| {
                    let limits = Share::new(k, *n).unwrap().exact(Level::NINETY);
                    quantity.judge(limits) == Supported
                })
            });
            assert_eq!(first, Some(quantity.least_opened()), "{}", quantity.word());
        }
    }

    /// Exact limits of statsmodels 0.15.0: 9 of 12 are 0.4727 to 0.9281, 13 of 15 begin at 0.6366.
    #[test]
    fn check_9_5_verdicts_about_a_market() {
        for (yes, unknown, opened, quantity, want) in [
            (9, 0, 12, Most, NotSupported),
            (10, 0, 12, Most, Supported),
            (13, 1, 15, Most, Supported),
            (10, 2, 14, Most, NotSupported),
            (1, 0, 12, Most, Contradicted),
            (1, 6, 12, Most, NotSupported),
            (0, 0, 5, Most, Contradicted),
            (0, 0, 11, Few, Supported),
            (0, 1, 11, Few, NotSupported),
            (6, 0, 11, Few, Contradicted),
            (5, 0, 11, Few, NotSupported),
            (11, 0, 11, NearlyAll, Supported),
            (5, 0, 11, NearlyAll, Contradicted),
            (6, 0, 11, NearlyAll, NotSupported),
            (10, 0, 10, NearlyAll, TooFew),
            (0, 0, 10, Few, TooFew),
            (7, 0, 14, AboutHalf, Supported),
            (14, 0, 14, AboutHalf, Contradicted),
            (0, 0, 14, AboutHalf, Contradicted),
            (7, 1, 14, AboutHalf, NotSupported),
        ] {
            assert_eq!(
                of(yes, unknown, opened).verdict(quantity),
                want,
                "{yes} + {unknown} of {opened} {quantity:?}"
            );
        }
        near(of(13, 1, 15).exact(Level::NINETY).low, 0.636_558_234_5, 1e-9);
    }

    #[test]
    fn the_safe_form_is_a_count_with_its_limits() {
        for ((yes, unknown, opened), want) in [
            (
                (7, 0, 9),
                "7 of the 9 we opened; if these are typical, 45 % to 96 % of those at this price",
            ),
            (
                (9, 2, 14),
                "9 of the 14 we opened; 2 more could not be told; if these are typical, 39 % to 94 % of those at this price",
            ),
            (
                (0, 0, 12),
                "none of the 12 we opened; if these are typical, up to 22 % of those at this price could still",
            ),
        ] {
            assert_eq!(of(yes, unknown, opened).safe().to_string(), want);
        }
        near(of(0, 0, 12).zero_bound().unwrap(), 0.220_922_191_9, 1e-9);
        assert_eq!((of(0, 1, 12).zero_bound(), of(1, 0, 12).zero_bound()), (None, None));
    }

    #[test]
    fn counts_that_do_not_fit_are_refused() {
        assert_eq!(
            Prevalence::new(9, 4, 12),
            Err(BadPrevalence::TooMany { yes: 9, unknown: 4, opened: 12 })
        );
        assert!(Prevalence::new(u32::MAX, 2, 12).is_err());
        assert_eq!(Prevalence::new(0, 0, 0), Err(BadPrevalence::Share(BadShare::Total { n: 0 })));
        assert_eq!(Most.counts_needed(0), Err(BadShare::Total { n: 0 }));
        assert_eq!(TooFew.word(), "too_few");
        assert_eq!(NotSupported.word(), "not_supported");
    }

    proptest! {
        #[test]
        fn looking_at_an_undetermined_one_never_widens_and_never_turns_a_verdict(
            (yes, unknown, opened) in (1_u32..40).prop_flat_map(|n| {
                (1..=n).prop_flat_map(move |unknown| (0..=n - unknown, Just(unknown), Just(n)))
            }),
            found in any::<bool>(),
        ) {
            let before = of(yes, unknown, opened);
            let after = of(yes + u32::from(found), unknown - 1, opened);
            for (wide, narrow) in [
                (before.exact(Level::NINETY), after.exact(Level::NINETY)),
                (before.wilson(Level::NINETY), after.wilson(Level::NINETY)),
                (before.jeffreys(Level::NINETY), after.jeffreys(Level::NINETY)),
            ] {
                prop_assert!(wide.low <= narrow.low && narrow.high <= wide.high);
            }
            for quantity in Quantity::ALL {
                let verdict = before.verdict(quantity);
                if verdict != NotSupported {
                    prop_assert_eq!(after.verdict(quantity), verdict);
                }
            }
        }
    }
}
