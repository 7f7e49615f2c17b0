//! Who a question is about.
//!
//! A large catalogue is never computed as a whole for one question. Its prices, which are read in a fraction of a second, say
//! who stands in the band and who near it; these products alone are read, scored and drawn, so that time and memory follow
//! the band and not the file.

use std::{
    collections::{BTreeSet, HashSet},
    sync::{Arc, PoisonError},
    thread,
};

use catalog::{Named, Priced, Share};
use domain::{Date, draw, key::ProductKey, price::Price, product::ProductKind};
use serde::{Deserialize, Serialize};
use standing::band::Band;

use crate::{
    Engine, Error,
    band::{BandRequest, Question},
    cores::on_all_cores,
    error::count,
    pricing::Terms,
    scoring::Scored,
    shares,
};

/// A catalogue with at most so many products is scored as a whole, so that each question finds the work of the last one done.
pub(crate) const WHOLE: usize = 1_500;

/// The most products that a question about a band takes together. Each keeps about 80 kB of draws, and each two of them a
/// count of who is above whom, so that this many fit into 400 MB; and a list in which two neighbours are a tenth of a point
/// apart has no order that doubt leaves standing.
const MOST: usize = 1_500;

/// The most products outside the band that say what a price buys. The expectation at a price is a fit through all of them, and
/// its standard error falls with the root of their number: with residuals of 15 points, 120 know the level to 1.4 points
/// beside what those in the band add, and four times as many would know it to 0.7.
const AROUND: usize = 120;

/// A band that is too full is answered with one of about so many products.
const SUGGESTED: usize = 300;

/// Products that one core prices before it takes the next ones.
const AT_ONCE: usize = 500;

/// A product of the shelf with the price that places it.
#[derive(Debug)]
pub(crate) struct Shelved {
    pub(crate) key: ProductKey,
    /// Maker and model, as a sentence names it.
    pub(crate) label: String,
    pub(crate) kind: ProductKind,
    pub(crate) powered: bool,
    /// In units of the base month; `None` without a usable price.
    pub(crate) real_pair: Option<f64>,
}

/// All products with their prices, with the state of the file and the day that they are of.
pub(crate) type Priceds = ((i64, Date), Arc<Vec<Shelved>>);

/// Who a question about a band is about.
#[derive(Debug, Default)]
pub(crate) struct Scope {
    /// Who is in the band, powered ones included, and of an open band who has no price.
    inside: Vec<ProductKey>,
    /// Who is near enough to say what a price buys.
    around: Vec<ProductKey>,
    /// Those around that take part where there are more than [`AROUND`].
    drawn_from_around: Option<HashSet<ProductKey>>,
    beyond: Option<Beyond>,
}

/// What is said of products that take no part, which somebody must know who computes it again from the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Beyond {
    /// How many have no price.
    pub(crate) no_price: usize,
    /// How many of those around take part, where it is not all of them.
    pub(crate) some_around: Option<usize>,
}

impl Scope {
    fn of(shelf: &[Shelved], band: Band, kind: Option<ProductKind>) -> Self {
        let (low, high) = (band.low(), band.high());
        let is_open = low.is_none() && high.is_none();
        let (low, high) = (low.unwrap_or(0.0), high.unwrap_or(f64::INFINITY));
        let mut scope = Scope::default();
        let mut beyond = Beyond { no_price: 0, some_around: None };
        for it in shelf.iter().filter(|it| kind.is_none_or(|kind| kind == it.kind)) {
            match it.real_pair {
                None => {
                    beyond.no_price += 1;
                    if is_open {
                        scope.inside.push(it.key.clone());
                    }
                }
                Some(price) if band.contains(price) => scope.inside.push(it.key.clone()),
                Some(price) if !it.powered && standing::value::serves(price, low, high) => {
                    scope.around.push(it.key.clone());
                }
                Some(_) => {}
            }
        }
        if scope.around.len() > AROUND {
            // Those with the lowest lots, which hang on their keys alone: drawn at random, and a product that comes or goes moves one of them at
            // most, whatever else is on the shelf.
            let lot = |it: &ProductKey| draw::Stream::of(0, "around", it.as_str(), "").unit();
            // Numbers from 0 to 1 are ordered like their bits.
            scope.around.sort_by_cached_key(|it| (lot(it).to_bits(), it.clone()));
            scope.around.truncate(AROUND);
            scope.drawn_from_around = Some(scope.around.iter().cloned().collect());
            beyond.some_around = Some(AROUND);
        }
        scope.beyond = Some(beyond);
        scope
    }

    /// Whether a product near the band is one of too many, and takes no part.
    pub(crate) fn leaves_out(&self, key: &ProductKey) -> bool {
        self.drawn_from_around.as_ref().is_some_and(|it| !it.contains(key))
    }

    /// What to say of those that take no part; nothing before anybody looked.
    pub(crate) fn beyond(&self) -> Option<Beyond> {
        self.beyond
    }

    fn members(&self) -> impl Iterator<Item = &ProductKey> {
        self.inside.iter().chain(&self.around)
    }
}

impl Engine {
    /// All products with their prices, read by a reader for each core.
    pub(crate) fn all_priced(&self) -> Result<Priced, Error> {
        let shares = if self.is_large()? { shares::of_tables() } else { vec![Share::WHOLE] };
        let shares = self.read_at_once(&shares, |reader, it| Ok(reader.priced(*it)?))?;
        Ok(Priced::of(shares)?)
    }

    /// All products with the prices that place them, in the order in which they were recorded; kept until the file or the day
    /// is another.
    pub(crate) fn shelf(&self, terms: &Terms) -> Result<Arc<Vec<Shelved>>, Error> {
        let of = {
            let reader = self.reader();
            let of = (reader.data_version()?, terms.as_of);
            let kept = self.priced.lock().unwrap_or_else(PoisonError::into_inner).clone();
            if let Some((_, shelf)) = kept.filter(|(at, _)| *at == of) {
                return Ok(shelf);
            }
            of
        };
        let priced = self.all_priced()?;
        let parts = on_all_cores(priced.in_runs(AT_ONCE), |places| {
            let one = |(it, prices): (&Named, Vec<Price>)| Shelved {
                key: it.key.clone(),
                label: format!("{} {}", it.maker, it.model),
                kind: it.kind,
                powered: it.powered,
                real_pair: terms.effective(&prices).ok().map(|it| it.real_pair),
            };
            priced.some(places).map(one).collect::<Vec<_>>()
        });
        let shelf = Arc::new(parts.into_iter().flatten().collect());
        *self.priced.lock().unwrap_or_else(PoisonError::into_inner) =
            Some((of, Arc::clone(&shelf)));
        Ok(shelf)
    }

    /// A question about a band, and the scores of those whom it is about.
    ///
    /// # Errors
    /// When the request is not understood, the band holds too many products, or the catalogue cannot be read.
    pub(crate) fn asked(&self, request: &BandRequest) -> Result<(Question, Arc<Scored>), Error> {
        self.asked_with(request, &[])
    }

    /// The same where some more products must be among those scored.
    pub(crate) fn asked_with(
        &self,
        request: &BandRequest,
        also: &[&ProductKey],
    ) -> Result<(Question, Arc<Scored>), Error> {
        // Workers start on one core while prices are read on another.
        let question = thread::scope(|scope| {
            scope.spawn(|| self.plugins.begin());
            self.placed(request)
        })?;
        let members: Vec<&ProductKey> =
            question.scope.members().chain(also.iter().copied()).collect();
        let scored = self.scored_of(&members, true)?;
        Ok((question, scored))
    }

    /// A question about a band that knows whom it is about.
    pub(crate) fn placed(&self, request: &BandRequest) -> Result<Question, Error> {
        let mut question = self.question(request)?;
        let shelf = self.shelf(&question.terms)?;
        question.scope = Scope::of(&shelf, question.band, question.kind);
        if self.beyond.is_some() {
            question.scope.beyond = self.beyond;
        }
        let n = question.scope.inside.len();
        if n > MOST {
            return Err(too_many(n, &question, &shelf));
        }
        Ok(question)
    }

    /// The scores of products by their keys, or of the whole catalogue where it is small. What is kept is found by the next
    /// question; a look at something else does not take the place of the band that is being worked on.
    pub(crate) fn scored_of(&self, keys: &[&ProductKey], keep: bool) -> Result<Arc<Scored>, Error> {
        if self.is_large()? {
            self.scored_among(Some(keys), keep)
        } else {
            self.scored_among(None, true)
        }
    }

    /// Whether there are too many products to take all for one question.
    pub(crate) fn is_large(&self) -> Result<bool, Error> {
        Ok(self.reader().product_count()? as usize > WHOLE)
    }

    /// Those whom a question about a band is about.
    pub(crate) fn members_of(&self, request: &BandRequest) -> Result<BTreeSet<ProductKey>, Error> {
        Ok(self.placed(request)?.scope.members().cloned().collect())
    }

    /// The same engine, which says of products that are not in its file what another one knew of them.
    pub(crate) fn beyond(mut self, beyond: Option<Beyond>) -> Self {
        self.beyond = beyond;
        self
    }

    /// Nobody's scores: the rubric, the plugins and the dictionary alone.
    pub(crate) fn scored_rules(&self) -> Result<Arc<Scored>, Error> {
        self.scored_of(&[], false)
    }

    /// The product that somebody named.
    pub(crate) fn named_product(&self, text: &str, terms: &Terms) -> Result<ProductKey, Error> {
        if let Ok(key) = ProductKey::parse(text)
            && self.reader().has_product(&key)?
        {
            return Ok(key);
        }
        Err(unknown(text, self.shelf(terms)?.iter().map(|it| it.key.as_str())))
    }
}

/// That no product has a key, with one that may have been meant.
pub(crate) fn unknown<'k>(key: &str, mut known: impl Iterator<Item = &'k str>) -> Error {
    let model = key.rsplit('/').next().unwrap_or(key).to_lowercase();
    let near = known
        .find(|it| model.len() >= 3 && it.rsplit('/').next().is_some_and(|it| it.contains(&model)));
    let hint = near.map(|it| format!("; did you mean {it}?")).unwrap_or_default();
    Error::UnknownProduct { key: key.to_owned(), hint }
}

/// The refusal of a band that holds more than can be told apart.
fn too_many(n: usize, question: &Question, shelf: &[Shelved]) -> Error {
    let band = question.band;
    let mut prices: Vec<f64> = shelf
        .iter()
        .filter(|it| question.kind.is_none_or(|kind| kind == it.kind))
        .filter_map(|it| it.real_pair)
        .filter(|it| band.contains(*it))
        .collect();
    prices.sort_unstable_by(f64::total_cmp);
    let narrower = narrower(&prices).map(|it| format!(", such as {it}")).unwrap_or_default();
    let kind = if question.kind.is_none() { ", or one kind of product" } else { "" };
    Error::request(
        "band",
        &band.to_string(),
        format!("holds {}; at most {MOST} are ranked together", count(n, "product")),
        format!("a narrower band{narrower}{kind}"),
    )
}

/// The band of whole units around the middle of some sorted prices that holds about [`SUGGESTED`] of them; `None` where even
/// one unit holds too many.
fn narrower(prices: &[f64]) -> Option<Band> {
    let middle = prices.len() / 2;
    let low = prices.get(middle.saturating_sub(SUGGESTED / 2))?.floor();
    let high = prices.get((middle + SUGGESTED / 2).min(prices.len().checked_sub(1)?))?.ceil();
    let text = format!("{low:.0}..{:.0}", high.max(low + 1.0));
    let band: Band = text.parse().ok()?;
    (prices.iter().filter(|it| band.contains(**it)).count() <= MOST).then_some(band)
}

#[cfg(test)]
mod tests;
