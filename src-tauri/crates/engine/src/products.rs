//! What is on the shelf, how complete and how old.

use std::sync::{Arc, PoisonError};

use domain::{
    Date,
    dictionary::{Dictionary, Expected},
    dossier::Dossier,
    finding::{Answer, Gap, Value},
    part::{Part, Role},
};
use serde::Deserialize;
use standing::band::Band;

use crate::{
    Engine, Error,
    band::{bad_band, kind_filter},
    cores::on_all_cores,
    cross,
    declared::Declarations,
    dto::{ProductList, ProductNote, ProductNotes, ProductRow},
    pricing::{self, Terms},
};

/// Which products.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct ProductsRequest {
    /// Only inside this band, written `LOW..HIGH`.
    pub band: Option<String>,
    /// Only this kind.
    pub kind: Option<String>,
    /// Only those that lack this finding, written `part.key`.
    pub missing: Option<String>,
    /// Only those in which each of these words stands: in names, findings, notes or shops.
    pub words: Option<String>,
}

impl Engine {
    /// The products of the catalogue.
    ///
    /// # Errors
    /// When the request is not understood or the catalogue cannot be read.
    pub fn products(&self, request: &ProductsRequest) -> Result<ProductList, Error> {
        let kind = kind_filter(request.kind.as_deref())?;
        let band: Option<Band> = match &request.band {
            Some(text) => Some(text.parse().map_err(|why| bad_band(text, &why))?),
            None => None,
        };
        let (info, of) = {
            let reader = self.reader();
            (reader.info()?, (reader.data_version()?, self.today()))
        };
        let terms = Terms::of(&info, of.1)?;
        let rows = match (&request.missing, &request.words) {
            (None, None) => self.all_rows(of, &terms)?,
            _ => Arc::new(self.searched_rows(request, &terms)?),
        };
        let inside = |it: &ProductRow, band: &Band| {
            it.price.as_ref().is_some_and(|it| band.contains(it.real_pair))
        };
        let wanted = |it: &&ProductRow| {
            kind.is_none_or(|kind| kind.word() == it.kind)
                && band.as_ref().is_none_or(|band| inside(it, band))
        };
        Ok(ProductList {
            title: info.title,
            file: self.catalogue().display().to_string(),
            currency: info.currency,
            base_month: info.base_month,
            as_of: terms.as_of.to_string(),
            products: rows.iter().filter(wanted).cloned().collect(),
        })
    }

    /// What there is to say about each product: remarks of plugins, and contradictions in its record. All products are
    /// scored and checked for it, which takes its time in a large catalogue; the list itself does not wait for it.
    ///
    /// # Errors
    /// When the catalogue cannot be read.
    pub fn notes(&self) -> Result<ProductNotes, Error> {
        let terms = Terms::of(&self.reader().info()?, self.today())?;
        let scored = self.scored()?;
        let notes = on_all_cores(&scored.products, |it| {
            let doubts: Vec<_> =
                cross::checks(it, &terms).into_iter().filter(|it| it.subject == "record").collect();
            ProductNote {
                product: it.dossier.product.key.to_string(),
                remarks: number(it.remarks.len()),
                doubts: number(doubts.len()),
                doubt: doubts.into_iter().next().map(|it| it.text).unwrap_or_default(),
            }
        });
        Ok(ProductNotes { notes })
    }

    /// All rows; kept until the file or the day is another.
    fn all_rows(&self, of: (i64, Date), terms: &Terms) -> Result<Arc<Vec<ProductRow>>, Error> {
        let kept = self.listed.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some((_, rows)) = kept.filter(|(at, _)| *at == of) {
            return Ok(rows);
        }
        let (dictionary, dossiers) = self.outlines()?;
        let rows: Result<Vec<ProductRow>, Error> =
            on_all_cores(dossiers, |it| row(&it, &dictionary, terms)).into_iter().collect();
        let rows = Arc::new(rows?);
        *self.listed.lock().unwrap_or_else(PoisonError::into_inner) = Some((of, Arc::clone(&rows)));
        Ok(rows)
    }

    /// The rows of products that lack a finding, or in which some words stand.
    fn searched_rows(
        &self,
        request: &ProductsRequest,
        terms: &Terms,
    ) -> Result<Vec<ProductRow>, Error> {
        let (dictionary, dossiers) = self.outlines()?;
        let lacking = request.missing.as_deref().map(|it| address(it, &dictionary)).transpose()?;
        let words: Vec<String> = request
            .words
            .iter()
            .flat_map(|it| it.split_whitespace())
            .map(str::to_lowercase)
            .collect();
        let found = on_all_cores(dossiers, |it| {
            let lacks = lacking.as_ref().is_none_or(|key| missing(&it, &dictionary).contains(key));
            (lacks && has_words(&it, &words)).then(|| row(&it, &dictionary, terms))
        });
        found.into_iter().flatten().collect()
    }

    fn outlines(&self) -> Result<(Arc<Dictionary>, Vec<Dossier>), Error> {
        let reader = self.reader();
        let dictionary = Declarations::read(&reader)?.dictionary;
        let dossiers = reader.outlines(&dictionary)?;
        Ok((dictionary, dossiers))
    }
}

fn number(it: usize) -> u32 {
    u32::try_from(it).unwrap_or(u32::MAX)
}

/// Whether each word stands somewhere in what people wrote about the product; upper and lower case are one.
fn has_words(it: &Dossier, words: &[String]) -> bool {
    if words.is_empty() {
        return true;
    }
    let product = &it.product;
    let mut text = format!(
        "{} {} {} {} {} {}-way {}",
        product.key,
        product.maker,
        product.model,
        product.kind.word(),
        product.year,
        product.ways,
        product.note
    );
    for finding in it.findings() {
        for part in [finding.key.as_str(), &finding.typed, &finding.note] {
            text.push(' ');
            text.push_str(part);
        }
    }
    for price in &it.prices {
        text.push_str(&format!(" {} {}", price.shop, price.note));
    }
    for job in &it.jobs {
        text.push_str(&format!(" {}", job.teardown.note));
    }
    let text = text.to_lowercase();
    words.iter().all(|it| text.contains(it.as_str()))
}

/// A finding address as typed.
fn address(text: &str, dictionary: &Dictionary) -> Result<String, Error> {
    let known = text
        .split_once('.')
        .and_then(|(part, key)| Some((part.parse::<Part>().ok()?, key)))
        .is_some_and(|(part, key)| dictionary.find(part.role, key).is_some());
    if known {
        return Ok(text.to_owned());
    }
    Err(Error::Request {
        place: "missing",
        text: text.into(),
        why: "is no finding".into(),
        accepted: "part.key, such as cabinet.lining_thick or woofer.fs".into(),
    })
}

pub(crate) fn row(
    dossier: &Dossier,
    dictionary: &Dictionary,
    terms: &Terms,
) -> Result<ProductRow, Error> {
    let product = &dossier.product;
    let (price, age, no_price) = match terms.effective(&dossier.prices) {
        Ok(it) => {
            let age = pricing::age_days(&dossier.prices, &it, terms.as_of);
            (Some(pricing::price_dto(&dossier.prices, &it)?), age, None)
        }
        Err(why) => (None, None, Some(why.to_string())),
    };
    let expected = expected(dossier, dictionary);
    let found = expected.iter().filter(|(part, key)| is_answered(dossier, *part, key)).count();
    #[expect(clippy::cast_precision_loss, reason = "a few hundred findings")]
    let completeness = if expected.is_empty() { 0.0 } else { found as f64 / expected.len() as f64 };
    Ok(ProductRow {
        product: product.key.to_string(),
        maker: product.maker.clone(),
        model: product.model.clone(),
        kind: product.kind.word().into(),
        ways: product.ways.into(),
        powered: product.powered,
        year: product.year.into(),
        completeness,
        found: number(found),
        expected: number(expected.len()),
        last_teardown: dossier
            .jobs
            .iter()
            .map(|it| it.teardown.date)
            .max()
            .map(|it| it.to_string()),
        price,
        no_price,
        price_age_days: age,
    })
}

/// The findings that a complete teardown of this product holds.
fn expected<'d>(dossier: &Dossier, dictionary: &'d Dictionary) -> Vec<(Part, &'d str)> {
    let mut list = Vec::new();
    for part in dossier.parts() {
        for entry in dictionary.entries_of(part.role) {
            if is_expected(dossier, entry.expected) {
                list.push((part, entry.key));
            }
        }
    }
    list
}

pub(crate) fn is_expected(dossier: &Dossier, when: Expected) -> bool {
    let of = |role, key| dossier.choice(Part::first(role), key);
    match when {
        Expected::Always => true,
        Expected::Vented => of(Role::Cabinet, "box_type") == Some("vented"),
        Expected::ThreeWay => dossier.product.ways >= 3,
        Expected::Braced => {
            matches!(
                dossier.value(Part::first(Role::Cabinet), "brace_count"),
                Some(Value::Count(1..))
            )
        }
        Expected::Lined => of(Role::Cabinet, "lining_material").is_some_and(|it| it != "none"),
        Expected::FullNetwork => of(Role::Crossover, "present") == Some("full"),
        Expected::Optional => false,
    }
}

/// A value, or the insight that the question does not apply.
pub(crate) fn is_answered(dossier: &Dossier, part: Part, key: &str) -> bool {
    dossier
        .declared(part, key)
        .is_some_and(|it| matches!(it.answer, Answer::Value(_) | Answer::Gap(Gap::NotApplicable)))
}

/// The expected findings that have no value, as addresses in the order of the dictionary.
pub(crate) fn missing(dossier: &Dossier, dictionary: &Dictionary) -> Vec<String> {
    expected(dossier, dictionary)
        .into_iter()
        .filter(|(part, key)| !is_answered(dossier, *part, key))
        .map(|(part, key)| format!("{part}.{key}"))
        .collect()
}
