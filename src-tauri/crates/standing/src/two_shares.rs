//! Whether a thing is commoner in one group of products than in another.

use std::fmt;

use statrs::distribution::{Discrete, Hypergeometric};

use crate::{
    confidence::{Level, Limits},
    proportion::Share,
};

/// Tables whose probabilities differ by less than this factor count as equally likely; sums of logarithms differ that much.
const EQUAL: f64 = 1.0 + 1e-7;
/// A difference is called one when chance makes one as rare as this at most this often.
const CALLED: f64 = 0.05;

/// Two shares and what tells them apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoShares {
    /// The first.
    pub a: Share,
    /// The second.
    pub b: Share,
    /// The exact two-sided probability of a table as rare as this one when both groups are alike.
    pub p_value: f64,
    /// Limits of `share a - share b`, -1 to 1.
    pub difference: Limits,
}

/// Compares two shares.
///
/// `p_value` is R. A. Fisher's exact test: the probability of all tables with the same margins that are no more likely than
/// this one. `difference` is the hybrid of two score intervals of R. G. Newcombe, Statistics in Medicine 17 (1998) 873-890:
/// `d - sqrt((p1 - l1)^2 + (u2 - p2)^2)` to `d + sqrt((u1 - p1)^2 + (p2 - l2)^2)`.
#[must_use]
pub fn compare(a: Share, b: Share, level: Level) -> TwoShares {
    let (one, two) = (a.wilson(level), b.wilson(level));
    let (p, q) = (a.fraction(), b.fraction());
    let difference = Limits {
        low: p - q - (p - one.low).hypot(two.high - q),
        high: p - q + (one.high - p).hypot(q - two.low),
    };
    TwoShares { a, b, p_value: fisher(a, b), difference }
}

fn fisher(a: Share, b: Share) -> f64 {
    let yes = a.k() + b.k();
    let Ok(tables) =
        Hypergeometric::new(u64::from(a.n()) + u64::from(b.n()), yes.into(), a.n().into())
    else {
        // Margins of two shares always make a table.
        return 1.0;
    };
    let this = tables.pmf(a.k().into());
    let rarer = (yes.saturating_sub(b.n())..=yes.min(a.n()))
        .map(|k| tables.pmf(k.into()))
        .filter(|p| *p <= this * EQUAL);
    rarer.sum::<f64>().min(1.0)
}

impl fmt::Display for TwoShares {
    /// `7 of 9 against 4 of 11; too few to call a difference`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (a, b) = (self.a, self.b);
        write!(f, "{} of {} against {} of {}; ", a.k(), a.n(), b.k(), b.n())?;
        if self.p_value <= CALLED {
            write!(f, "chance alone would seldom do this (p = {:.3})", self.p_value)
        } else {
            f.write_str("too few to call a difference")
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

    fn share(k: u32, n: u32) -> Share {
        Share::new(k, n).unwrap()
    }

    /// scipy 1.17.1 `fisher_exact`; statsmodels 0.15.0 `confint_proportions_2indep(method="newcomb")`.
    #[test]
    fn check_7_5_two_shares_agree_with_scipy_and_statsmodels() {
        let it = compare(share(7, 9), share(4, 11), Level::NINETY_FIVE);
        near(it.p_value, 0.092_283_877_1, 1e-9);
        near(it.difference.low, -0.016_659_359_0, 1e-9);
        near(it.difference.high, 0.679_117_005_8, 1e-9);
        assert_eq!(it.to_string(), "7 of 9 against 4 of 11; too few to call a difference");
    }

    /// The tea tasting of R. A. Fisher, The Design of Experiments, 1935: 34 of 70 tables for 3 of 4 right, 2 of 70 for all right.
    #[test]
    fn the_lady_tasting_tea() {
        near(compare(share(3, 4), share(1, 4), Level::NINETY).p_value, 34.0 / 70.0, 1e-12);
        let all = compare(share(4, 4), share(0, 4), Level::NINETY);
        near(all.p_value, 2.0 / 70.0, 1e-12);
        assert_eq!(
            all.to_string(),
            "4 of 4 against 0 of 4; chance alone would seldom do this (p = 0.029)"
        );
    }

    proptest! {
        #[test]
        fn swapping_the_groups_mirrors_the_answer(
            (a, n) in (1_u32..60).prop_flat_map(|n| (0..=n, Just(n))),
            (b, m) in (1_u32..60).prop_flat_map(|n| (0..=n, Just(n))),
        ) {
            let one = compare(share(a, n), share(b, m), Level::NINETY);
            let other = compare(share(b, m), share(a, n), Level::NINETY);
            prop_assert!((one.p_value - other.p_value).abs() < 1e-9);
            prop_assert!((one.difference.low + other.difference.high).abs() < 1e-12);
            prop_assert!(0.0 < one.p_value && one.p_value <= 1.0);
            let d = one.a.fraction() - one.b.fraction();
            prop_assert!(one.difference.low <= d + 1e-12 && d <= one.difference.high + 1e-12);
            prop_assert!(-1.0 - 1e-12 <= one.difference.low && one.difference.high <= 1.0 + 1e-12);
        }
    }
}
