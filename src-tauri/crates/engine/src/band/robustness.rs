//! How the order fares under equal weights, another mean, and another edge of the band.

use ::standing::{rank::quantise, sensitivity::mean_rank_shift};

use super::{
    field::Field,
    verdicts::{self, Alternatives},
};
use crate::{Error, dto::RobustnessDto};

/// Ranks from scores, ties sharing the better one.
fn ranks(scores: &[f64]) -> Vec<usize> {
    let keys: Vec<i64> = scores.iter().map(|it| quantise(*it)).collect();
    keys.iter().map(|it| 1 + keys.iter().filter(|other| *other > it).count()).collect()
}

/// The place of each ranked product with all subsystems counting alike, ties sharing the better one.
pub(crate) fn equal_ranks(field: &Field<'_>) -> Result<Vec<usize>, Error> {
    let middles: Vec<f64> = field
        .ranked
        .iter()
        .map(|it| verdicts::equal(field, it).map(|it| verdicts::middle(&it)))
        .collect::<Result<_, _>>()?;
    Ok(ranks(&middles))
}

fn first(scores: impl Iterator<Item = f64>) -> Option<usize> {
    let keyed = scores.enumerate().map(|(at, it)| (quantise(it), std::cmp::Reverse(at)));
    keyed.max().map(|(_, std::cmp::Reverse(at))| at)
}

pub(super) fn robustness(
    field: &Field<'_>,
    alternatives: &Alternatives,
) -> Result<RobustnessDto, Error> {
    let name = |at: usize| field.ranked[at].key().to_owned();
    let of = |at: usize| {
        let product = &field.ranked[at].product.dossier.product;
        format!("{} {}", product.maker, product.model)
    };
    let middles: Vec<f64> = field.ranked.iter().map(super::Member::middle).collect();
    let equal = alternatives.equal_middles();
    let leader = first(middles.iter().copied()).unwrap_or(0);
    let equal_leader = first(equal.iter().copied()).unwrap_or(0);
    // Means of two kinds can only be compared among products that have both.
    let known: Vec<usize> =
        (0..middles.len()).filter(|&at| alternatives.geometric[at].is_some()).collect();
    let among = |scores: &dyn Fn(usize) -> f64| {
        first(known.iter().map(|&at| scores(at))).map(|place| known[place])
    };
    let plain_leader = among(&|at| middles[at]);
    let geometric_leader = among(&|at| alternatives.geometric[at].unwrap_or(0.0));
    let mut sentences = Vec::new();
    sentences.push(if equal_leader == leader {
        format!("{} is also first when all subsystems count alike.", of(leader))
    } else {
        format!(
            "When all subsystems count alike, {} is first: the order depends on the weights.",
            of(equal_leader)
        )
    });
    if let (Some(plain), Some(geometric)) = (plain_leader, geometric_leader) {
        sentences.push(if plain == geometric {
            "The same product is first under the geometric mean, where a strength pays less for a weakness."
                .into()
        } else {
            format!(
                "Under the geometric mean {} is first instead of {}: the order depends on whether a strength may pay for a weakness.",
                of(geometric),
                of(plain)
            )
        });
    }
    sentences.extend(alternatives.edge_sentences(field));
    let shift = mean_rank_shift(&ranks(&middles), &ranks(&equal)).unwrap_or(0.0);
    Ok(RobustnessDto {
        first: name(leader),
        first_equal_weights: name(equal_leader),
        first_geometric: geometric_leader.map(name),
        shift_equal_weights: shift,
        sentences,
    })
}
