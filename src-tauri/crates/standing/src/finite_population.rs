//! How many of all the products of a band have something, when the catalogue lists all of them and some were opened.

use statrs::distribution::{DiscreteCDF, Hypergeometric};

use crate::{
    confidence::Level,
    proportion::{MAX_COUNT, Share},
};

/// Counts of a whole population, both ends possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counts {
    /// The fewest that may have it.
    pub low: u32,
    /// The most that may have it.
    pub high: u32,
}

/// A population that does not fit the sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "a population of {population} does not fit {opened} opened; give a whole number from {opened} to {MAX_COUNT}"
)]
pub struct BadPopulation {
    /// The population given.
    pub population: u32,
    /// How many of it were opened.
    pub opened: u32,
}

/// How many of `population` products may have what `opened` of them show.
///
/// The counts M, from k to population - n + k, with `P(X >= k) > alpha/2` and `P(X <= k) > alpha/2` for the hypergeometric X that
/// counts M among n: the Clopper-Pearson idea without replacement. It holds only if the catalogue lists every product of the
/// band and those opened are a fair pick. With all opened, both ends are the count.
///
/// # Errors
/// [`BadPopulation`] unless opened <= population <= [`MAX_COUNT`].
pub fn counts(opened: Share, population: u32, level: Level) -> Result<Counts, BadPopulation> {
    let (k, n) = (opened.k(), opened.n());
    let bad = BadPopulation { population, opened: n };
    if population < n || population > MAX_COUNT {
        return Err(bad);
    }
    let with = |m: u32| Hypergeometric::new(population.into(), m.into(), n.into()).map_err(|_| bad);
    let (fewest, most) = (k, population - n + k);
    // Both tails are monotone in the count, so the ends are found by halving.
    let low = first(fewest, most, |m| Ok(k == 0 || with(m)?.sf(u64::from(k) - 1) > level.tail()))?;
    let high =
        most - first(0, most - low, |down| Ok(with(most - down)?.cdf(k.into()) > level.tail()))?;
    Ok(Counts { low, high })
}

/// The first number from `low` to `high` for which something holds that holds for all after it; `high` if for none before it.
fn first<E>(mut low: u32, mut high: u32, holds: impl Fn(u32) -> Result<bool, E>) -> Result<u32, E> {
    while low < high {
        let middle = low.midpoint(high);
        if holds(middle)? {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    Ok(low)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

    fn of(k: u32, n: u32, population: u32, level: Level) -> (u32, u32) {
        let got = counts(Share::new(k, n).unwrap(), population, level).unwrap();
        (got.low, got.high)
    }

    /// scipy 1.17.1 `hypergeom`, every count tried.
    #[test]
    fn check_7_4_counts_agree_with_scipy() {
        for (k, n, population, want) in [
            (9, 12, 30, (15, 27)),
            (9, 12, 15, (9, 12)),
            (9, 12, 1000, (430, 944)),
            (0, 10, 25, (0, 6)),
            (12, 12, 20, (17, 20)),
            (9, 12, 12, (9, 9)),
        ] {
            assert_eq!(
                of(k, n, population, Level::NINETY_FIVE),
                want,
                "{k} of {n} of {population}"
            );
        }
    }

    /// scipy 1.17.1 `hypergeom.sf` and `binom.sf`.
    #[test]
    fn check_13_tails_of_the_library_agree_with_scipy() {
        use statrs::distribution::Binomial;
        near(Hypergeometric::new(30, 15, 12).unwrap().sf(8), 0.030_216_470_7, 1e-10);
        near(Binomial::new(0.5, 9).unwrap().sf(6), 0.089_843_75, 1e-12);
    }

    #[test]
    fn a_population_below_the_sample_is_refused() {
        let share = Share::new(3, 12).unwrap();
        let error = counts(share, 11, Level::NINETY).unwrap_err().to_string();
        assert!(error.contains("from 12 to 10000"), "{error}");
        assert!(counts(share, MAX_COUNT + 1, Level::NINETY).is_err());
    }

    proptest! {
        #[test]
        fn counts_follow_the_definition(
            (k, n, population) in (1_u32..20, 0_u32..30).prop_flat_map(|(n, more)| (0..=n, Just(n), Just(n + more))),
            level in 0.5..0.99_f64,
        ) {
            let level = Level::new(level).unwrap();
            let possible = |m: u32| {
                let it = Hypergeometric::new(population.into(), m.into(), n.into()).unwrap();
                (k == 0 || it.sf(u64::from(k) - 1) > level.tail()) && it.cdf(k.into()) > level.tail()
            };
            let all: Vec<u32> = (k..=population - n + k).filter(|m| possible(*m)).collect();
            prop_assert_eq!(of(k, n, population, level), (all[0], all[all.len() - 1]));
        }
    }
}
