//! The prices of a product: what was seen, entering one, correcting and withdrawing it.

use catalog::PricePlace;
use domain::{
    Date,
    dossier::Dossier,
    price::{Basis, Price, PriceDate, PriceKind, Seller},
};
use serde::Deserialize;
use standing::{
    deflate,
    effective::{LeftOut, NoPrice},
};

use crate::{
    Engine, Error, ShowRequest, clock,
    dto::{PriceDto, PriceHistory, PriceReading, PriceReport, PriceRow},
    pricing::{self, Terms},
};

mod chart;

/// A price as it is typed.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct PriceRequest {
    /// The product's key, `maker/model`.
    pub product: String,
    /// What was asked for what: `249`, `129 each`, `599 set of 5`.
    pub price: String,
    /// When: `YYYY-MM-DD`, `YYYY-MM` or `YYYY`; today when absent.
    pub date: Option<String>,
    /// `list`, `street` or `sale`; street when absent.
    pub kind: Option<String>,
    /// `maker`, `authorised`, `marketplace` or `used`; the maker for list prices, else authorised, when absent.
    pub seller: Option<String>,
    /// Which shop, where one day has several prices.
    pub shop: String,
    /// A remark.
    pub note: String,
    /// The price that this one corrects, where date, kind, seller or shop differ.
    pub instead_of: Option<PriceWithdrawal>,
    /// Why; kept with the change.
    pub reason: String,
}

/// Which price to withdraw: whatever is absent may be anything, as long as one price is meant.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct PriceWithdrawal {
    /// The product's key, `maker/model`.
    pub product: String,
    /// When it was asked, as listed.
    pub date: String,
    /// Its kind.
    pub kind: Option<String>,
    /// Who asked it.
    pub seller: Option<String>,
    /// Which shop.
    pub shop: Option<String>,
    /// Why; kept with the change.
    pub reason: String,
}

impl Engine {
    /// All prices of a product.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], or when the catalogue cannot be read.
    pub fn prices(&self, request: &ShowRequest) -> Result<PriceHistory, Error> {
        let (_, dossier) = self.known_product(&request.product)?;
        let terms = self.terms()?;
        let (price, no_price) = placing(&dossier.prices, &terms)?;
        let effective = terms.effective(&dossier.prices).ok();
        let price_age_days =
            effective.and_then(|it| pricing::age_days(&dossier.prices, &it, terms.as_of));
        let mut rows: Vec<(PriceDate, PriceRow)> =
            dossier.prices.iter().map(|it| (it.date, row(it, &dossier.prices, &terms))).collect();
        rows.sort_by_key(|(date, _)| std::cmp::Reverse(*date));
        let rows: Vec<PriceRow> = rows.into_iter().map(|(_, row)| row).collect();
        Ok(PriceHistory {
            product: dossier.product.key.to_string(),
            currency: terms.currency.word().into(),
            base_month: terms.base.to_string(),
            as_of: terms.as_of.to_string(),
            chart: chart::of(&dossier.prices, &rows, price.as_ref(), &terms),
            price,
            price_age_days,
            no_price,
            rows,
            kinds: PriceKind::ALL.iter().map(|it| it.word().into()).collect(),
            sellers: Seller::ALL.iter().map(|it| it.word().into()).collect(),
        })
    }

    /// How a price would be understood; nothing is saved.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], or [`Error::Request`] with the place and the accepted form.
    pub fn read_price(&self, request: &PriceRequest) -> Result<PriceReading, Error> {
        let (_, dossier) = self.known_product(&request.product)?;
        let terms = self.terms()?;
        let price = typed(request, &terms)?;
        let instead = instead_of(request, &dossier)?;
        reading(&dossier, &price, instead.as_ref(), &terms)
    }

    /// Enters a price, or corrects the one of the same date, kind, seller and shop.
    ///
    /// # Errors
    /// As [`Engine::read_price`], or when the catalogue cannot be written; nothing is recorded then.
    pub fn add_price(&self, request: &PriceRequest) -> Result<PriceReport, Error> {
        let (_, dossier) = self.known_product(&request.product)?;
        let terms = self.terms()?;
        let price = typed(request, &terms)?;
        let instead = instead_of(request, &dossier)?;
        let reading = reading(&dossier, &price, instead.as_ref(), &terms)?;
        let only = Dossier { prices: vec![price], ..Dossier::of(dossier.product.clone()) };
        let tally = self.writer()?.record_price(
            &only,
            instead.as_ref(),
            request.reason.trim(),
            &clock::now(),
        )?;
        Ok(PriceReport {
            product: request.product.clone(),
            before: reading.replaces,
            after: Some(reading.row.asked),
            changed: tally.added + tally.corrected > 0,
            no_price: reading.price.is_none().then(|| reading.row.why_not.clone()),
            price: reading.price,
            sentence: reading.sentence,
        })
    }

    /// Withdraws a price.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], [`Error::Request`] when none or several are meant, or when the catalogue cannot be
    /// written; nothing is changed then.
    pub fn withdraw_price(&self, request: &PriceWithdrawal) -> Result<PriceReport, Error> {
        let (_, dossier) = self.known_product(&request.product)?;
        let terms = self.terms()?;
        let place = meant(request, &dossier.prices)?;
        let before = dossier.prices.iter().find(|it| PricePlace::of(it) == place).map(asked);
        let changed = self.writer()?.withdraw_price(
            &dossier.product.key,
            &place,
            request.reason.trim(),
            &clock::now(),
        )?;
        let rest: Vec<Price> =
            dossier.prices.into_iter().filter(|it| PricePlace::of(it) != place).collect();
        let (price, no_price) = placing(&rest, &terms)?;
        Ok(PriceReport {
            product: request.product.clone(),
            before,
            after: None,
            changed,
            price,
            no_price,
            sentence: String::new(),
        })
    }
}

/// The price that was typed.
fn typed(request: &PriceRequest, terms: &Terms) -> Result<Price, Error> {
    let (money, basis) = pricing::typed(request.price.trim(), terms.currency)?;
    let today = terms.as_of.to_string();
    let date =
        day(request.date.as_deref().map(str::trim).filter(|it| !it.is_empty()).unwrap_or(&today))?;
    let kind = match request.kind.as_deref() {
        Some(word) => PriceKind::parse(word)
            .map_err(|why| Error::request("kind", word, "is no kind of price", why.accepted))?,
        None => PriceKind::Street,
    };
    let seller = match request.seller.as_deref() {
        Some(word) => Seller::parse(word)
            .map_err(|why| Error::request("seller", word, "is no kind of seller", why.accepted))?,
        None if kind == PriceKind::List => Seller::Maker,
        None => Seller::Authorised,
    };
    let shop = one_line("shop", &request.shop, 80)?;
    let note = one_line("note", &request.note, 2000)?;
    Ok(Price { money, basis, date, kind, seller, shop, note })
}

fn day(text: &str) -> Result<PriceDate, Error> {
    text.parse::<PriceDate>()
        .map_err(|_| Error::request("date", text, "is no date", "YYYY-MM-DD, YYYY-MM or YYYY"))
}

fn one_line(place: &'static str, text: &str, most: usize) -> Result<String, Error> {
    let text = text.trim();
    if text.len() > most || text.chars().any(char::is_control) {
        let accepted = format!("one line of at most {most} characters");
        return Err(Error::request(place, text, "is too long or not one line", accepted));
    }
    Ok(text.to_owned())
}

fn instead_of(request: &PriceRequest, dossier: &Dossier) -> Result<Option<PricePlace>, Error> {
    request.instead_of.as_ref().map(|it| meant(it, &dossier.prices)).transpose()
}

/// The one price that is meant.
fn meant(request: &PriceWithdrawal, prices: &[Price]) -> Result<PricePlace, Error> {
    let date = day(request.date.trim())?;
    let is = |wanted: &Option<String>, has: &str| wanted.as_deref().is_none_or(|it| it == has);
    let found: Vec<&Price> = prices
        .iter()
        .filter(|it| {
            it.date == date
                && is(&request.kind, it.kind.word())
                && is(&request.seller, it.seller.word())
                && is(&request.shop, &it.shop)
        })
        .collect();
    let named = |it: &Price| {
        let shop = if it.shop.is_empty() { String::new() } else { format!(", {}", it.shop) };
        format!("{} {}, {}{shop}", it.date, it.kind.word(), it.seller.word())
    };
    match found[..] {
        [one] => Ok(PricePlace::of(one)),
        [] => {
            let all: Vec<String> = prices.iter().map(named).collect();
            let accepted =
                if all.is_empty() { "none; no price is on record".into() } else { all.join("; ") };
            Err(Error::request("date", &request.date, "is not that of a price on record", accepted))
        }
        _ => {
            let all: Vec<String> = found.into_iter().map(named).collect();
            Err(Error::request(
                "date",
                &request.date,
                "has several prices; say which",
                all.join("; "),
            ))
        }
    }
}

/// How a price would be understood beside the others.
fn reading(
    dossier: &Dossier,
    price: &Price,
    instead: Option<&PricePlace>,
    terms: &Terms,
) -> Result<PriceReading, Error> {
    let place = PricePlace::of(price);
    let is_replaced = |it: &Price| {
        let other = PricePlace::of(it);
        other == place || instead == Some(&other)
    };
    let replaces = dossier.prices.iter().find(|it| is_replaced(it)).map(asked);
    let mut after: Vec<Price> =
        dossier.prices.iter().filter(|it| !is_replaced(it)).cloned().collect();
    after.push(price.clone());
    let row = row(price, &after, terms);
    let (effective, _) = placing(&after, terms)?;
    let sentence = sentence(&row, effective.as_ref(), terms);
    Ok(PriceReading { row, replaces, price: effective, sentence })
}

fn placing(prices: &[Price], terms: &Terms) -> Result<(Option<PriceDto>, Option<String>), Error> {
    match terms.effective(prices) {
        Ok(it) => Ok((Some(pricing::price_dto(prices, &it)?), None)),
        Err(why) => Ok((None, Some(why.to_string()))),
    }
}

/// `249.00 USD`, `129.00 USD each`, `599.00 USD, set of 5`.
fn asked(it: &Price) -> String {
    match it.basis {
        Basis::Pair => format!("{} a pair", it.money),
        Basis::Each => format!("{} each", it.money),
        Basis::Set(n) => format!("{}, set of {n}", it.money),
    }
}

fn as_typed(it: &Price, terms: &Terms) -> String {
    let amount = format!("{}.{:02}", it.money.minor / 100, it.money.minor % 100);
    let currency = match it.money.currency {
        it if it == terms.currency => String::new(),
        it => format!(" {}", it.word()),
    };
    match it.basis {
        Basis::Pair => format!("{amount}{currency}"),
        Basis::Each => format!("{amount}{currency} each"),
        Basis::Set(n) => format!("{amount}{currency} set of {n}"),
    }
}

/// A price among all of its product.
fn row(it: &Price, all: &[Price], terms: &Terms) -> PriceRow {
    let real_pair = (it.money.currency == terms.currency)
        .then(|| deflate::real_pair(it.pair_amount(), it.date, terms.base).ok())
        .flatten()
        .map(|it| it.amount);
    let why_not = why_not(it, all, terms);
    PriceRow {
        asked: asked(it),
        typed: as_typed(it, terms),
        date: it.date.to_string(),
        kind: it.kind.word().into(),
        seller: it.seller.word().into(),
        shop: it.shop.clone(),
        note: it.note.clone(),
        real_pair,
        age_days: age(it, terms.as_of),
        counts: why_not.is_empty(),
        why_not,
    }
}

fn age(it: &Price, as_of: Date) -> i32 {
    (as_of - it.date.nominal_day()).get_days()
}

/// Why a price is not among those that place its product; empty when it is.
fn why_not(it: &Price, all: &[Price], terms: &Terms) -> String {
    let alone = match terms.effective(std::slice::from_ref(it)) {
        Ok(it) => it,
        Err(NoPrice::NoneUsable(LeftOut { ineligible: 1.., .. })) => {
            return match it.kind {
                PriceKind::Sale => "a sale price".into(),
                _ => format!("a price of a {} seller", it.seller.word()),
            };
        }
        Err(NoPrice::NoneUsable(LeftOut { future: 1.., .. })) => {
            return format!("dated after {}", terms.as_of);
        }
        Err(NoPrice::NoneUsable(LeftOut { other_currency: 1.., .. })) => {
            return format!("not in {}", terms.currency.word());
        }
        Err(NoPrice::NoneUsable(_)) => return "no price index for that time".into(),
        Err(why) => return why.to_string(),
    };
    match terms.effective(all) {
        // Only the newest stands in where none is fresh.
        Ok(placed) if placed.stale == alone.stale => String::new(),
        Ok(placed) if placed.stale.is_some() => "there is a newer one".into(),
        _ => "older than 180 days, and there are newer ones".into(),
    }
}

fn sentence(row: &PriceRow, price: Option<&PriceDto>, terms: &Terms) -> String {
    let (currency, base) = (terms.currency.word(), terms.base);
    let real = match row.real_pair {
        Some(it) => format!("a pair is {it:.0} {currency} of {base}"),
        None => format!("a pair in {currency} of {base} is not known"),
    };
    let counts = match (row.counts, price) {
        (true, Some(it)) if it.observations > 1 => {
            format!(
                "it counts: with {} the product is placed at {:.0}",
                crate::error::count(it.observations as usize - 1, "other"),
                it.real_pair
            )
        }
        (true, Some(it)) => format!("it counts: the product is placed at {:.0}", it.real_pair),
        (_, Some(it)) => {
            format!("it does not count ({}): the product stays at {:.0}", row.why_not, it.real_pair)
        }
        (_, None) => format!("it does not count ({}), and no other price does", row.why_not),
    };
    format!("{}: {real}; {counts}.", row.asked)
}
