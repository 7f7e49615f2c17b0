//! Who is beaten for certain: as good a score for as little money, whatever the missing findings turn out to be.

use crate::rank::{Interval, quantise};

/// A product's price and score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer {
    price: f64,
    score: Interval,
}

/// A price that is none.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "the price {price} is out of range; give a finite number above 0, in currency units per pair"
)]
pub struct BadPrice {
    /// The price found.
    pub price: f64,
}

impl Offer {
    /// A score for a real price per pair in currency units.
    ///
    /// # Errors
    /// [`BadPrice`] unless the price is finite and above 0.
    pub fn new(price: f64, score: Interval) -> Result<Self, BadPrice> {
        if price.is_finite() && price > 0.0 {
            Ok(Offer { price, score })
        } else {
            Err(BadPrice { price })
        }
    }

    /// The real price per pair, currency units.
    #[must_use]
    pub fn price(self) -> f64 {
        self.price
    }

    /// The score, points.
    #[must_use]
    pub fn score(self) -> Interval {
        self.score
    }
}

/// Who is beaten by whom. All places count from 0 in the order given.
#[derive(Debug, Clone, PartialEq)]
pub struct Frontier {
    /// Products that nobody beats for certain, ascending.
    pub members: Vec<usize>,
    /// For every product those that beat it for certain, ascending; empty for members.
    pub beaten_by: Vec<Vec<usize>>,
    /// For every product the price of the cheapest one that is certainly as good, itself included, over its own price; 0 to 1.
    ///
    /// Input efficiency of the free disposal hull (D. Deprins, L. Simar, H. Tulkens, 1984) where all intervals have width 0.
    pub efficiency: Vec<f64>,
}

/// Which products are beaten for certain: j beats i when `price_j <= price_i` and `low_j >= high_i`, one of them strictly.
///
/// For intervals of width 0 this is plain Pareto dominance in price and score; the form for intervals is editorial. Prices and
/// scores are compared after [`quantise`], so twins of equal price and score do not beat each other. Takes O(n^2).
///
/// To be unbeaten is weak evidence: of n products with unrelated price and score, 1 + 1/2 + .. + 1/n are unbeaten on average
/// (J. L. Bentley, H. T. Kung, M. Schkolnick, C. D. Thompson, Journal of the ACM 25 (1978) 536-543).
#[must_use]
pub fn frontier(offers: &[Offer]) -> Frontier {
    let keys: Vec<[i64; 3]> =
        offers.iter().map(|it| [it.price, it.score.low(), it.score.high()].map(quantise)).collect();
    let beats = |j: [i64; 3], i: [i64; 3]| {
        let ([price_j, low_j, _], [price_i, _, high_i]) = (j, i);
        price_j <= price_i && low_j >= high_i && (price_j < price_i || low_j > high_i)
    };
    // A wide interval never beats itself: its low end is below its high end, and a point is level with itself.
    let beaten_by: Vec<Vec<usize>> = keys
        .iter()
        .map(|&i| {
            keys.iter().enumerate().filter(|&(_, &j)| beats(j, i)).map(|(place, _)| place).collect()
        })
        .collect();
    let efficiency = offers
        .iter()
        .zip(&beaten_by)
        .map(|(it, by)| by.iter().map(|&j| offers[j].price).fold(it.price, f64::min) / it.price)
        .collect();
    let members = beaten_by
        .iter()
        .enumerate()
        .filter(|(_, by)| by.is_empty())
        .map(|(place, _)| place)
        .collect();
    Frontier { members, beaten_by, efficiency }
}

/// One step of the line that shows what a price buys for certain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The price from which it holds, currency units per pair.
    pub price: f64,
    /// The best low end up to that price, points.
    pub low: f64,
    /// Whose low end it is, its place from 0 in the order given; of twins the first.
    pub offer: usize,
}

/// The step line of the best certain score up to each price: `f(p) = max {low_j : price_j <= p}`.
///
/// Steps rise strictly in price and score (after [`quantise`]); below the first price the line is not defined. Not every member of
/// the frontier stands on it, since a wide interval may be unbeaten with a low end below the line. Free disposal hull of the low
/// ends (Deprins, Simar, Tulkens 1984).
#[must_use]
pub fn floor_steps(offers: &[Offer]) -> Vec<Step> {
    let mut order: Vec<(i64, i64, usize)> = offers
        .iter()
        .enumerate()
        .map(|(place, it)| (quantise(it.price), -quantise(it.score.low()), place))
        .collect();
    order.sort_unstable();
    let mut best = None;
    order.retain(|&(_, minus_low, _)| {
        let rises = best.is_none_or(|best| minus_low < best);
        if rises {
            best = Some(minus_low);
        }
        rises
    });
    order
        .into_iter()
        .map(|(_, _, offer)| Step {
            price: offers[offer].price,
            low: offers[offer].score.low(),
            offer,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::{INDEX, TWELVE, interval, near};

    fn offer(price: f64, low: f64, high: f64) -> Offer {
        Offer::new(price, interval(low, high)).unwrap()
    }

    fn twelve() -> Vec<Offer> {
        TWELVE.iter().zip(INDEX).map(|(&(_, price, _), score)| offer(price, score, score)).collect()
    }

    fn names(places: &[usize]) -> String {
        places.iter().map(|&it| TWELVE[it].0).collect()
    }

    /// The set agrees with scikit-criteria 0.10's dominance; efficiencies by numpy.
    #[test]
    fn dominance_among_the_twelve_agrees_with_scikit_criteria() {
        let got = frontier(&twelve());
        assert_eq!(names(&got.members), "ACDFIJL");
        let beaten: Vec<_> =
            TWELVE.iter().zip(&got.beaten_by).map(|(it, by)| (it.0, names(by))).collect();
        for (name, by) in beaten {
            let want = match name {
                "B" => "A",
                "E" => "ABCDF",
                "G" | "H" => "F",
                "K" => "FGHIJ",
                _ => "",
            };
            assert_eq!(by, want, "{name}");
        }
        for ((name, _, _), theta) in TWELVE.iter().zip(got.efficiency) {
            let want = match *name {
                "B" => 0.865_771_812_1,
                "E" => 0.648_241_206_0,
                "G" => 0.868_995_633_2,
                "H" => 0.799_196_787_1,
                "K" => 0.665_551_839_5,
                _ => 1.0,
            };
            near(theta, want, 1e-9);
        }
    }

    #[test]
    fn the_floor_of_the_twelve_rises_through_its_frontier() {
        let steps = floor_steps(&twelve());
        assert_eq!(names(&steps.iter().map(|it| it.offer).collect::<Vec<_>>()), "ACDFIJL");
        near(steps[3].price, 199.0, 0.0);
        near(steps[3].low, 69.95, 0.0);
        assert!(floor_steps(&[]).is_empty());
    }

    #[test]
    fn twins_do_not_beat_each_other_and_a_wide_interval_beats_only_below_its_low_end() {
        let sum = 0.1 + 0.2 + 0.3; // 0.6 and a last bit
        let got = frontier(&[offer(100.0, 0.6, 0.6), offer(100.0, sum, sum)]);
        assert_eq!(got.members, [0, 1]);
        let got = frontier(&[
            offer(100.0, 60.0, 80.0),
            offer(120.0, 50.0, 60.0), // beaten: dearer, at best as good as the worst case of the first
            offer(120.0, 50.0, 60.1), // may be better
            offer(100.0, 50.0, 60.0), // same price, may be level
            offer(99.0, 0.0, 1.0),    // cheaper
        ]);
        assert_eq!(got.beaten_by, [vec![], vec![0], vec![], vec![], vec![]]);
        let steps = floor_steps(&[
            offer(100.0, 60.0, 80.0),
            offer(100.0, 60.0, 60.0),
            offer(90.0, 10.0, 99.0),
        ]);
        assert_eq!(steps.iter().map(|it| it.offer).collect::<Vec<_>>(), [2, 0]);
    }

    #[test]
    fn a_price_must_be_above_0() {
        for price in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(Offer::new(price, Interval::UNKNOWN).is_err());
        }
    }

    fn any_offer() -> impl Strategy<Value = Offer> {
        (1_u8..=10, 0_u8..=10, 0_u8..=10).prop_map(|(p, a, b)| {
            offer(f64::from(p), f64::from(a.min(b)) * 10.0, f64::from(a.max(b)) * 10.0)
        })
    }

    proptest! {
        #[test]
        fn widening_an_interval_never_makes_anyone_beaten(
            offers in prop::collection::vec(any_offer(), 1..15),
            at in any::<prop::sample::Index>(),
            down in 0.0..1.0_f64,
            up in 0.0..1.0_f64,
        ) {
            let mut wider = offers.clone();
            let it = &mut wider[at.index(offers.len())];
            let score = it.score;
            it.score = interval(score.low() * (1.0 - down), score.high() + (100.0 - score.high()) * up);
            for (before, after) in frontier(&offers).beaten_by.iter().zip(frontier(&wider).beaten_by) {
                prop_assert!(after.iter().all(|it| before.contains(it)));
            }
        }

        #[test]
        fn whoever_is_beaten_lies_on_or_under_the_floor(offers in prop::collection::vec(any_offer(), 0..15)) {
            let (found, steps) = (frontier(&offers), floor_steps(&offers));
            for (it, by) in offers.iter().zip(&found.beaten_by) {
                let floor = steps.iter().rev().find(|step| step.price <= it.price).unwrap().low;
                prop_assert!(by.is_empty() || it.score.high() <= floor);
            }
        }

        #[test]
        fn the_order_of_offers_changes_nothing(
            (offers, order) in prop::collection::vec(any_offer(), 0..15)
                .prop_flat_map(|it| { let n = it.len(); (Just(it), Just((0..n).collect::<Vec<_>>()).prop_shuffle()) }),
        ) {
            let plain = frontier(&offers);
            let shuffled = frontier(&order.iter().map(|&i| offers[i]).collect::<Vec<_>>());
            for (place, &i) in order.iter().enumerate() {
                let mut by: Vec<usize> = shuffled.beaten_by[place].iter().map(|&j| order[j]).collect();
                by.sort_unstable();
                prop_assert_eq!(&by, &plain.beaten_by[i]);
                prop_assert_eq!(shuffled.efficiency[place].to_bits(), plain.efficiency[i].to_bits());
            }
        }
    }
}
