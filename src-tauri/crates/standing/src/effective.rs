//! One price per product out of all that were observed.

use std::fmt;

use domain::{
    Date,
    money::Currency,
    price::{BadDate, Price, PriceDate},
};

use crate::{
    cpi::{self, NoLevel},
    deflate::{Flag, Real, real_pair},
    gates::STALE_DAYS,
    rank::quantise,
    summary::quartiles,
};

/// The price that stands for a product.
#[derive(Debug, Clone, PartialEq)]
pub struct Effective {
    /// Real price for two speakers, in currency units of the base month.
    pub real_pair: f64,
    /// The place, from 0, of the observed price nearest to it: what to show as the nominal price with its own basis and date.
    pub nominal: usize,
    /// Age in days of the newest usable price when it is older than [`STALE_DAYS`]; `None` when fresh.
    pub stale: Option<i32>,
    /// How many observed prices it is the median of.
    pub n_observations: usize,
    /// What their conversion rests on, ascending, each once.
    pub flags: Vec<Flag>,
    /// What was observed and not used.
    pub left_out: LeftOut,
}

/// Counts of observed prices that cannot stand for what a buyer pays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LeftOut {
    /// Sale, used or marketplace prices.
    pub ineligible: usize,
    /// Dated after the day asked for.
    pub future: usize,
    /// In another currency than the catalogue's.
    pub other_currency: usize,
    /// With a date or an amount that the price index cannot convert.
    pub not_convertible: usize,
}

/// Why a product has no effective price.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoPrice {
    /// The catalogue's currency has no price index on board.
    #[error("no price index for {}, so no real prices; the index on board is for USD", .currency.word())]
    NoIndex {
        /// The catalogue's currency.
        currency: Currency,
    },
    /// The base month has no level of the index.
    #[error("base month: {0}")]
    Base(NoLevel),
    /// The day asked for is outside the years that prices can have.
    #[error("day of the ranking: {0}")]
    AsOf(BadDate),
    /// No observed price can be used.
    #[error(
        "no usable price: a list or street price of a new product from its maker or an authorised dealer is needed ({0})"
    )]
    NoneUsable(LeftOut),
}

impl fmt::Display for LeftOut {
    /// `2 sale, used or marketplace, 1 in another currency left out`, or `none left out`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let counts = [
            (self.ineligible, "sale, used or marketplace"),
            (self.future, "dated in the future"),
            (self.other_currency, "in another currency"),
            (self.not_convertible, "not convertible by the price index"),
        ];
        let mut before = "";
        for (count, what) in counts.into_iter().filter(|(count, _)| *count > 0) {
            write!(f, "{before}{count} {what}")?;
            before = ", ";
        }
        f.write_str(if before.is_empty() { "none left out" } else { " left out" })
    }
}

/// An observed price that can be used.
struct Usable {
    place: usize,
    age: i32,
    real: Real,
}

/// The effective price of a product on the day `as_of`, in units of `base` (a month, or a year for its average).
///
/// Every usable price is first brought to the base month; the effective price is the median (type 8, [`crate::summary`]) of those
/// dated in the 180 days before `as_of` ([`STALE_DAYS`]), that day included. Without one it is the newest usable price, marked with
/// its age; of several on that day the median. Usable is a list or street price of a new product from the maker or an authorised
/// dealer, in the catalogue's `currency`, dated up to `as_of`. A date of month or year precision counts from its nominal day, and
/// is in the future only when all of it is. The window and the choice of the median are editorial.
///
/// # Errors
/// [`NoPrice`] with the reason; only [`Currency::Usd`] has a price index.
pub fn effective_price(
    prices: &[Price],
    currency: Currency,
    as_of: Date,
    base: PriceDate,
) -> Result<Effective, NoPrice> {
    if currency != Currency::Usd {
        return Err(NoPrice::NoIndex { currency });
    }
    cpi::level(base).map_err(NoPrice::Base)?;
    // In this form a day is compared with a month or a year: one that has begun by that day comes before it.
    let today: PriceDate = as_of.to_string().parse().map_err(NoPrice::AsOf)?;
    let mut left_out = LeftOut::default();
    let mut usable = Vec::with_capacity(prices.len());
    for (place, price) in prices.iter().enumerate() {
        if !price.is_eligible() {
            left_out.ineligible += 1;
        } else if price.money.currency != currency {
            left_out.other_currency += 1;
        } else if price.date > today {
            left_out.future += 1;
        } else if let Ok(real) = real_pair(price.pair_amount(), price.date, base) {
            // Below 0 in a month or a year that has begun: as fresh as can be.
            let age = (as_of - price.date.nominal_day()).get_days();
            usable.push(Usable { place, age, real });
        } else {
            left_out.not_convertible += 1;
        }
    }
    let newest = usable.iter().map(|it| it.age).min().ok_or(NoPrice::NoneUsable(left_out))?;
    let stale = (newest > STALE_DAYS).then_some(newest);
    usable.retain(|it| it.age <= stale.unwrap_or(STALE_DAYS));

    let amounts: Vec<f64> = usable.iter().map(|it| it.real.amount).collect();
    let median = quartiles(&amounts).ok().flatten().map(|it| it.median);
    let nearest = |median: f64| {
        usable.iter().min_by_key(|it| {
            (quantise((it.real.amount - median).abs()), it.age, quantise(it.real.amount), it.place)
        })
    };
    let (real_pair, nominal) = median
        .and_then(|median| nearest(median).map(|it| (median, it.place)))
        .ok_or(NoPrice::NoneUsable(left_out))?;
    let mut flags: Vec<Flag> = usable.iter().flat_map(|it| it.real.flags.iter().copied()).collect();
    flags.sort_unstable();
    flags.dedup();
    Ok(Effective { real_pair, nominal, stale, n_observations: usable.len(), flags, left_out })
}

#[cfg(test)]
mod tests {
    use domain::{
        money::Money,
        price::{Basis, PriceKind, Seller},
    };
    use proptest::prelude::*;

    use super::*;
    use crate::fixture::near;

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

    fn pair(amount: &str, date: &str) -> Price {
        price(amount, Basis::Pair, date)
    }

    fn effective(prices: &[Price], as_of: &str, base: &str) -> Result<Effective, NoPrice> {
        effective_price(prices, Currency::Usd, as_of.parse().unwrap(), base.parse().unwrap())
    }

    #[test]
    fn it_is_the_median_of_the_fresh_prices_per_pair() {
        // All in the base month, so real equals nominal.
        let prices = [
            pair("240", "2024-06-02"),
            price("99.50", Basis::Each, "2024-06-03"),
            price("630", Basis::Set(6), "2024-06-04"),
        ];
        let got = effective(&prices, "2024-06-30", "2024-06").unwrap();
        near(got.real_pair, 210.0, 1e-9);
        assert_eq!((got.nominal, got.stale, got.n_observations), (2, None, 3));
        assert!(got.flags.is_empty() && got.left_out == LeftOut::default());
        // Of two, the mean; the newer one of two equally near ones is shown.
        let got = effective(&prices[..2], "2024-06-30", "2024-06").unwrap();
        near(got.real_pair, 219.5, 1e-9);
        assert_eq!(got.nominal, 1);
    }

    /// The first amount by the Python package cpi 2.1.0.
    #[test]
    fn an_old_price_is_deflated_and_marked_with_its_age() {
        let prices = [pair("249", "2021-03"), pair("300", "2019")];
        let got = effective(&prices, "2024-06-15", "2024-06").unwrap();
        near(got.real_pair, 295.343_027_140_9, 1e-9);
        // From 2021-03-15, which stands for its month, by hand: 3 x 365 days, one leap day, and 92 days to 15 June.
        assert_eq!((got.nominal, got.stale, got.n_observations), (0, Some(3 * 365 + 1 + 92), 1));
        let got = effective(&prices[1..], "2024-06-15", "2024-06").unwrap();
        assert_eq!(got.flags, [Flag::FromYearOnly]);
    }

    #[test]
    fn the_window_holds_180_days() {
        // 180 days before 2024-06-29 is 2024-01-01: 30 + 29 + 31 + 30 + 31 + 29 days.
        let got = effective(
            &[pair("200", "2024-01-01"), pair("100", "2023-12-31")],
            "2024-06-29",
            "2024-01",
        )
        .unwrap();
        assert_eq!((got.n_observations, got.stale), (1, None));
        near(got.real_pair, 200.0, 1e-9);
        let got = effective(&[pair("200", "2024-01-01")], "2024-06-30", "2024-01").unwrap();
        assert_eq!((got.n_observations, got.stale), (1, Some(181)));
    }

    #[test]
    fn what_does_not_stand_for_a_price_today_is_counted_and_left_out() {
        let sale = Price { kind: PriceKind::Sale, ..pair("90", "2024-06-01") };
        let used = Price { seller: Seller::Used, ..pair("80", "2024-06-01") };
        let euro =
            Price { money: Money::parse("70", Currency::Eur).unwrap(), ..pair("70", "2024-06-01") };
        let prices = [
            sale,
            used,
            euro,
            pair("60", "2024-07"),
            pair("50", "2009-05"),
            pair("200", "2024-06-01"),
        ];
        let left_out = LeftOut { ineligible: 2, future: 1, other_currency: 1, not_convertible: 1 };
        let got = effective(&prices, "2024-06-30", "2024-06").unwrap();
        assert_eq!((got.nominal, got.n_observations, got.left_out), (5, 1, left_out));
        assert_eq!(
            effective(&prices[..5], "2024-06-30", "2024-06"),
            Err(NoPrice::NoneUsable(left_out))
        );
        let text = effective(&prices[..5], "2024-06-30", "2024-06").unwrap_err().to_string();
        assert!(text.contains("(2 sale, used or marketplace, 1 dated in the future, 1 in another currency, 1 not conv"), "{text}");
        let text = effective(&[], "2024-06-30", "2024-06").unwrap_err().to_string();
        assert!(text.contains("(none left out)"), "{text}");
    }

    #[test]
    fn a_month_or_year_that_has_begun_is_not_in_the_future() {
        for (date, usable) in [
            ("2024-06", true),
            ("2024", true),
            ("2024-06-10", true),
            ("2024-06-11", false),
            ("2024-07", false),
        ] {
            assert_eq!(
                effective(&[pair("200", date)], "2024-06-10", "2024-06").is_ok(),
                usable,
                "{date}"
            );
        }
        assert_eq!(
            effective(&[pair("200", "2024-06")], "2024-06-10", "2024-06").unwrap().stale,
            None
        );
    }

    #[test]
    fn a_currency_without_index_and_a_base_without_level_are_refused() {
        let prices = [pair("200", "2024-06-01")];
        let as_of: Date = "2024-06-30".parse().unwrap();
        let error =
            effective_price(&prices, Currency::Eur, as_of, "2024-06".parse().unwrap()).unwrap_err();
        assert_eq!(error, NoPrice::NoIndex { currency: Currency::Eur });
        assert!(error.to_string().contains("no price index for EUR"), "{error}");
        assert!(matches!(effective(&prices, "2024-06-30", "2009-06"), Err(NoPrice::Base(_))));
        assert!(matches!(effective(&prices, "2300-01-01", "2024-06"), Err(NoPrice::AsOf(_))));
    }

    proptest! {
        #[test]
        fn the_order_of_prices_changes_nothing(
            (prices, shuffled) in prop::collection::vec((100_u32..130, 1_u8..=12, 1_u8..=28), 1..8)
                .prop_map(|all| all.iter().map(|(amount, month, day)| {
                    pair(&amount.to_string(), &format!("2023-{month:02}-{day:02}"))
                }).collect::<Vec<_>>())
                .prop_flat_map(|it| (Just(it.clone()), Just(it).prop_shuffle())),
            as_of in prop::sample::select(vec!["2023-06-30", "2023-12-31", "2024-09-01"]),
        ) {
            match (effective(&prices, as_of, "2024-06"), effective(&shuffled, as_of, "2024-06")) {
                (Ok(a), Ok(b)) => {
                    prop_assert_eq!(a.real_pair.to_bits(), b.real_pair.to_bits());
                    prop_assert_eq!((a.stale, a.n_observations), (b.stale, b.n_observations));
                    prop_assert_eq!(&prices[a.nominal], &shuffled[b.nominal]);
                }
                (a, b) => prop_assert_eq!(a, b),
            }
        }
    }
}
