//! A price that was probably noted for one speaker where it buys two, or the other way round.

use domain::price::{Basis, Price, PriceDate};

use crate::{deflate::real_pair, summary::quartiles};

/// Prices of one product that differ by less than this factor are told apart by nothing but time and shop (editorial).
const USUAL_STEP: f64 = 1.35;
/// How near the other basis must bring a price to the others before it counts as the likely reading (editorial).
const NEAR: f64 = 1.2;
/// So many other prices are needed to say which one is out of line.
const LEAST_OTHERS: usize = 2;

/// A price with the basis that would bring it in line with the others of the same product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BasisSlip {
    /// Its place among the prices, from 0.
    pub place: usize,
    /// The likely basis.
    pub likely: Basis,
    /// Its real price for two speakers as noted, in units of the base month.
    pub real_pair: f64,
    /// Half or twice of it, as the likely basis makes it.
    pub likely_real_pair: f64,
    /// The median of the other prices, in the same money.
    pub others_median: f64,
}

/// The eligible prices of a product that are out of line by a basis of one for two, in their order.
///
/// A price counts when it is beyond a factor of 1.35 of the median of the others, the other basis brings it within a
/// factor of 1.2, and there are at least two others that are themselves within that factor of their median. Prices that
/// the index cannot convert to `base` are left out. The factors are editorial.
#[must_use]
pub fn basis_slips(prices: &[Price], base: PriceDate) -> Vec<BasisSlip> {
    let real: Vec<(usize, f64)> = prices
        .iter()
        .enumerate()
        .filter(|(_, it)| it.is_eligible())
        .filter_map(|(place, it)| {
            Some((place, real_pair(it.pair_amount(), it.date, base).ok()?.amount))
        })
        .filter(|(_, amount)| *amount > 0.0)
        .collect();
    real.iter().filter_map(|&(place, amount)| slip(prices, &real, place, amount)).collect()
}

fn slip(prices: &[Price], real: &[(usize, f64)], place: usize, amount: f64) -> Option<BasisSlip> {
    let price = prices.get(place)?;
    let others: Vec<f64> =
        real.iter().filter(|(at, _)| *at != place).map(|(_, amount)| *amount).collect();
    if others.len() < LEAST_OTHERS {
        return None;
    }
    let median = quartiles(&others).ok().flatten()?.median;
    let within = |amount: f64, factor: f64| (amount / median).ln().abs() <= factor.ln();
    if within(amount, USUAL_STEP) || !others.iter().all(|it| within(*it, USUAL_STEP)) {
        return None;
    }
    let (likely, factor) = match price.basis {
        Basis::Each => (Basis::Pair, 0.5),
        Basis::Pair => (Basis::Each, 2.0),
        Basis::Set(_) => return None,
    };
    within(amount * factor, NEAR).then_some(BasisSlip {
        place,
        likely,
        real_pair: amount,
        likely_real_pair: amount * factor,
        others_median: median,
    })
}

#[cfg(test)]
mod tests {
    use domain::{
        money::{Currency, Money},
        price::{PriceKind, Seller},
    };

    use super::*;

    fn price(amount: &str, basis: Basis, date: &str) -> Price {
        Price {
            money: Money::parse(amount, Currency::Usd).unwrap(),
            basis,
            date: date.parse().unwrap(),
            kind: PriceKind::Street,
            seller: Seller::Authorised,
            shop: String::new(),
            note: String::new(),
        }
    }

    fn base() -> PriceDate {
        "2026-06".parse().unwrap()
    }

    #[test]
    fn a_price_each_that_was_noted_as_a_pair_is_found() {
        let prices = [
            price("189", Basis::Each, "2025-11-28"),
            price("189", Basis::Each, "2026-07-02"),
            price("189", Basis::Pair, "2026-10-09"),
        ];
        let found = basis_slips(&prices, base());
        assert_eq!(
            found.iter().map(|it| (it.place, it.likely)).collect::<Vec<_>>(),
            [(2, Basis::Each)]
        );
        assert!(
            (found[0].likely_real_pair / found[0].others_median - 1.0).abs() < 0.05,
            "{found:?}"
        );
    }

    #[test]
    fn a_cut_price_and_two_prices_that_disagree_are_left_alone() {
        let cut = [
            price("200", Basis::Pair, "2026-03-01"),
            price("200", Basis::Pair, "2026-05-01"),
            price("150", Basis::Pair, "2026-07-01"),
        ];
        assert_eq!(basis_slips(&cut, base()), []);
        let two =
            [price("200", Basis::Pair, "2026-05-01"), price("200", Basis::Each, "2026-07-01")];
        assert_eq!(basis_slips(&two, base()), []);
    }
}
