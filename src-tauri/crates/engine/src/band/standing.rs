//! One product's standing as an answer.

use std::{collections::BTreeMap, sync::Arc};

use ::standing::{
    frontier::{Frontier, Offer, frontier},
    index::{IndexScore, Subsystem},
    rank::{Interval, RankInterval, rank_intervals},
};

use domain::dictionary::Dictionary;

use super::{
    field::{Field, Member},
    numbers::{Numbers, internal},
    robustness,
    verdicts::{self, Alternatives},
};
use crate::{
    Error,
    drawn::{Drawn, Part},
    dto::{
        BeaterDto, ContributionDto, DoubtDto, IntervalDto, RankDto, Remark, Standing, SubsystemDto,
        ValuePoints,
    },
    naming::named_list,
    pricing,
    scoring::{Scored, ScoredProduct},
};

/// The share of draws that tells a group from the next.
const APART: f64 = 0.9;
/// Beaters less likely than this are not listed.
const LEAST_BEATER: f64 = 0.1;
/// How many doubts are listed.
const DOUBTS: usize = 3;

/// All standings, in the order of [`Field::ranked`].
pub(super) fn standings(
    field: &Field<'_>,
    drawn: &[Arc<Drawn>],
    numbers: &Numbers,
    alternatives: &Alternatives,
) -> Result<Vec<Standing>, Error> {
    let intervals: Vec<Interval> = field.ranked.iter().map(|it| it.score.interval).collect();
    let ranks = rank_intervals(&intervals);
    let unbeaten = frontier(&offers(&field.ranked)?);
    let groups = groups(field, numbers);
    let equal = robustness::equal_ranks(field)?;
    (0..field.ranked.len())
        .map(|at| {
            let rank = (ranks[at], equal[at]);
            standing(field, &drawn[at], numbers, alternatives, at, rank, groups[at], &unbeaten)
        })
        .collect()
}

pub(crate) fn offers(ranked: &[Member<'_>]) -> Result<Vec<Offer>, Error> {
    ranked
        .iter()
        .map(|it| Offer::new(it.price.real_pair, it.score.interval).map_err(internal))
        .collect()
}

/// The group of each product, from 1.
pub(crate) fn groups(field: &Field<'_>, numbers: &Numbers) -> Vec<u32> {
    let draws = numbers.near.draws() as f64;
    let above = |i: usize, j: usize| f64::from(numbers.near.wins(i, j)) / draws;
    group_of(field.ranked.len(), above)
}

/// Numbers groups: a new one begins where its first is below the last group's first in most draws.
pub(crate) fn group_of(n: usize, above: impl Fn(usize, usize) -> f64) -> Vec<u32> {
    let (mut groups, mut head, mut group) = (Vec::with_capacity(n), 0, 1);
    for at in 0..n {
        if at > 0 && above(head, at) >= APART {
            head = at;
            group += 1;
        }
        groups.push(group);
    }
    groups
}

#[expect(clippy::too_many_arguments, reason = "one row of the loop above, which owns all of it")]
fn standing(
    field: &Field<'_>,
    drawn: &Drawn,
    numbers: &Numbers,
    alternatives: &Alternatives,
    at: usize,
    (rank, equal_rank): (RankInterval, usize),
    group: u32,
    unbeaten: &Frontier,
) -> Result<Standing, Error> {
    let member = &field.ranked[at];
    let product = &member.product.dossier.product;
    let near = &numbers.near;
    let draws = near.draws() as f64;
    let by_name = |weights: &[f64]| -> BTreeMap<String, f64> {
        let names = field.weighed().into_iter().map(|(name, _, _)| name.to_owned());
        names.zip(weights.iter().copied()).collect()
    };
    let key = |at: &usize| field.ranked[*at].key().to_owned();
    Ok(Standing {
        product: member.key().to_owned(),
        maker: product.maker.clone(),
        model: product.model.clone(),
        kind: product.kind.word().into(),
        price: pricing::price_dto(&member.product.dossier.prices, &member.price)?,
        index: interval_dto(&member.score),
        spread: numbers.spreads[at].clone(),
        contributions: contributions(field, member),
        caps: member.product.caps.clone(),
        geometric: alternatives.geometric[at],
        means: verdicts::means(field, member),
        equal_weights: interval_dto(&alternatives.equal[at]),
        rank_equal_weights: whole(equal_rank as f64),
        doubts: doubts(field, drawn, numbers.variances[at]),
        coverage: member.score.coverage,
        coverage_hard: member.score.coverage_hard,
        subsystems: subsystems_dto(field.scored, member.product),
        rank: RankDto {
            best: whole(rank.best as f64),
            worst: whole(rank.worst as f64),
            median: Some(whole(near.rank_quantile(at, 0.5))),
            low: Some(whole(near.rank_quantile(at, 0.05))),
            high: Some(whole(near.rank_quantile(at, 0.95))),
        },
        group,
        p_above_next: (at + 1 < near.n()).then(|| f64::from(near.wins(at, at + 1)) / draws),
        p_first: f64::from(near.first(at)) / draws,
        p_first_any: f64::from(numbers.any.first(at)) / numbers.any.draws() as f64,
        acceptability: near.split(at).iter().map(|it| it / draws).collect(),
        central_weights: numbers.any.central(at).map(by_name),
        holistic: near.holistic(at),
        value_points: value_points(numbers, at),
        p_not_beaten: numbers.value.beaten.p_not_beaten[at],
        beaters: beaters(field, numbers, at),
        verdicts: verdicts::verdicts(field, numbers, alternatives, at)?,
        on_frontier: unbeaten.members.contains(&at),
        beaten_by: unbeaten.beaten_by[at].iter().map(key).collect(),
        remarks: remarks(field, member),
        missing: missing(member.product),
    })
}

/// A rank; quantiles between two ranks go to the nearer one.
pub(crate) fn whole(rank: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "ranks are small and positive, and `as` saturates"
    )]
    let rank = rank.round() as u32;
    rank
}

fn remarks(field: &Field<'_>, member: &Member<'_>) -> Vec<Remark> {
    let mut remarks = member.doubts.clone();
    remarks.extend(member.product.remarks.iter().cloned());
    if field.band.is_borderline(member.price.real_pair) {
        remarks.push(Remark {
            source: "boxworth".into(),
            code: "borderline".into(),
            severity: "info".into(),
            text: "the price is within 3 % of the band's edge".into(),
        });
    }
    remarks
}

fn value_points(numbers: &Numbers, at: usize) -> Option<ValuePoints> {
    let drawn = numbers.value.drawn.as_ref()?.get(at)?;
    let points = &numbers.value.points;
    Some(ValuePoints {
        value: *points.value.get(at)?,
        expected: *points.expected.get(at)?,
        low: drawn.low,
        high: drawn.high,
        p_positive: drawn.p_positive,
        p_large: drawn.p_large,
        p_largest: drawn.p_largest,
    })
}

fn beaters(field: &Field<'_>, numbers: &Numbers, at: usize) -> Vec<BeaterDto> {
    let mut list: Vec<BeaterDto> = (0..field.ranked.len())
        .map(|other| (other, numbers.value.beaten.p_by(at, other)))
        .filter(|(_, p)| *p >= LEAST_BEATER)
        .map(|(other, p)| BeaterDto { product: field.ranked[other].key().to_owned(), p })
        .collect();
    list.sort_by(|a, b| b.p.total_cmp(&a.p).then_with(|| a.product.cmp(&b.product)));
    list
}

fn contributions(field: &Field<'_>, member: &Member<'_>) -> BTreeMap<String, ContributionDto> {
    field
        .shares
        .keys()
        .zip(&member.score.contributions)
        .filter(|(_, it)| it.share > 0.0)
        .map(|(name, it)| {
            (name.clone(), ContributionDto { share: it.share, low: it.low, high: it.high })
        })
        .collect()
}

/// What leaves the index most uncertain, at the weights asked for.
fn doubts(field: &Field<'_>, drawn: &Drawn, variance: f64) -> Vec<DoubtDto> {
    if variance <= 0.0 {
        return Vec::new();
    }
    let weighed = field.weighed();
    let dictionary = &field.scored.declarations.dictionary;
    let present = |place: usize| matches!(drawn.parts.get(place), Some(Part::Present { .. }));
    let total: f64 =
        weighed.iter().filter(|(_, place, _)| present(*place)).map(|(_, _, weight)| weight).sum();
    let mut list: Vec<DoubtDto> = drawn
        .pulls
        .iter()
        .map(|pull| {
            let moved: f64 = weighed
                .iter()
                .map(|(_, place, weight)| weight / total * pull.by_part[*place])
                .sum();
            let state = if pull.soft { "soft" } else { "uncertain" };
            doubt(dictionary, std::slice::from_ref(&pull.source), state, moved * moved / variance)
        })
        .collect();
    for (_, place, weight) in &weighed {
        let Some(Part::Present { gaps, .. }) = drawn.parts.get(*place) else { continue };
        for gap in gaps {
            let u = weight / total * gap.share * gap.within.width() / 12_f64.sqrt();
            list.push(doubt(dictionary, &gap.missing, "missing", u * u / variance));
        }
    }
    list.retain(|it| it.share >= 0.01);
    list.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.source.cmp(&b.source)));
    list.truncate(DOUBTS);
    list
}

fn doubt(dictionary: &Dictionary, sources: &[String], state: &str, share: f64) -> DoubtDto {
    DoubtDto {
        source: sources.join(", "),
        label: named_list(dictionary, sources),
        state: state.into(),
        share: share.min(1.0),
    }
}

pub(crate) fn interval_dto(it: &IndexScore) -> IntervalDto {
    IntervalDto { value: it.value, low: it.interval.low(), high: it.interval.high() }
}

pub(crate) fn subsystems_dto(
    scored: &Scored,
    product: &ScoredProduct,
) -> BTreeMap<String, SubsystemDto> {
    let dto = |it: Subsystem| match it {
        Subsystem::Scored(it) => Some(SubsystemDto {
            value: it.value,
            low: it.interval.low(),
            high: it.interval.high(),
            coverage: it.coverage,
        }),
        Subsystem::NotScored => {
            Some(SubsystemDto { value: None, low: 0.0, high: 100.0, coverage: 0.0 })
        }
        // Where no criterion applies there is nothing to show and nothing in the index.
        Subsystem::NothingApplies => None,
    };
    scored
        .subsystems
        .iter()
        .zip(&product.subsystems)
        .filter_map(|(name, it)| Some((name.clone(), dto(it.score)?)))
        .collect()
}

/// The findings that would settle criteria which are missing now, by how much weight waits for them.
pub(crate) fn missing(product: &ScoredProduct) -> Vec<String> {
    let mut waiting: BTreeMap<&str, f64> = BTreeMap::new();
    for criterion in product.subsystems.iter().flat_map(|it| &it.criteria) {
        for address in &criterion.missing {
            *waiting.entry(address).or_default() += criterion.weight;
        }
    }
    let mut list: Vec<(&str, f64)> = waiting.into_iter().collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    list.into_iter().map(|(address, _)| address.to_owned()).collect()
}
