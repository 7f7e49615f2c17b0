//! What is normal in the band: quartiles, and whether things rise with the price.

use ::standing::{association::associate, confidence::Level, gates, order, summary};

use super::{
    field::{Field, Member},
    numbers::internal,
};
use crate::{
    Error,
    cores::on_all_cores,
    dto::{AssociationDto, BandStatistics, QuartilesDto},
};

pub(super) fn statistics(field: &Field<'_>) -> Result<BandStatistics, Error> {
    let ranked = &field.ranked;
    let of = |take: fn(&Member<'_>) -> f64| quartiles(ranked.iter().map(take).collect());
    Ok(BandStatistics {
        n: u32::try_from(ranked.len()).unwrap_or(u32::MAX),
        index: of(|it| it.middle())?,
        index_low: of(|it| it.score.interval.low())?,
        index_high: of(|it| it.score.interval.high())?,
        real_pair: of(|it| it.price.real_pair)?,
        associations: associations(field)?,
    })
}

fn quartiles(mut values: Vec<f64>) -> Result<Option<QuartilesDto>, Error> {
    if values.len() < gates::MIN_QUARTILES {
        return Ok(None);
    }
    let Some(it) = summary::quartiles(&values).map_err(internal)? else { return Ok(None) };
    values.sort_unstable_by(f64::total_cmp);
    let interval = order::median_interval(&values, Level::NINETY).map_err(internal)?;
    Ok(Some(QuartilesDto {
        median: it.median,
        q1: it.q1,
        q3: it.q3,
        median_low: interval.map(|it| it.low),
        median_high: interval.map(|it| it.high),
    }))
}

/// Price against the index and against each subsystem, over the products where it is known to a few points.
fn associations(field: &Field<'_>) -> Result<Vec<AssociationDto>, Error> {
    let all: Vec<(f64, f64)> =
        field.ranked.iter().map(|it| (it.price.real_pair, it.middle())).collect();
    let mut lists = vec![("index", all)];
    for (name, place, _) in field.weighed() {
        let known: Vec<(f64, f64)> = field
            .ranked
            .iter()
            .filter_map(|it| match it.product.subsystems.get(place)?.score {
                ::standing::index::Subsystem::Scored(score) => {
                    let middle = f64::midpoint(score.interval.low(), score.interval.high());
                    Some((it.price.real_pair, middle))
                }
                _ => None,
            })
            .collect();
        lists.push((name, known));
    }
    // The chance of each is found by thousands of shuffles.
    on_all_cores(lists, |(name, pairs)| one(name, &pairs))
        .into_iter()
        .filter_map(Result::transpose)
        .collect()
}

fn one(of: &str, pairs: &[(f64, f64)]) -> Result<Option<AssociationDto>, Error> {
    let n = pairs.len();
    if n < gates::MIN_TAU_P {
        return Ok(None);
    }
    let (x, y): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
    // All prices or all scores alike: there is nothing to say.
    let Ok(it) = associate(&x, &y, Level::NINETY) else { return Ok(None) };
    let what = if of == "index" { "the index".to_owned() } else { format!("the {of} score") };
    let settled = it.p_value.is_some_and(|p| p <= 0.05) && n >= gates::MIN_TAU_INTERVAL;
    let share = it.concordance * 100.0;
    let text = if settled && it.tau_b > 0.0 {
        format!(
            "Of two of these {n} products the dearer has the higher {} about {share:.0} times in 100.",
            what.trim_start_matches("the ")
        )
    } else if settled {
        format!("Among these {n} products {what} falls as the price rises.")
    } else {
        format!("Among these {n} products it is not settled whether {what} rises with the price.")
    };
    Ok(Some(AssociationDto {
        of: of.to_owned(),
        n: u32::try_from(n).unwrap_or(u32::MAX),
        tau: it.tau_b,
        low: it.interval.map(|it| it.low),
        high: it.interval.map(|it| it.high),
        p: it.p_value,
        text,
    }))
}
