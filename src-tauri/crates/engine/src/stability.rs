//! How far weights may move before another product is first.

use ::standing::{
    acceptability::acceptability,
    index::Subsystem,
    stability::{Stability, stability},
    weighting::Weightings,
};

use crate::{
    BandRequest, Engine, Error,
    band::{self, Field, Member, interval_dto},
    drawn::Fill,
    dto::{FirstDto, LeftOutDto, ShiftDto, StabilityReport, WeightIntervalDto},
};

impl Engine {
    /// How firm the first place of a band is against other weights.
    ///
    /// # Errors
    /// As [`Engine::band`].
    pub fn stability(&self, request: &BandRequest) -> Result<StabilityReport, Error> {
        let (question, scored) = self.asked(request)?;
        let field = question.field(&scored)?;
        let (drawn, faults) = self.drawn_of(&scored, &field, question.draws.seed);
        let filled = band::numbers::filled(&field, &drawn, Fill::Even);
        let numbers = band::numbers::numbers(&field, &filled, question.draws)?;

        let (rows, left_out) = rows(&field);
        let scores: Vec<Vec<f64>> = rows.iter().map(|(_, scores)| scores.clone()).collect();
        let weights: Vec<f64> = field.weighed().iter().map(|(_, _, weight)| *weight).collect();
        let found = if rows.len() < 2 {
            None
        } else {
            Some(stability(&scores, &weights).map_err(band::numbers::internal)?)
        };
        let places: Vec<usize> = rows.iter().map(|(at, _)| *at).collect();
        let mut first = Vec::new();
        if let Some(numbers) = &numbers {
            for at in 0..field.ranked.len() {
                let share = |of: &::standing::acceptability::Acceptability| {
                    f64::from(of.first(at)) / of.draws() as f64
                };
                let central = numbers.any.central(at).map(<[f64]>::to_vec);
                first.push(FirstDto {
                    product: field.ranked[at].key().to_owned(),
                    index: interval_dto(&field.ranked[at].score),
                    near: share(&numbers.near),
                    any: share(&numbers.any),
                    confidence: central
                        .as_ref()
                        .map(|weights| confidence(&field, &filled, weights, at, question.draws))
                        .transpose()?,
                    central_weights: central.map(|weights| {
                        let names = field.weighed().into_iter().map(|(name, _, _)| name.to_owned());
                        names.zip(weights).collect()
                    }),
                });
            }
        }
        let sentences = found.as_ref().map_or_else(
            || {
                vec![
                    "Fewer than two products can be compared; there is nothing to flip.".to_owned(),
                ]
            },
            |it| sentences(&field, &places, it, &first),
        );
        let name = |at: usize| field.ranked[places[at]].key().to_owned();
        let mut remarks = scored.remarks.clone();
        remarks.extend(faults.into_iter().map(band::not_drawn));
        Ok(StabilityReport {
            band: question.band_dto(),
            rubric: scored.rubric.clone(),
            weights: field.shares.clone(),
            winner: found.as_ref().map(|it| name(it.winner)),
            intervals: found.as_ref().map(|it| intervals(&field, it, &name)).unwrap_or_default(),
            shifts: found.as_ref().map(|it| shifts(&field, it, &name)).unwrap_or_default(),
            seed: question.draws.seed,
            draws: u32::try_from(question.draws.draws).unwrap_or(u32::MAX),
            first,
            left_out,
            sentences,
            remarks,
        })
    }
}

/// The points of the weighed subsystems, halfway between what missing findings allow, of the products that have all of
/// them; and those that have not, for whom the index is no plain sum of weights times points.
fn rows(field: &Field<'_>) -> (Vec<(usize, Vec<f64>)>, Vec<LeftOutDto>) {
    let (mut rows, mut left_out) = (Vec::new(), Vec::new());
    for (at, member) in field.ranked.iter().enumerate() {
        match points(field, member) {
            Ok(points) => rows.push((at, points)),
            Err(why) => left_out.push(LeftOutDto { product: member.key().to_owned(), why }),
        }
    }
    (rows, left_out)
}

fn points(field: &Field<'_>, member: &Member<'_>) -> Result<Vec<f64>, String> {
    if !member.product.caps.is_empty() {
        return Err("its index is held down by a limit, whatever the weights".into());
    }
    field
        .weighed()
        .into_iter()
        .map(|(name, place, _)| match member.product.subsystems.get(place).map(|it| it.score) {
            Some(Subsystem::Scored(it)) => Ok(f64::midpoint(it.interval.low(), it.interval.high())),
            Some(Subsystem::NothingApplies) => Err(format!(
                "no criterion of {name} applies to it, so its weight goes to the others"
            )),
            _ => Err(format!("its {name} was not scored")),
        })
        .collect()
}

/// How often a product is first at given weights, its findings and the others' drawn.
fn confidence(
    field: &Field<'_>,
    filled: &[crate::drawn::Filled],
    weights: &[f64],
    at: usize,
    draws: band::Draws,
) -> Result<f64, Error> {
    let fixed =
        Weightings::fixed(weights, crate::drawn::FINDING_DRAWS).map_err(band::numbers::internal)?;
    let members = &filled[..field.ranked.len()];
    band::numbers::with_profiles(members, |profiles| {
        let found =
            acceptability(profiles, &fixed, draws.threads).map_err(band::numbers::internal)?;
        Ok(f64::from(found.first(at)) / found.draws() as f64)
    })
}

fn intervals(
    field: &Field<'_>,
    found: &Stability,
    name: &dyn Fn(usize) -> String,
) -> Vec<WeightIntervalDto> {
    field
        .weighed()
        .iter()
        .zip(&found.intervals)
        .map(|((subsystem, _, weight), it)| WeightIntervalDto {
            subsystem: (*subsystem).to_owned(),
            weight: *weight,
            low: it.low,
            high: it.high,
            rival_low: it.rival_low.map(name),
            rival_high: it.rival_high.map(name),
        })
        .collect()
}

fn shifts(field: &Field<'_>, found: &Stability, name: &dyn Fn(usize) -> String) -> Vec<ShiftDto> {
    let weighed = field.weighed();
    let subsystem = |at: usize| weighed.get(at).map(|(name, _, _)| (*name).to_owned());
    let mut list: Vec<ShiftDto> = found
        .smallest_shift
        .iter()
        .zip(&found.moves)
        .enumerate()
        .filter(|(at, _)| *at != found.winner)
        .map(|(at, (shift, moved))| ShiftDto {
            product: name(at),
            shift: *shift,
            from: moved
                .iter()
                .flat_map(|it| it.from.iter().filter_map(|(at, _)| subsystem(*at)))
                .collect(),
            to: moved.as_ref().and_then(|it| subsystem(it.to)),
        })
        .collect();
    let size = |it: &ShiftDto| it.shift.unwrap_or(f64::INFINITY);
    list.sort_by(|a, b| size(a).total_cmp(&size(b)).then_with(|| a.product.cmp(&b.product)));
    list
}

/// A share of the weight in points of 100: `1.1`, or `23` from ten up.
pub(crate) fn weight_points(share: f64) -> String {
    let points = share * 100.0;
    if points < 0.05 {
        return "0".into();
    }
    if points < 9.95 { format!("{points:.1}") } else { format!("{points:.0}") }
}

fn sentences(
    field: &Field<'_>,
    places: &[usize],
    found: &Stability,
    first: &[FirstDto],
) -> Vec<String> {
    let of = |at: usize| {
        let it = &field.ranked[places[at]].product.dossier.product;
        format!("{} {}", it.maker, it.model)
    };
    let name = |at: usize| field.ranked[places[at]].key().to_owned();
    let winner = of(found.winner);
    let mut sentences = Vec::new();
    let nearest = shifts(field, found, &|at| at.to_string()).into_iter().next();
    match nearest {
        Some(ShiftDto { product, shift: Some(shift), from, to: Some(to) }) => {
            let rival = product.parse().map(of).unwrap_or_default();
            sentences.push(format!(
                "{winner} stays first unless {} of 100 weight points move from {} to {to}; then {rival} draws level.",
                weight_points(shift),
                from.join(" and ")
            ));
        }
        Some(_) => sentences.push(format!("{winner} stays first whatever the weights.")),
        None => {}
    }
    let of_winner = first.iter().find(|it| it.product == name(found.winner));
    if let Some(it) = of_winner {
        sentences.push(format!(
            "With its findings as uncertain as they are, {winner} is first in {} of weightings near these, and in {} of all.",
            band::percent(it.near),
            band::percent(it.any)
        ));
    }
    sentences
}
