//! What is shown instead when there are too few products for a statement.

use crate::{
    gates::{
        MIN_BCA, MIN_CURVE, MIN_FLAT, MIN_MEDIAN_90, MIN_MEDIAN_95, MIN_PERCENTILE, MIN_QUARTILES,
        MIN_RANK, MIN_SHIFT, MIN_SUPERLATIVE, MIN_TAU_INTERVAL, MIN_TAU_P, MIN_VALUE,
    },
    prevalence::Quantity,
};

/// A statement that needs so many products.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// A list in the order of ranks.
    RankList,
    /// The best, the worst, the only one.
    Superlative,
    /// Value points against one level for all prices.
    ValueLevel,
    /// Value points against a line over prices.
    ValueLine,
    /// Unbeaten for the money.
    Unbeaten,
    /// One product clearly beats another.
    Dominance,
    /// A word for a share of the market.
    MarketShare(Quantity),
    /// Limits of a median, 90 %.
    MedianInterval90,
    /// Limits of a median, 95 %.
    MedianInterval95,
    /// Quartiles.
    Quartiles,
    /// A percentile rank.
    PercentileRank,
    /// A shift between two groups; counted in the smaller one.
    Shift,
    /// A rank correlation with its p.
    Tau,
    /// Limits of a rank correlation.
    TauInterval,
    /// Limits by drawing the same values again.
    Bootstrap,
    /// How often each product takes each rank over many weights.
    Acceptability,
}

/// Whether a statement may be shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shown {
    /// There are enough.
    Yes,
    /// There are not.
    Instead {
        /// How many it needs.
        needs: usize,
        /// What is shown in its place, a phrase.
        what: String,
    },
}

impl Method {
    /// All of them, in the order in which they are listed.
    pub const ALL: [Method; 19] = [
        Method::RankList,
        Method::Superlative,
        Method::ValueLevel,
        Method::ValueLine,
        Method::Unbeaten,
        Method::Dominance,
        Method::MarketShare(Quantity::Most),
        Method::MarketShare(Quantity::Few),
        Method::MarketShare(Quantity::NearlyAll),
        Method::MarketShare(Quantity::AboutHalf),
        Method::MedianInterval90,
        Method::MedianInterval95,
        Method::Quartiles,
        Method::PercentileRank,
        Method::Shift,
        Method::Tau,
        Method::TauInterval,
        Method::Bootstrap,
        Method::Acceptability,
    ];

    /// How many products it needs.
    #[must_use]
    pub fn needs(self) -> usize {
        match self {
            Method::RankList => MIN_RANK,
            Method::Superlative => MIN_SUPERLATIVE,
            Method::ValueLevel => MIN_FLAT,
            Method::ValueLine => MIN_CURVE,
            Method::Unbeaten => MIN_VALUE,
            Method::Dominance | Method::Acceptability => 2,
            Method::MarketShare(quantity) => quantity.least_opened() as usize,
            Method::MedianInterval90 => MIN_MEDIAN_90,
            Method::MedianInterval95 => MIN_MEDIAN_95,
            Method::Quartiles => MIN_QUARTILES,
            Method::PercentileRank => MIN_PERCENTILE,
            Method::Shift => MIN_SHIFT,
            Method::Tau => MIN_TAU_P,
            Method::TauInterval => MIN_TAU_INTERVAL,
            Method::Bootstrap => MIN_BCA,
        }
    }

    /// Whether it may be shown of `n` products, and what is shown instead.
    #[must_use]
    pub fn shown(self, n: usize) -> Shown {
        let needs = self.needs();
        if n >= needs {
            return Shown::Yes;
        }
        let products = if n == 1 { "1 product".to_owned() } else { format!("{n} products") };
        let what = match self {
            Method::RankList => format!("not ranked: {products}, in the order of their prices"),
            Method::Superlative => format!("the best of the {n} we opened"),
            Method::ValueLevel => {
                format!("score and price side by side: {products} show no usual score")
            }
            Method::ValueLine => {
                format!("against the median of all scores: {products} show no line over prices")
            }
            Method::Unbeaten => format!("cannot be judged: {products} in this band"),
            Method::Dominance => format!("nothing to compare with: {products} in this band"),
            Method::MarketShare(_) => format!("a count among the {n} we opened"),
            Method::MedianInterval90 | Method::MedianInterval95 => {
                "lowest, middle and highest value as dots".to_owned()
            }
            Method::Quartiles => "every value as a dot".to_owned(),
            Method::PercentileRank => format!("the place among {n}"),
            Method::Shift => "both groups as dots".to_owned(),
            Method::Tau => format!("a dot for each product: {products} are too few to say"),
            Method::TauInterval => format!("no limits: {products} are too few"),
            Method::Bootstrap => "limits by formula, or none".to_owned(),
            Method::Acceptability => {
                "the smallest change of weights that turns the order".to_owned()
            }
        };
        Shown::Instead { needs, what }
    }
}

/// A place among so many, `3rd of 12`.
#[must_use]
pub fn place_of(place: usize, n: usize) -> String {
    let ending = match (place % 10, place % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{place}{ending} of {n}")
}

/// Whether the share `p` of `draws` draws lies so near a threshold that more draws may turn it: within two standard errors,
/// `2 sqrt(p (1 - p)/draws)`.
///
/// Then four times the draws are made, and if that does not help it is called borderline. Editorial.
#[must_use]
pub fn near_threshold(p: f64, threshold: f64, draws: usize) -> bool {
    (p - threshold).abs() <= 2.0 * (p * (1.0 - p) / draws.max(1) as f64).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn check_11_each_method_has_its_number() {
        use Quantity::{AboutHalf, Few, Most, NearlyAll};
        for (method, needs) in [
            (Method::RankList, 5),
            (Method::Superlative, 5),
            (Method::ValueLevel, 5),
            (Method::ValueLine, 10),
            (Method::Unbeaten, 8),
            (Method::Dominance, 2),
            (Method::MarketShare(Most), 5),
            (Method::MarketShare(Few), 11),
            (Method::MarketShare(NearlyAll), 11),
            (Method::MarketShare(AboutHalf), 14),
            (Method::MedianInterval90, 5),
            (Method::MedianInterval95, 6),
            (Method::Quartiles, 8),
            (Method::PercentileRank, 20),
            (Method::Shift, 4),
            (Method::Tau, 5),
            (Method::TauInterval, 8),
            (Method::Bootstrap, 20),
            (Method::Acceptability, 2),
        ] {
            assert_eq!(method.needs(), needs, "{method:?}");
            assert!(Method::ALL.contains(&method));
            assert_eq!(method.shown(needs), Shown::Yes);
            let Shown::Instead { needs: told, what } = method.shown(needs - 1) else {
                panic!("{method:?} is shown of {}", needs - 1);
            };
            assert!(told == needs && !what.is_empty());
        }
    }

    #[test]
    fn what_is_shown_instead_names_the_number() {
        for (method, n, want) in [
            (Method::RankList, 3, "not ranked: 3 products, in the order of their prices"),
            (Method::Superlative, 3, "the best of the 3 we opened"),
            (Method::Unbeaten, 6, "cannot be judged: 6 products in this band"),
            (Method::Dominance, 1, "nothing to compare with: 1 product in this band"),
        ] {
            let Shown::Instead { what, .. } = method.shown(n) else { panic!("{method:?}") };
            assert_eq!(what, want);
        }
    }

    #[test]
    fn places_read_as_they_are_said() {
        for (place, want) in [
            (1, "1st"),
            (2, "2nd"),
            (3, "3rd"),
            (4, "4th"),
            (11, "11th"),
            (12, "12th"),
            (13, "13th"),
        ] {
            assert_eq!(place_of(place, 20), format!("{want} of 20"));
        }
        for (place, want) in [(21, "21st"), (22, "22nd"), (103, "103rd"), (111, "111th")] {
            assert_eq!(place_of(place, 120), format!("{want} of 120"));
        }
    }

    /// By hand: two standard errors of 0.9 in 10,000 draws are 0.006.
    #[test]
    fn a_share_near_the_threshold_asks_for_more_draws() {
        for (p, near) in [(0.9, true), (0.905_8, true), (0.906_1, false), (0.893, false)] {
            assert_eq!(near_threshold(p, 0.9, 10_000), near, "{p}");
        }
        assert!(near_threshold(0.88, 0.9, 1000) && !near_threshold(0.88, 0.9, 4000));
        assert!(!near_threshold(1.0, 0.9, 100));
    }
}
