//! From observed prices to the one that places a product in a band.

use domain::{
    Date,
    money::Currency,
    price::{Price, PriceDate},
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
