//! A priced product with what is drawn of it, as questions about value take it.

use std::ops::Range;

use crate::profile::Profile;
use crate::theil_sen::MAX_POINTS;
use crate::value::BadValue;
use crate::weighting::Weightings;

/// A product of the reference set: the band and a little beyond ([`crate::value::serves`]).
#[derive(Debug, Clone, Copy)]
pub struct Offered<'a> {
    /// What tells it from the others for good; names its stream of random numbers.
    pub key: &'a str,
    /// The real price per pair, currency units.
    pub price: f64,
    /// The index as it is printed, points.
    pub nominal: f64,
    /// What is drawn of it.
    pub profile: Profile<'a>,
    /// Whether it is in the band; others serve the curve alone.
    pub in_band: bool,
}

impl Offered<'_> {
    /// Its scores in a range of draws, millionths of a point.
    pub(crate) fn micropoints<'b>(
        &'b self,
        weights: &'b Weightings,
        draws: Range<usize>,
    ) -> impl Iterator<Item = i64> + 'b {
        draws.map(|d| self.profile.micropoints(weights.row(d), self.profile.place(d)))
    }
}

/// The places of the offers in the order of their keys, on which no answer depends otherwise.
///
/// # Errors
/// [`BadValue`] for an offer or a number of draws that cannot be used.
pub(crate) fn by_key(
    offers: &[Offered<'_>],
    weights: &Weightings,
    draws: usize,
) -> Result<Vec<usize>, BadValue> {
    if offers.len() > MAX_POINTS {
        return Err(BadValue::TooMany { found: offers.len() });
    }
    if draws == 0 || draws > weights.draws() {
        return Err(BadValue::Draws { wanted: draws, found: weights.draws() });
    }
    for (place, it) in (1..).zip(offers) {
        if !(it.price.is_finite() && it.price > 0.0) {
            return Err(BadValue::Price { place, price: it.price });
        }
        if !(0.0..=100.0).contains(&it.nominal) {
            return Err(BadValue::Score { place, score: it.nominal });
        }
        let found = it.profile.parts().len();
        if found != weights.n_parts() {
            return Err(BadValue::Parts { place, found, wanted: weights.n_parts() });
        }
    }
    let mut order: Vec<usize> = (0..offers.len()).collect();
    order.sort_unstable_by_key(|&it| offers[it].key);
    match order.windows(2).find(|it| offers[it[0]].key == offers[it[1]].key) {
        Some(twins) => Err(BadValue::Key { key: offers[twins[0]].key.to_owned() }),
        None => Ok(order),
    }
}

#[cfg(test)]
pub(crate) mod made;
