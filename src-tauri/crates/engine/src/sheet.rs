//! All about one product.

use std::collections::BTreeMap;

use domain::{
    dictionary::{Entry, Kind},
    dossier::Dossier,
    finding::{Answer, Finding, Value},
    reading,
    unit::Dimension,
};
use physics::quantity::{Method, NoValue, Quantity};
use serde::Deserialize;
use standing::index::Score;

use crate::{
    Engine, Error, band, cross,
    declared::Declarations,
    dto::{
        CriterionDto, ElementDto, FindingDto, ProductScores, ProductSheet, QuantityDto, Remark,
        ShareDto, SpecimenDto, SweepDto,
    },
    pricing::{self, Terms},
    products,
    scoring::{Scored, ScoredCriterion, ScoredProduct},
    weights,
};

/// Which product.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(feature = "types", derive(ts_rs::TS), ts(export))]
#[serde(deny_unknown_fields)]
pub struct ShowRequest {
    /// Its key, `maker/model`.
    pub product: String,
}

impl Engine {
    /// Findings, quantities, scores and remarks of one product.
    ///
    /// # Errors
    /// [`Error::UnknownProduct`], or when the catalogue cannot be read.
    pub fn show(&self, request: &ShowRequest) -> Result<ProductSheet, Error> {
        let info = self.reader().info()?;
        let terms = Terms::of(&info, self.today())?;
        let key = self.named_product(&request.product, &terms)?;
        let scored = self.scored_of(&[&key], false)?;
        let product = scored.product(&key)?;
        sheet(&scored, product, &terms, None)
    }
}

/// All about a product; its scores by `shares`, or by the catalogue's weights.
pub(crate) fn sheet(
    scored: &Scored,
    product: &ScoredProduct,
    terms: &Terms,
    shares: Option<&BTreeMap<String, f64>>,
) -> Result<ProductSheet, Error> {
    let dossier = &product.dossier;
    let dictionary = &scored.declarations.dictionary;
    let mut remarks: Vec<Remark> = product.remarks.clone();
    remarks.extend(scored.remarks.iter().cloned());
    Ok(ProductSheet {
        currency: terms.currency.word().into(),
        base_month: terms.base.to_string(),
        row: products::row(dossier, dictionary, terms)?,
        note: dossier.product.note.clone(),
        findings: findings(dossier, &scored.declarations),
        quantities: product.quantities().iter().map(quantity).collect(),
        scores: if dossier.product.powered { None } else { Some(scores(scored, product, shares)?) },
        prices: pricing::observed(&dossier.prices, terms),
        specimens: specimens(dossier),
        network: dossier.network().unwrap_or_default().iter().map(element).collect(),
        sweeps: sweeps(dossier),
        missing: products::missing(dossier, dictionary),
        cross_checks: cross::checks(product, terms),
        remarks,
    })
}

/// In the order of parts, then of the dictionary, then of dates; all of them, not only the current ones.
fn findings(dossier: &Dossier, of: &Declarations) -> Vec<FindingDto> {
    // What nobody declares stands last.
    let place =
        |key: &str| of.dictionary.entries().position(|it| it.key == key).unwrap_or(usize::MAX);
    let mut list: Vec<&Finding> = dossier.findings().collect();
    list.sort_by_key(|it| (it.part, place(&it.key), it.date, it.evidence));
    list.into_iter().map(|it| finding(it, of)).collect()
}

pub(crate) fn finding(it: &Finding, of: &Declarations) -> FindingDto {
    let entry = it.entry();
    let (si, std_uncertainty) = match &it.answer {
        Answer::Value(Value::Number { si, std_uncertainty }) => (Some(*si), *std_uncertainty),
        Answer::Value(Value::Count(n)) => (Some(f64::from(*n)), None),
        _ => (None, None),
    };
    let shown = match (entry.map(|it| it.kind), si) {
        (Some(Kind::Number(dimension, unit)), Some(si)) => {
            let unit = display_unit(dimension, unit, &it.unit);
            match std_uncertainty {
                Some(u) => reading::shown_with_u(si, u, dimension, unit),
                None => reading::shown_as_typed(&it.typed, dimension, unit),
            }
        }
        _ => it.typed.clone(),
    };
    FindingDto {
        address: it.address(),
        part: it.part.to_string(),
        label: entry.map_or_else(|| it.key.clone(), |it| it.label.to_owned()),
        typed: it.typed.clone(),
        shown,
        si,
        std_uncertainty,
        si_unit: match entry.map(|it| it.kind) {
            Some(Kind::Number(dimension, _) | Kind::Numbers(dimension, _)) => {
                dimension.si_symbol().to_owned()
            }
            _ => String::new(),
        },
        evidence: it.evidence.word().into(),
        date: it.date.to_string(),
        note: it.note.clone(),
        warning: of.unread(it).or_else(|| unusual(&entry?, it, si)),
    }
}

/// A gauge stays a gauge on screens; all else is shown in the dictionary's unit.
pub(crate) fn display_unit<'u>(dimension: Dimension, unit: &'u str, typed: &'u str) -> &'u str {
    if dimension == Dimension::WireSize && typed == domain::unit::AWG { typed } else { unit }
}

/// A sentence when a number lies outside the usual range; it warns and never refuses.
fn unusual(entry: &Entry<'_>, it: &Finding, si: Option<f64>) -> Option<String> {
    let (range, _) = entry.unusual(it.part.role, si?)?;
    let unit = match entry.kind {
        Kind::Number(_, unit) => unit,
        _ => "",
    };
    Some(format!("outside the usual {}–{} {unit}", range.low, range.high).trim_end().to_owned())
}

/// Shares of the squared uncertainty under this are left out.
const LEAST_SHARE: f64 = 0.01;

pub(crate) fn quantity(it: &Quantity) -> QuantityDto {
    let spec = it.spec;
    let (si, shown, missing) = match &it.value {
        Ok(si) => (Some(*si), value_text(*si, it), Vec::new()),
        Err(NoValue::Missing(list)) => (None, "missing".to_owned(), list.clone()),
        Err(NoValue::NotApplicable(why)) => (None, format!("not applicable: {why}"), Vec::new()),
        Err(NoValue::Refused(why)) => (None, format!("refused: {why}"), Vec::new()),
    };
    let known = si.is_some();
    QuantityDto {
        id: spec.id.into(),
        label: spec.label.into(),
        si,
        u: it.u.filter(|_| known),
        method: match it.method {
            Method::Exact => "exact",
            Method::FirstOrder => "first order",
            Method::MonteCarlo => "drawn at random",
        }
        .into(),
        shown,
        unit: spec.unit.into(),
        from: it.from.clone(),
        relations: if known {
            it.relations.iter().map(|it| (*it).to_owned()).collect()
        } else {
            Vec::new()
        },
        shares: shares(it),
        evidence: it.evidence.filter(|_| known).map(|it| it.word().to_owned()),
        assumed: if known { it.assumed.clone() } else { Vec::new() },
        missing,
    }
}

fn value_text(si: f64, it: &Quantity) -> String {
    let spec = it.spec;
    match it.u.filter(|u| *u > 0.0) {
        Some(u) => reading::shown_with_u(si, u, spec.dimension, spec.unit),
        None if si.fract() == 0.0 && spec.dimension == Dimension::One => format!("{si:.0}"),
        None => reading::shown(si, None, spec.dimension, spec.unit),
    }
}

fn shares(it: &Quantity) -> Vec<ShareDto> {
    let total: f64 = it.shares.iter().map(|it| it.u * it.u).sum();
    it.shares
        .iter()
        .map(|of| ShareDto { source: of.source.clone(), share: of.u * of.u / total })
        .filter(|it| it.share >= LEAST_SHARE)
        .collect()
}

fn scores(
    scored: &Scored,
    product: &ScoredProduct,
    shares: Option<&BTreeMap<String, f64>>,
) -> Result<ProductScores, Error> {
    let names: Vec<&str> = scored.subsystems.iter().map(String::as_str).collect();
    let shares = match shares {
        Some(it) => it.clone(),
        None => weights::shares(None, &scored.weights, &names)?.0,
    };
    let index = band::score_of(scored, product, &shares)?;
    // The share of a criterion: that of its subsystem, which may take over that of one that does not apply, times its own.
    let share_of = |name: &str, of: &ScoredCriterion| {
        let place = shares.keys().position(|it| it == name);
        let subsystem = place.and_then(|at| index.contributions.get(at)).map_or(0.0, |it| it.share);
        let at = scored.subsystems.iter().position(|it| it == name);
        let fellows = at.and_then(|at| product.subsystems.get(at)).map(|it| &it.criteria[..]);
        let total: f64 = fellows
            .unwrap_or_default()
            .iter()
            .filter(|it| it.score != Score::NotApplicable)
            .map(|it| it.weight)
            .sum();
        if of.score == Score::NotApplicable || total <= 0.0 {
            0.0
        } else {
            subsystem * of.weight / total
        }
    };
    let criteria = scored
        .subsystems
        .iter()
        .zip(&product.subsystems)
        .flat_map(|(name, it)| it.criteria.iter().map(move |it| (name, it)))
        .map(|(name, it)| {
            let (state, score, hard) = match it.score {
                Score::Known { value, hard } => ("known", Some(value), hard),
                Score::Missing { .. } => ("missing", None, false),
                Score::NotApplicable => ("not applicable", None, false),
            };
            let share = share_of(name, it);
            CriterionDto {
                subsystem: name.clone(),
                id: it.id.clone(),
                title: it.title.clone(),
                weight: it.weight,
                measure: it.measure,
                unit: if it.unit == "1" { String::new() } else { it.unit.clone() },
                score,
                state: state.into(),
                hard,
                share,
                contribution: (share > 0.0).then(|| score.map(|it| share * it)).flatten(),
                source: it.source.clone(),
            }
        })
        .collect();
    Ok(ProductScores {
        index: band::interval_dto(&index),
        coverage: index.coverage,
        coverage_hard: index.coverage_hard,
        subsystems: band::subsystems_dto(scored, product),
        criteria,
    })
}

fn specimens(dossier: &Dossier) -> Vec<SpecimenDto> {
    dossier
        .specimens
        .iter()
        .map(|it| SpecimenDto {
            label: it.label.clone(),
            acquired: it.acquired.word().into(),
            teardowns: dossier
                .jobs
                .iter()
                .filter(|job| job.teardown.specimen == it.label)
                .map(|job| job.teardown.date.to_string())
                .collect(),
        })
        .collect()
}

fn element(it: &domain::network::Element) -> ElementDto {
    ElementDto {
        name: it.name.clone(),
        kind: it.kind.word().into(),
        nodes: vec![it.from.clone(), it.to.clone()],
        value: it.part.map_or_else(|| it.typed.clone(), |part| part.to_string()),
        loss: it.loss_typed.clone(),
        construction: it.construction.clone(),
        rating: it.rating_typed.clone(),
        note: it.note.clone(),
    }
}

fn sweeps(dossier: &Dossier) -> Vec<SweepDto> {
    dossier
        .jobs
        .iter()
        .flat_map(|job| job.sweeps.iter().map(move |it| (job.teardown.date, it)))
        .filter_map(|(date, it)| {
            let (first, last) = (it.points.first()?, it.points.last()?);
            Some(SweepDto {
                part: it.part.to_string(),
                points: u32::try_from(it.points.len()).unwrap_or(u32::MAX),
                from_hz: first.f_hz,
                to_hz: last.f_hz,
                phase: first.phase_deg.is_some(),
                date: date.to_string(),
            })
        })
        .collect()
}
