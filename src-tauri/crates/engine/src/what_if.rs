//! What if: other findings, another price or other weights, and how the standings would move. Nothing is saved.

mod change;

use std::{collections::BTreeMap, sync::Arc};

use serde::Deserialize;

use crate::{
    BandRequest, Engine, Error,
    band::{self, Field, Question, interval_dto, numbers::Numbers},
    drawn::{self, Drawn, Fill},
    dto::{ChangeDto, MovedDto, PlacedDto, WhatIfReport},
    rubric::Changes,
    scoring::{self, Scored},
};
use change::changed;

/// What to change of one product, or of the weights.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields, default)]
pub struct WhatIfRequest {
    /// The product's key.
    pub product: String,
    /// Findings as somebody would type them, by address: `cabinet.wall_damping` to `damping sheet`; also `not inspected`.
    pub set: BTreeMap<String, String>,
    /// How the new findings would be known; `measured` for numbers and `inspected` for all else when absent.
    pub evidence: Option<String>,
    /// A price as somebody would type it: `249` of a pair, `129 each`.
    pub price: Option<String>,
    /// Weights after the change; as in `band` when absent.
    pub weights: Option<BTreeMap<String, f64>>,
    /// The band, and how to weigh and draw.
    pub band: BandRequest,
}

/// One side of the comparison.
struct Side<'s> {
    field: Field<'s>,
    numbers: Option<Numbers>,
}

/// A probability that moves by less is called unmoved.
const LEAST_MOVE: f64 = 0.005;

impl Engine {
    /// How the standings of a band would move.
    ///
    /// # Errors
    /// As [`Engine::band`], [`Error::UnknownProduct`], or when a finding or the price is not understood.
    pub fn what_if(&self, request: &WhatIfRequest) -> Result<WhatIfReport, Error> {
        let key = self.named_product(&request.product, &self.terms()?)?;
        let (question, scored) = self.asked_with(&request.band, &[&key])?;
        let place = scored.place(&key)?;
        let (dossier, mut changes) = changed(
            &scored.products[place].dossier,
            &scored.declarations.dictionary,
            request,
            &question.terms,
        )?;
        if changes.is_empty() && request.weights.is_none() {
            return Err(Error::Request {
                place: "change",
                text: String::new(),
                why: "changes nothing".into(),
                accepted:
                    "a finding such as cabinet.wall_damping=damping sheet, a price, or weights"
                        .into(),
            });
        }
        let after = if changes.is_empty() {
            Arc::clone(&scored)
        } else {
            Arc::new(self.rescored(&scored, place, dossier)?)
        };
        let weights = request.weights.clone().or_else(|| request.band.weights.clone());
        let asked_after = self.placed(&BandRequest { weights, ..request.band.clone() })?;

        let mut faults = Vec::new();
        let before = self.side(&question, &scored, &scored, place, &mut faults)?;
        let then = self.side(&asked_after, &scored, &after, place, &mut faults)?;
        if request.weights.is_some() {
            changes.extend(weight_changes(&before.field, &then.field));
        }
        let mut remarks = after.remarks.clone();
        faults.dedup();
        remarks.extend(faults.into_iter().map(band::not_drawn));
        let (moved, unmoved) = moved(&before, &then, &request.product);
        let sentences = sentences(&moved, &request.product);
        Ok(WhatIfReport {
            band: question.band_dto(),
            product: request.product.clone(),
            changes,
            seed: question.draws.seed,
            draws: u32::try_from(question.draws.draws).unwrap_or(u32::MAX),
            moved,
            unmoved,
            sentences,
            remarks,
        })
    }

    /// All scores, one product with another dossier.
    fn rescored(
        &self,
        scored: &Scored,
        place: usize,
        dossier: domain::dossier::Dossier,
    ) -> Result<Scored, Error> {
        let mut examined: Vec<_> =
            scored.products.iter().map(|it| Arc::clone(&it.examined)).collect();
        examined[place] = scoring::examine(dossier);
        self.scored_anew(scored, examined)
    }

    /// All scores from other findings, with the plugins and the rubric of this catalogue.
    pub(crate) fn scored_anew(
        &self,
        scored: &Scored,
        examined: Vec<Arc<scoring::Examined>>,
    ) -> Result<Scored, Error> {
        let changes = Changes::of(self.reader().rubric_changes()?);
        self.scored_by(scored, examined, &changes)
    }

    /// The same with another rubric.
    pub(crate) fn scored_by(
        &self,
        scored: &Scored,
        examined: Vec<Arc<scoring::Examined>>,
        changes: &Changes,
    ) -> Result<Scored, Error> {
        let trusted = self.reader().trusted_plugins()?;
        let declarations = Arc::clone(&scored.declarations);
        Ok(scoring::score(examined, &self.plugins, &trusted, changes, declarations))
    }

    /// The field among `after`, on draws shared with `scored` but for the product at `place`.
    fn side<'s>(
        &self,
        question: &Question,
        scored: &Arc<Scored>,
        after: &'s Arc<Scored>,
        place: usize,
        faults: &mut Vec<String>,
    ) -> Result<Side<'s>, Error> {
        let field = question.field(after)?;
        let seed = question.draws.seed;
        let others: Vec<usize> = field.all().map(|it| it.place).filter(|it| *it != place).collect();
        let (shared, said) = self.drawn_at(scored, &others, seed);
        faults.extend(said);
        let (own, said) = if Arc::ptr_eq(scored, after) {
            self.drawn_at(scored, &[place], seed)
        } else {
            drawn::draw(after, &[place], &self.plugins, &after.spreads, u64::from(seed))
        };
        faults.extend(said);
        let by_place: BTreeMap<usize, Arc<Drawn>> =
            others.into_iter().zip(shared).chain([place].into_iter().zip(own)).collect();
        let drawn: Vec<Arc<Drawn>> =
            field.all().filter_map(|it| by_place.get(&it.place).cloned()).collect();
        let filled = band::numbers::filled(&field, &drawn, Fill::Even);
        let numbers = band::numbers::numbers(&field, &filled, question.draws)?;
        Ok(Side { field, numbers })
    }
}

fn weight_changes(before: &Field<'_>, after: &Field<'_>) -> Vec<ChangeDto> {
    let text = |share: Option<&f64>| {
        share.map_or_else(|| "none".to_owned(), |it| format!("{:.0} %", it * 100.0))
    };
    after
        .shares
        .iter()
        .filter(|(name, share)| {
            before.shares.get(*name).is_none_or(|it| (it - **share).abs() > 1e-9)
        })
        .map(|(name, share)| ChangeDto {
            what: format!("weight of {name}"),
            before: text(before.shares.get(name)),
            after: text(Some(share)),
        })
        .collect()
}

impl Side<'_> {
    fn placed(&self, key: &str) -> Option<PlacedDto> {
        let at = self.field.ranked.iter().position(|it| it.key() == key)?;
        let numbers = self.numbers.as_ref()?;
        let member = &self.field.ranked[at];
        let rank = |p: f64| band::whole(numbers.near.rank_quantile(at, p));
        let offers = band::offers(&self.field.ranked).ok()?;
        Some(PlacedDto {
            place: u32::try_from(at + 1).unwrap_or(u32::MAX),
            index: interval_dto(&member.score),
            spread: numbers.spreads[at].clone(),
            rank_low: rank(0.05),
            rank_high: rank(0.95),
            p_first: f64::from(numbers.near.first(at)) / numbers.near.draws() as f64,
            value: numbers.value.points.value.get(at).copied(),
            real_pair: member.price.real_pair,
            on_frontier: ::standing::frontier::frontier(&offers).members.contains(&at),
        })
    }
}

/// The product itself, then the others that move, and how many do not.
fn moved(before: &Side<'_>, after: &Side<'_>, product: &str) -> (Vec<MovedDto>, u32) {
    let mut list: Vec<MovedDto> = Vec::new();
    let mut unmoved = 0;
    let mut seen: Vec<&str> = Vec::new();
    let keys = after.field.ranked.iter().chain(&before.field.ranked);
    for member in keys {
        let key = member.key();
        if seen.contains(&key) {
            continue;
        }
        seen.push(key);
        let of = &member.product.dossier.product;
        let row = MovedDto {
            product: key.to_owned(),
            label: format!("{} {}", of.maker, of.model),
            before: before.placed(key),
            after: after.placed(key),
        };
        if key == product {
            list.insert(0, row);
        } else if stays(&row) {
            unmoved += 1;
        } else {
            list.push(row);
        }
    }
    (list, unmoved)
}

fn stays(it: &MovedDto) -> bool {
    let (Some(before), Some(after)) = (&it.before, &it.after) else { return false };
    before.place == after.place
        && before.rank_low == after.rank_low
        && before.rank_high == after.rank_high
        && before.on_frontier == after.on_frontier
        && (before.p_first - after.p_first).abs() < LEAST_MOVE
        && (before.index.low - after.index.low).abs() < LEAST_MOVE
        && (before.index.high - after.index.high).abs() < LEAST_MOVE
}

fn sentences(moved: &[MovedDto], product: &str) -> Vec<String> {
    let mut sentences = Vec::new();
    if let Some(own) = moved.first().filter(|it| it.product == product) {
        sentences.push(match (&own.before, &own.after) {
            (Some(before), Some(after)) if before.place == after.place => {
                format!("{} stays in place {}.", own.label, after.place)
            }
            (Some(before), Some(after)) => {
                format!("{} moves from place {} to {}.", own.label, before.place, after.place)
            }
            (None, Some(after)) => {
                format!("{} comes into the ranking, in place {}.", own.label, after.place)
            }
            (Some(before), None) => {
                format!("{} leaves the ranking; it was in place {}.", own.label, before.place)
            }
            (None, None) => format!("{} is not ranked, before or after.", own.label),
        });
    } else {
        sentences.push("The product is not ranked in this band, before or after.".to_owned());
    }
    sentences
}
