//! From observed prices to the one that places a product in a band.

use domain::{
    Date,
    money::{Currency, Money},
    price::{Basis, Price, PriceDate},
};
use standing::{
    deflate,
    effective::{Effective, NoPrice, effective_price},
};

use crate::{
    Error,
    dto::{ObservedPrice, PriceDto},
};

/// The currency, the base month and the day of a question about prices.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Terms {
    pub(crate) currency: Currency,
    pub(crate) base: PriceDate,
    pub(crate) as_of: Date,
}

impl Terms {
    pub(crate) fn of(info: &catalog::Info, as_of: Date) -> Result<Self, Error> {
        Ok(Terms {
            currency: currency(&info.currency)?,
            base: base_month(&info.base_month)?,
            as_of,
        })
    }

    pub(crate) fn effective(&self, prices: &[Price]) -> Result<Effective, NoPrice> {
        effective_price(prices, self.currency, self.as_of, self.base)
    }
}

pub(crate) fn currency(text: &str) -> Result<Currency, Error> {
    Currency::parse(text).map_err(|why| Error::Request {
        place: "currency",
        text: text.into(),
        why: "is not a currency that is understood".into(),
        accepted: why.accepted,
    })
}

pub(crate) fn base_month(text: &str) -> Result<PriceDate, Error> {
    let bad = |why: String| Error::Request {
        place: "base month",
        text: text.into(),
        why,
        accepted: "YYYY-MM from 2010-01".into(),
    };
    let month: PriceDate = text.parse().map_err(|_| bad("is not a month".into()))?;
    if text.len() != 7 {
        return Err(bad("is not a month".into()));
    }
    standing::cpi::level(month).map_err(|why| bad(why.to_string()))?;
    Ok(month)
}

/// An amount with what it buys, as typed: `249`, `129 each`, `599 set of 5`, `129.50 EUR each`.
pub(crate) fn typed(text: &str, usual: Currency) -> Result<(Money, Basis), Error> {
    let refuse = |why: &str| {
        Error::Request {
        place: "price",
        text: text.into(),
        why: why.into(),
        accepted: "an amount above 0 for a pair, such as 249; or 129 each, 599 set of 5; another currency after the \
                   amount: 129 EUR each"
            .into(),
    }
    };
    let mut words = text.split_whitespace();
    let amount = words.next().ok_or_else(|| refuse("holds no amount"))?;
    let mut rest: Vec<&str> = words.collect();
    let named = rest.first().and_then(|it| Currency::parse(&it.to_uppercase()).ok());
    if named.is_some() {
        rest.remove(0);
    }
    let basis = match rest[..] {
        [] | ["pair"] | ["a", "pair"] => Basis::Pair,
        ["each"] => Basis::Each,
        ["set", "of", n] | ["set", n] | ["for", n] => n
            .parse()
            .ok()
            .filter(|it| (1..=LARGEST_SET).contains(it))
            .map(Basis::Set)
            .ok_or_else(|| refuse("does not say how many speakers the set holds"))?,
        _ => return Err(refuse("is no price")),
    };
    let money = Money::parse(amount, named.unwrap_or(usual)).map_err(|_| refuse("is no price"))?;
    Ok((money, basis))
}

/// The most speakers of a set, as in files.
const LARGEST_SET: u32 = 99;

/// The price of a band as an answer.
pub(crate) fn price_dto(prices: &[Price], it: &Effective) -> Result<PriceDto, Error> {
    let used = prices
        .get(it.nominal)
        .ok_or_else(|| Error::Internal("the price that was used is not there".into()))?;
    Ok(PriceDto {
        nominal: used.money.amount(),
        basis: used.basis.word().into(),
        date: used.date.to_string(),
        real_pair: it.real_pair,
        stale: it.stale.is_some(),
        observations: u32::try_from(it.n_observations).unwrap_or(u32::MAX),
    })
}

/// All prices, newest first.
pub(crate) fn observed(prices: &[Price], terms: &Terms) -> Vec<ObservedPrice> {
    let mut list: Vec<&Price> = prices.iter().collect();
    list.sort_by_key(|it| std::cmp::Reverse(it.date));
    list.into_iter()
        .map(|it| ObservedPrice {
            nominal: it.money.amount(),
            currency: it.money.currency.word().into(),
            basis: it.basis.word().into(),
            count: it.basis.count(),
            date: it.date.to_string(),
            kind: it.kind.word().into(),
            seller: it.seller.word().into(),
            real_pair: (it.money.currency == terms.currency)
                .then(|| deflate::real_pair(it.pair_amount(), it.date, terms.base).ok())
                .flatten()
                .map(|it| it.amount),
            note: it.note.clone(),
        })
        .collect()
}

/// The age in days, at the day of the question, of the price that places a product.
pub(crate) fn age_days(prices: &[Price], it: &Effective, as_of: Date) -> Option<i32> {
    let used = prices.get(it.nominal)?;
    Some((as_of - used.date.nominal_day()).get_days())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Option<(String, Basis)> {
        typed(text, Currency::Usd).ok().map(|(money, basis)| (money.to_string(), basis))
    }

    #[test]
    fn prices_are_read_as_they_are_said() {
        for (text, money, basis) in [
            ("249", "249.00 USD", Basis::Pair),
            ("249.5 pair", "249.50 USD", Basis::Pair),
            ("129 each", "129.00 USD", Basis::Each),
            ("129 eur each", "129.00 EUR", Basis::Each),
            ("599 set of 5", "599.00 USD", Basis::Set(5)),
        ] {
            assert_eq!(read(text), Some((money.to_owned(), basis)), "{text}");
        }
    }

    #[test]
    fn what_is_no_price_is_refused() {
        for bad in [
            "",
            "each",
            "0",
            "1,299",
            "-5",
            "249 pairs",
            "599 set of 0",
            "599 set of 100",
            "12 XYZ",
        ] {
            assert_eq!(read(bad), None, "{bad}");
        }
    }
}
