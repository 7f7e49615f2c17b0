//! What the draws say about a field: ranks, value, and who beats whom, all over the same draws.

use std::sync::Arc;

use standing::{
    acceptability::{Acceptability, acceptability},
    dominance::{Beaten, beaten},
    profile::Profile,
    summary,
    value::{DrawnValue, Offered, ValuePoints, drawn_value, value_points},
    weighting::Weightings,
};

use super::{
    ask::Draws,
    field::{Field, Member},
};
use crate::{
    Error,
    drawn::{Drawn, Fill, Filled},
    dto::SpanDto,
};

/// Draws of value in a large field: a probability is then good to 5 %.
const LARGE_DRAWS: usize = 100;

/// The draws of a field, with one way of filling the gaps. Lists follow [`Field::ranked`].
#[derive(Debug)]
pub(crate) struct Numbers {
    /// With weights near those asked for.
    pub(crate) near: Acceptability,
    /// With all possible weights.
    pub(crate) any: Acceptability,
    /// The index at the weights asked for.
    pub(crate) spreads: Vec<SpanDto>,
    /// The variance of the index at these weights.
    pub(crate) variances: Vec<f64>,
    pub(crate) value: ValueNumbers,
}

/// What money buys, over the draws.
#[derive(Debug)]
pub(crate) struct ValueNumbers {
    /// From the middles of the indices; its lists follow [`Field::all`].
    pub(crate) points: ValuePoints,
    /// `None` with too few products for an expectation.
    pub(crate) drawn: Option<Vec<DrawnValue>>,
    pub(crate) beaten: Beaten,
}

pub(crate) fn internal(why: impl std::fmt::Display) -> Error {
    Error::Internal(why.to_string())
}

/// The profiles of filled products, for as long as `work` takes.
pub(crate) fn with_profiles<R>(
    filled: &[Filled],
    work: impl FnOnce(&[Profile<'_>]) -> Result<R, Error>,
) -> Result<R, Error> {
    let slices: Vec<Vec<Option<&[f64]>>> = filled.iter().map(Filled::slices).collect();
    let profiles: Option<Vec<Profile<'_>>> =
        filled.iter().zip(&slices).map(|(it, slices)| it.profile(slices)).collect();
    work(&profiles.ok_or_else(|| internal("a ranked product has no subsystem that counts"))?)
}

/// Everything about the field; `filled` follows [`Field::all`]. `None` when nothing is ranked.
pub(crate) fn numbers(
    field: &Field<'_>,
    filled: &[Filled],
    draws: Draws,
) -> Result<Option<Numbers>, Error> {
    if field.ranked.is_empty() {
        return Ok(None);
    }
    let weights: Vec<f64> = field.weighed().iter().map(|(_, _, weight)| *weight).collect();
    let seed = u64::from(draws.seed);
    let near = Weightings::around(&weights, draws.kappa, draws.draws, seed).map_err(internal)?;
    let any = Weightings::uniform(weights.len(), draws.draws, seed).map_err(internal)?;
    with_profiles(filled, |profiles| {
        let members = &profiles[..field.ranked.len()];
        let (spreads, variances) = members.iter().map(|it| spread(it, &weights)).unzip();
        Ok(Some(Numbers {
            near: acceptability(members, &near, draws.threads).map_err(internal)?,
            any: acceptability(members, &any, draws.threads).map_err(internal)?,
            spreads,
            variances,
            value: value(field, profiles, &near, draws)?,
        }))
    })
}

/// Value for money alone, for another fill or another set of members.
pub(crate) fn value_numbers(
    field: &Field<'_>,
    filled: &[Filled],
    draws: Draws,
) -> Result<ValueNumbers, Error> {
    let weights: Vec<f64> = field.weighed().iter().map(|(_, _, weight)| *weight).collect();
    let near = Weightings::around(&weights, draws.kappa, draws.draws, u64::from(draws.seed))
        .map_err(internal)?;
    with_profiles(filled, |profiles| value(field, profiles, &near, draws))
}

fn value(
    field: &Field<'_>,
    profiles: &[Profile<'_>],
    near: &Weightings,
    draws: Draws,
) -> Result<ValueNumbers, Error> {
    let points: Vec<(f64, f64)> = field.all().map(|it| (it.price.real_pair, it.middle())).collect();
    let offers: Vec<Offered<'_>> = field
        .all()
        .zip(profiles)
        .enumerate()
        .map(|(at, (member, profile))| Offered {
            key: member.key(),
            price: member.price.real_pair,
            nominal: member.middle(),
            profile: *profile,
            in_band: at < field.ranked.len(),
        })
        .collect();
    let seed = u64::from(draws.seed);
    Ok(ValueNumbers {
        points: value_points(&points).map_err(internal)?,
        drawn: drawn_value(&offers, near, value_draws(offers.len(), draws), seed, draws.threads)
            .map_err(internal)?,
        beaten: beaten(&offers[..field.ranked.len()], near, draws.draws, draws.threads)
            .map_err(internal)?,
    })
}

/// A curve through many products is certain to a fraction of a point, and each of its draws is dear.
fn value_draws(n: usize, draws: Draws) -> usize {
    if n > super::LARGE { draws.draws.min(LARGE_DRAWS) } else { draws.draws }
}

/// 5, 50 and 95 % of the index at fixed weights over the finding draws, and its variance.
pub(crate) fn spread(profile: &Profile<'_>, weights: &[f64]) -> (SpanDto, f64) {
    let scores: Vec<f64> = (0..profile.draws()).map(|at| profile.score(weights, at)).collect();
    let n = scores.len() as f64;
    let mean = scores.iter().sum::<f64>() / n;
    let variance = scores.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / n;
    let found = summary::quantiles(&scores, &[0.05, 0.5, 0.95]).ok().flatten();
    let span = match found.as_deref() {
        Some(&[low, median, high]) => SpanDto { low, median, high },
        _ => SpanDto { low: mean, median: mean, high: mean },
    };
    (span, variance)
}

/// The ranked products and those around them, with their gaps filled.
pub(crate) fn filled(field: &Field<'_>, drawn: &[Arc<Drawn>], fill: Fill<'_>) -> Vec<Filled> {
    filled_of(field, field.all(), drawn, fill)
}

/// Some products of a field, with their gaps filled; `drawn` begins with theirs.
pub(crate) fn filled_of<'m>(
    field: &Field<'_>,
    members: impl IntoIterator<Item = &'m Member<'m>>,
    drawn: &[Arc<Drawn>],
    fill: Fill<'_>,
) -> Vec<Filled> {
    let places: Vec<usize> = field.weighed().iter().map(|(_, place, _)| *place).collect();
    members
        .into_iter()
        .zip(drawn)
        .map(|(member, drawn)| Filled::new(member.product, drawn, &places, fill))
        .collect()
}
