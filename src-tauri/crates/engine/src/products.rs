//! What is on the shelf, how complete and how old.

use domain::{
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
    declared::Declarations,
    dto::{ProductList, ProductRow},
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
        let (info, dictionary, dossiers) = {
            let reader = self.reader();
            let dictionary = Declarations::read(&reader)?.dictionary;
            let dossiers = reader.dossiers(&dictionary)?;
            (reader.info()?, dictionary, dossiers)
        };
        let lacking = request.missing.as_deref().map(|it| address(it, &dictionary)).transpose()?;
        let terms = Terms::of(&info, self.today())?;
        let mut products = Vec::new();
        for dossier in &dossiers {
            let wanted = kind.is_none_or(|it| it == dossier.product.kind)
                && lacking.as_ref().is_none_or(|it| missing(dossier, &dictionary).contains(it));
            if !wanted {
                continue;
            }
            let row = row(dossier, &dictionary, &terms)?;
            let inside =
                |band: &Band| row.price.as_ref().is_some_and(|it| band.contains(it.real_pair));
            if band.as_ref().is_none_or(inside) {
                products.push(row);
            }
        }
        Ok(ProductList {
            title: info.title,
            file: self.catalogue().display().to_string(),
            currency: info.currency,
            base_month: info.base_month,
            as_of: terms.as_of.to_string(),
            products,
        })
    }
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
    let number = |it: usize| u32::try_from(it).unwrap_or(u32::MAX);
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

fn is_expected(dossier: &Dossier, when: Expected) -> bool {
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
fn is_answered(dossier: &Dossier, part: Part, key: &str) -> bool {
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
