//! What is on the shelf, how complete and how old.

use std::{
    collections::HashSet,
    sync::{Arc, PoisonError},
};

use catalog::Named;
use domain::{
    Date,
    dictionary::{Dictionary, Expected},
    dossier::Dossier,
    finding::{Answer, Gap, Value},
    key::ProductKey,
    part::{Part, Role},
    price::Price,
};
use serde::Deserialize;
use standing::band::Band;

use crate::{
    Engine, Error, Listed,
    band::{bad_band, kind_filter},
    cores::on_all_cores,
    cross,
    declared::Declarations,
    dto::{PriceDto, ProductList, ProductNote, ProductNotes, ProductRow},
    pricing::{self, Terms},
    scoring::ScoredProduct,
    shares,
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
    /// Whether findings are counted however long the list is. Of a catalogue of more than 1,500 products it is otherwise
    /// answered without, since it would take seconds; what is looked at is counted by [`Engine::notes`].
    pub counted: bool,
}

/// About which products.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct NotesRequest {
    /// Their keys; all when there are none.
    pub products: Vec<String>,
}

/// Products that are scored together for their notes, which bounds memory.
const NOTED_TOGETHER: usize = 500;
/// Products that are read together for a list.
const READ_TOGETHER: usize = 500;

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
        let rows = match self.searched(request, &terms)? {
            None => self.all_rows(request.counted, of, &terms)?,
            Some(keys) => Arc::new(self.some_rows(&keys, request.counted, of, &terms)?),
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

    /// What there is to say about products: remarks of plugins, and contradictions in the record. They are scored and
    /// checked for it, which takes its time; the list itself does not wait for it. Of a large catalogue one asks for those
    /// that are looked at.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], or when the catalogue cannot be read.
    pub fn notes(&self, request: &NotesRequest) -> Result<ProductNotes, Error> {
        let terms = self.terms()?;
        let keys: Vec<ProductKey> = if request.products.is_empty() {
            self.reader().keys()?
        } else {
            let named = request.products.iter().map(|it| self.named_product(it, &terms));
            named.collect::<Result<_, _>>()?
        };
        let mut notes = Vec::with_capacity(keys.len());
        for some in keys.chunks(NOTED_TOGETHER) {
            let scored = self.scored_of(&some.iter().collect::<Vec<_>>(), false)?;
            let places: Vec<usize> =
                some.iter().map(|it| scored.place(it)).collect::<Result<_, _>>()?;
            notes.extend(on_all_cores(places, |at| {
                noted(&scored.products[at], &scored.declarations.dictionary, &terms)
            }));
        }
        Ok(ProductNotes { notes })
    }

    /// All rows; kept until the file or the day is another.
    fn all_rows(
        &self,
        counted: bool,
        of: (i64, Date),
        terms: &Terms,
    ) -> Result<Arc<Vec<ProductRow>>, Error> {
        if let Some(rows) = self.kept_rows(counted, of) {
            return Ok(rows);
        }
        let counted = counted || !self.is_large()?;
        let rows = if counted {
            let keys = self.reader().keys()?;
            self.rows_of(&keys.iter().collect::<Vec<_>>(), terms)?
        } else {
            self.brief_rows(terms)?
        };
        let rows = Arc::new(rows);
        *self.listed.lock().unwrap_or_else(PoisonError::into_inner) =
            Some(Listed { of, counted, rows: Arc::clone(&rows) });
        Ok(rows)
    }

    /// The rows of the last list, if it serves.
    fn kept_rows(&self, counted: bool, of: (i64, Date)) -> Option<Arc<Vec<ProductRow>>> {
        let kept = self.listed.lock().unwrap_or_else(PoisonError::into_inner).clone();
        kept.filter(|it| it.of == of && (it.counted || !counted)).map(|it| it.rows)
    }

    /// The rows of some products. Findings are counted where all rows would be, but of these products alone.
    fn some_rows(
        &self,
        keys: &HashSet<ProductKey>,
        counted: bool,
        of: (i64, Date),
        terms: &Terms,
    ) -> Result<Vec<ProductRow>, Error> {
        let rows = match self.kept_rows(counted, of) {
            Some(rows) => rows,
            None if counted || !self.is_large()? => {
                let mut keys: Vec<_> = keys.iter().collect();
                keys.sort_unstable();
                return self.rows_of(&keys, terms);
            }
            None => self.all_rows(counted, of, terms)?,
        };
        let names: HashSet<&str> = keys.iter().map(ProductKey::as_str).collect();
        Ok(rows.iter().filter(|it| names.contains(&*it.product)).cloned().collect())
    }

    /// Rows of all products without what their findings say.
    fn brief_rows(&self, terms: &Terms) -> Result<Vec<ProductRow>, Error> {
        let priced = self.all_priced()?;
        let opened = self.reader().last_teardowns()?;
        let parts = on_all_cores(priced.in_runs(READ_TOGETHER), |places| {
            let row = |(it, prices): (&Named, Vec<Price>)| {
                brief_row(it, &prices, opened.get(&it.key).copied(), terms)
            };
            priced.some(places).map(row).collect::<Result<Vec<_>, _>>()
        });
        let rows: Result<Vec<_>, _> = parts.into_iter().collect();
        let mut rows: Vec<ProductRow> = rows?.into_iter().flatten().collect();
        rows.sort_unstable_by(|a, b| a.product.cmp(&b.product));
        Ok(rows)
    }

    /// The rows of some products, whose findings are counted. So many are read at a time, and let go, that memory does not
    /// follow the file.
    fn rows_of(&self, keys: &[&ProductKey], terms: &Terms) -> Result<Vec<ProductRow>, Error> {
        let dictionary = Declarations::read(&self.reader())?.dictionary;
        let rows = self.read_at_once(&shares::parts(keys), |reader, keys| {
            let mut rows = Vec::with_capacity(keys.len());
            for some in keys.chunks(READ_TOGETHER) {
                for it in reader.outlines(some.iter().copied(), &dictionary)? {
                    rows.push(row(&it, &dictionary, terms)?);
                }
            }
            Ok(rows)
        })?;
        Ok(rows.into_iter().flatten().collect())
    }
}

fn noted(it: &ScoredProduct, dictionary: &Dictionary, terms: &Terms) -> ProductNote {
    let doubts: Vec<_> =
        cross::checks(it, terms).into_iter().filter(|it| it.subject == "record").collect();
    let (found, expected) = counted(&it.dossier, dictionary);
    ProductNote {
        product: it.dossier.product.key.to_string(),
        completeness: share(found, expected),
        found: number(found),
        expected: number(expected),
        remarks: number(it.remarks.len()),
        doubts: number(doubts.len()),
        doubt: doubts.into_iter().next().map(|it| it.text).unwrap_or_default(),
    }
}

/// How many of the expected findings have a value, and how many are expected.
fn counted(dossier: &Dossier, dictionary: &Dictionary) -> (usize, usize) {
    let expected = expected(dossier, dictionary);
    let found = expected.iter().filter(|(part, key)| is_answered(dossier, *part, key)).count();
    (found, expected.len())
}

#[expect(clippy::cast_precision_loss, reason = "a few hundred findings")]
fn share(found: usize, expected: usize) -> f64 {
    if expected == 0 { 0.0 } else { found as f64 / expected as f64 }
}

fn number(it: usize) -> u32 {
    u32::try_from(it).unwrap_or(u32::MAX)
}

pub(crate) fn row(
    dossier: &Dossier,
    dictionary: &Dictionary,
    terms: &Terms,
) -> Result<ProductRow, Error> {
    let product = &dossier.product;
    let (found, expected) = counted(dossier, dictionary);
    let opened = dossier.jobs.iter().map(|it| it.teardown.date).max();
    let placed = placed(&dossier.prices, terms)?;
    Ok(ProductRow {
        product: product.key.to_string(),
        maker: product.maker.clone(),
        model: product.model.clone(),
        kind: product.kind.word().into(),
        ways: product.ways.into(),
        powered: product.powered,
        year: product.year.into(),
        completeness: Some(share(found, expected)),
        found: number(found),
        expected: number(expected),
        last_teardown: opened.map(|it| it.to_string()),
        price: placed.price,
        no_price: placed.no_price,
        price_age_days: placed.age_days,
    })
}

/// The row of a product whose findings nobody read.
fn brief_row(
    it: &Named,
    prices: &[Price],
    opened: Option<Date>,
    terms: &Terms,
) -> Result<ProductRow, Error> {
    let placed = placed(prices, terms)?;
    Ok(ProductRow {
        product: it.key.to_string(),
        maker: it.maker.clone(),
        model: it.model.clone(),
        kind: it.kind.word().into(),
        ways: it.ways.into(),
        powered: it.powered,
        year: it.year.into(),
        completeness: None,
        found: 0,
        expected: 0,
        last_teardown: opened.map(|it| it.to_string()),
        price: placed.price,
        no_price: placed.no_price,
        price_age_days: placed.age_days,
    })
}

/// The price that places a product, or why there is none.
struct Placed {
    price: Option<PriceDto>,
    no_price: Option<String>,
    age_days: Option<i32>,
}

fn placed(prices: &[Price], terms: &Terms) -> Result<Placed, Error> {
    Ok(match terms.effective(prices) {
        Ok(it) => Placed {
            price: Some(pricing::price_dto(prices, &it)?),
            no_price: None,
            age_days: pricing::age_days(prices, &it, terms.as_of),
        },
        Err(why) => Placed { price: None, no_price: Some(why.to_string()), age_days: None },
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
