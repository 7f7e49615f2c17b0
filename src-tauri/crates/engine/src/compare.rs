//! A few products side by side, down to each criterion, finding and remark.

mod rows;

use std::collections::BTreeMap;

use domain::key::ProductKey;
use serde::Deserialize;
use standing::{acceptability::acceptability, weighting::Weightings};

use crate::{
    BandRequest, Engine, Error,
    band::{self, Field, Member, numbers, percent},
    cross,
    drawn::Fill,
    dto::{CompareReport, ComparedDto, ComparedPair, ProductSheet, Remark, SpanDto},
    pricing::Terms,
    scoring::ScoredProduct,
    sheet,
};

/// Which products.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct CompareRequest {
    /// Two to five keys, `maker/model`, each once.
    pub products: Vec<String>,
    /// Weights of subsystems that replace the catalogue's.
    pub weights: Option<BTreeMap<String, f64>>,
    /// The seed of the draws; 0 when absent.
    pub seed: Option<u32>,
}

/// More columns do not fit beside each other on a page.
const MOST: usize = 5;
/// The share of draws that tells two products apart, as it parts groups of standings.
const APART: f64 = 0.9;

/// What the draws say of the products that are scored.
#[derive(Default)]
struct Drawn {
    /// By place among the products asked for.
    spreads: BTreeMap<usize, SpanDto>,
    pairs: Vec<ComparedPair>,
}

impl Engine {
    /// Two to five products side by side.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], when fewer than two, more than five or the same products twice are asked for, or when the
    /// catalogue cannot be read.
    pub fn compare(&self, request: &CompareRequest) -> Result<CompareReport, Error> {
        let asked = BandRequest {
            weights: request.weights.clone(),
            seed: request.seed,
            ..BandRequest::default()
        };
        let question = self.question(&asked)?;
        let keys = self.chosen(&request.products, &question.terms)?;
        let scored = self.scored_of(&keys.iter().collect::<Vec<_>>(), false)?;
        let chosen: Vec<usize> =
            keys.iter().map(|it| scored.place(it)).collect::<Result<_, _>>()?;
        let products: Vec<&ScoredProduct> =
            chosen.iter().map(|&place| &scored.products[place]).collect();
        let shares = question.shares(&scored)?;
        let sheets: Vec<ProductSheet> = products
            .iter()
            .map(|it| sheet::sheet(&scored, it, &question.terms, Some(&shares.0)))
            .collect::<Result<_, _>>()?;

        let mut field = Field::new(&scored, &question, shares)?;
        field.ranked.retain(|it| chosen.contains(&it.place));
        field.ranked.sort_by_key(|it| chosen.iter().position(|place| *place == it.place));
        field.around.clear();
        let (drawn, faults) = self.drawn_of(&scored, &field, question.draws.seed);
        let found = if field.ranked.is_empty() {
            Drawn::default()
        } else {
            let filled = numbers::filled(&field, &drawn, Fill::Even);
            let weights: Vec<f64> = field.weighed().iter().map(|(_, _, it)| *it).collect();
            let draws = question.draws;
            let near =
                Weightings::around(&weights, draws.kappa, draws.draws, u64::from(draws.seed))
                    .map_err(numbers::internal)?;
            numbers::with_profiles(&filled, |profiles| {
                let near =
                    acceptability(profiles, &near, draws.threads).map_err(numbers::internal)?;
                let place = |it: &Member<'_>| chosen.iter().position(|at| *at == it.place);
                let spreads = field
                    .ranked
                    .iter()
                    .zip(profiles)
                    .filter_map(|(it, profile)| {
                        Some((place(it)?, numbers::spread(profile, &weights).0))
                    })
                    .collect();
                Ok(Drawn {
                    spreads,
                    pairs: pairs(&field, &chosen, |a, b| {
                        f64::from(near.wins(a, b)) / near.draws() as f64
                    }),
                })
            })?
        };
        let mut remarks = scored.remarks.clone();
        remarks.extend(faults.into_iter().map(band::not_drawn));
        Ok(CompareReport {
            currency: question.terms.currency.word().into(),
            base_month: question.terms.base.to_string(),
            as_of: question.terms.as_of.to_string(),
            rubric: scored.rubric.clone(),
            weights: field.shares.clone(),
            seed: question.draws.seed,
            draws: u32::try_from(question.draws.draws).unwrap_or(u32::MAX),
            products: compared(&sheets, &products, &found.spreads),
            pairs: found.pairs,
            sections: rows::sections(&sheets, &products, &field.shares, &scored),
            remarks: products
                .iter()
                .map(|it| {
                    let checks = cross::checks(it, &question.terms).into_iter();
                    let checks = checks.filter(|it| it.severity != "info").map(|it| Remark {
                        source: "boxworth".into(),
                        code: it.code,
                        severity: it.severity,
                        text: it.text,
                    });
                    checks.chain(it.remarks.iter().cloned()).collect()
                })
                .collect(),
            faults: remarks,
        })
    }

    /// The products asked for.
    fn chosen(&self, keys: &[String], terms: &Terms) -> Result<Vec<ProductKey>, Error> {
        let refuse = |text: String, why: &str| Error::Request {
            place: "products",
            text,
            why: why.into(),
            accepted: format!("2 to {MOST} keys, each once, such as marrowfield/stile-5"),
        };
        if !(2..=MOST).contains(&keys.len()) {
            return Err(refuse(keys.join(" "), "is no comparison"));
        }
        let mut chosen = Vec::new();
        for text in keys {
            let key = self.named_product(text, terms)?;
            if chosen.contains(&key) {
                return Err(refuse(text.clone(), "is named twice"));
            }
            chosen.push(key);
        }
        Ok(chosen)
    }
}

fn compared(
    sheets: &[ProductSheet],
    products: &[&ScoredProduct],
    spreads: &BTreeMap<usize, SpanDto>,
) -> Vec<ComparedDto> {
    sheets
        .iter()
        .zip(products)
        .enumerate()
        .map(|(at, (sheet, product))| ComparedDto {
            product: sheet.row.product.clone(),
            label: format!("{} {}", sheet.row.maker, sheet.row.model),
            kind: sheet.row.kind.clone(),
            real_pair: sheet.row.price.as_ref().map(|it| it.real_pair),
            stale: sheet.row.price.as_ref().is_some_and(|it| it.stale),
            index: sheet.scores.as_ref().map(|it| it.index.clone()),
            spread: spreads.get(&at).cloned(),
            coverage: sheet.scores.as_ref().map_or(0.0, |it| it.coverage),
            coverage_hard: sheet.scores.as_ref().map_or(0.0, |it| it.coverage_hard),
            caps: product.caps.clone(),
        })
        .collect()
}

/// Each two, the one that is above more often first.
fn pairs(
    field: &Field<'_>,
    chosen: &[usize],
    wins: impl Fn(usize, usize) -> f64,
) -> Vec<ComparedPair> {
    let place = |at: usize| {
        let found = chosen.iter().position(|it| *it == field.ranked[at].place);
        u32::try_from(found.unwrap_or_default()).unwrap_or_default()
    };
    let mut list = Vec::new();
    for a in 0..field.ranked.len() {
        for b in a + 1..field.ranked.len() {
            let (above, below) = if wins(a, b) >= wins(b, a) { (a, b) } else { (b, a) };
            let p = wins(above, below);
            let (first, second) = (field.ranked[above].label(), field.ranked[below].label());
            let apart = p >= APART;
            let text = if apart {
                format!("{first} is above {second} in {} of the draws.", percent(p))
            } else {
                format!(
                    "{first} and {second} are not told apart: the first is above in {} of the draws.",
                    percent(p)
                )
            };
            list.push(ComparedPair { above: place(above), below: place(below), p, apart, text });
        }
    }
    list
}
