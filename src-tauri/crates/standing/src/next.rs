//! Which finding is worth measuring next: how much doubt about the order of products each would settle.
//!
//! The doubt about a pair is `2 min(c, 1 - c)` with `c` the probability, over what is not known exactly, that the
//! one scores above the other: 0 when their order is settled, 1 when it is a coin toss. `U` is its sum over all
//! pairs. Learning a source of doubt (a finding) takes that source out of the spread of its product; what then is
//! left of `U`, averaged over what may be found, is told in two ways:
//!
//! - by a model to first order: each score is normal, and the source carries its share of the variance
//!   (A. Saltelli and others, *Global Sensitivity Analysis: The Primer*, 2008, first-order index; [`Gain::share`]).
//!   The doubt left then is `4 T(delta, sqrt((1 - r) / r))` with Owen's function T, `delta` the mean lead over its
//!   standard deviation and `r` the source's share of the variance of the lead (our own derivation from
//!   D. B. Owen, Annals of Mathematical Statistics 27 (1956) 1075-1090);
//! - from the draws, with no shape assumed: the draws sorted by the source into bins, and the probability taken in
//!   each bin.
//!
//! The weights are fixed; what a change of weights would do is a matter of robustness, not of measuring.

mod doubt;
mod drawn;
mod share;

use self::{
    doubt::{Scores, settled},
    drawn::Rival,
    share::Sorter,
};
use crate::profile::Profile;

/// Fewest draws of an uncertain product from which shares are taken.
pub const DRAWS_MIN: usize = 50;
/// A mean lead of this many standard deviations settles a pair: `-Phi^-1(0.001)` (scipy 1.17.1).
const SETTLED_LEAD: f64 = 3.090_232_306_167_813;

/// Beyond a squared lead of this many times the share of its variance, learning that share settles less than
/// `exp(-FAR / 2)`, about 1e-5 of a pair.
const FAR: f64 = 23.0;

/// A finding that could be measured, or measured better.
#[derive(Debug, Clone, Copy)]
pub struct Candidate<'a> {
    /// The product it belongs to, its place among the profiles.
    pub product: usize,
    /// The draws of this source, one a finding draw of its product; only their order counts, and which are equal.
    pub z: &'a [f64],
}

/// What learning one finding would settle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// Its share of the variance of the product's score, 0 to 1: the squared correlation ratio of the score on the
    /// source. 0 where the draws show no influence at the 0.1 % level.
    pub share: f64,
    /// The expected fall of `U` by the normal model, pairs.
    pub settled: f64,
    /// The same from the draws.
    pub settled_drawn: f64,
    /// The product whose order against this one is settled most, by the model.
    pub rival: Option<usize>,
}

/// Profiles, weights or candidates that give no gain. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadNext {
    /// A product with another number of subsystems than there are weights.
    #[error("product {place} has {found} subsystems where there are {wanted} weights")]
    Parts {
        /// Which product.
        place: usize,
        /// How many subsystems it has.
        found: usize,
        /// How many weights there are.
        wanted: usize,
    },
    /// A weight that is none.
    #[error("weight {place} is {weight}; give a finite number from 0 up")]
    Weight {
        /// Which weight.
        place: usize,
        /// The weight found.
        weight: f64,
    },
    /// Too few draws to tell shares.
    #[error(
        "product {place} has {found} draws; give 1 where nothing is uncertain, or at least {DRAWS_MIN}"
    )]
    Few {
        /// Which product.
        place: usize,
        /// How many draws it has.
        found: usize,
    },
    /// A candidate of a product that is not there.
    #[error("candidate {place} belongs to product {product}; there are {products}")]
    Product {
        /// Which candidate.
        place: usize,
        /// The product named, from 1.
        product: usize,
        /// How many products there are.
        products: usize,
    },
    /// A candidate with another number of draws than its product.
    #[error("candidate {place} has {found} draws where its product has {wanted}")]
    Draws {
        /// Which candidate.
        place: usize,
        /// How many draws it has.
        found: usize,
        /// How many its product has.
        wanted: usize,
    },
    /// A draw that has no place in an order.
    #[error("a draw of candidate {place} is not a number; give finite numbers")]
    Label {
        /// Which candidate.
        place: usize,
    },
}

/// The doubt `U` about the order of the products at fixed weights, from the draws; in pairs, 0 to n (n - 1) / 2.
///
/// # Errors
/// [`BadNext`] for profiles that do not fit the weights, or weights that are none.
pub fn doubt(profiles: &[Profile<'_>], weights: &[f64]) -> Result<f64, BadNext> {
    let all = drawn_scores(profiles, weights)?;
    let pairs = all
        .iter()
        .enumerate()
        .map(|(i, one)| all[i + 1..].iter().map(|other| doubt::of(one.above(other))).sum::<f64>());
    Ok(pairs.sum())
}

/// What learning each candidate would settle, in the order given.
///
/// # Errors
/// [`BadNext`] for profiles that do not fit the weights, weights that are none, fewer than [`DRAWS_MIN`] draws of an
/// uncertain product, or candidates that do not fit their products.
pub fn gains(
    profiles: &[Profile<'_>],
    weights: &[f64],
    candidates: &[Candidate<'_>],
) -> Result<Vec<Gain>, BadNext> {
    check(profiles, candidates)?;
    let all = drawn_scores(profiles, weights)?;
    let mut by_product: Vec<Vec<usize>> = vec![Vec::new(); profiles.len()];
    for (at, it) in candidates.iter().enumerate() {
        by_product[it.product].push(at);
    }
    let mut gains =
        vec![Gain { share: 0.0, settled: 0.0, settled_drawn: 0.0, rival: None }; candidates.len()];
    let mut sorter = Sorter::default();
    for (i, wanted) in by_product.iter().enumerate() {
        if wanted.is_empty() || all[i].variance <= 0.0 {
            continue;
        }
        let mut rivals: Vec<Rival> = (0..all.len())
            .filter(|j| *j != i && all[i].lead(&all[*j]).abs() < SETTLED_LEAD)
            .map(|j| Rival::new(j, &all[i], &all[j]))
            .collect();
        for &at in wanted {
            gains[at] = gain(&all[i], candidates[at].z, &mut rivals, &mut sorter);
        }
    }
    Ok(gains)
}

fn gain(scores: &Scores, z: &[f64], rivals: &mut [Rival<'_>], sorter: &mut Sorter) -> Gain {
    let sorted = sorter.sort(z);
    let share = sorter.share(&sorted, scores);
    let mut gain = Gain { share, settled: 0.0, settled_drawn: 0.0, rival: None };
    if share <= 0.0 {
        return gain;
    }
    let bins = drawn::bins(&sorted, scores);
    let mut most = 0.0;
    for rival in rivals {
        let r = share * scores.variance / rival.variance;
        if rival.lead * rival.lead > FAR * r {
            continue;
        }
        let settles = settled(rival.lead, r);
        gain.settled += settles;
        if settles > most {
            (most, gain.rival) = (settles, Some(rival.place));
        }
        gain.settled_drawn += bins.settled(rival.against(scores));
    }
    gain
}

fn drawn_scores(profiles: &[Profile<'_>], weights: &[f64]) -> Result<Vec<Scores>, BadNext> {
    if let Some((place, &weight)) =
        (1..).zip(weights).find(|(_, it)| !(it.is_finite() && **it >= 0.0))
    {
        return Err(BadNext::Weight { place, weight });
    }
    let wanted = weights.len();
    if let Some((place, it)) = (1..).zip(profiles).find(|(_, it)| it.parts().len() != wanted) {
        return Err(BadNext::Parts { place, found: it.parts().len(), wanted });
    }
    Ok(profiles.iter().map(|it| Scores::new(it, weights)).collect())
}

fn check(profiles: &[Profile<'_>], candidates: &[Candidate<'_>]) -> Result<(), BadNext> {
    for (place, it) in (1..).zip(profiles) {
        let found = it.draws();
        if found > 1 && found < DRAWS_MIN {
            return Err(BadNext::Few { place, found });
        }
    }
    for (place, it) in (1..).zip(candidates) {
        let Some(profile) = profiles.get(it.product) else {
            let (product, products) = (it.product + 1, profiles.len());
            return Err(BadNext::Product { place, product, products });
        };
        let (found, wanted) = (it.z.len(), profile.draws());
        if found != wanted {
            return Err(BadNext::Draws { place, found, wanted });
        }
        if it.z.iter().any(|z| !z.is_finite()) {
            return Err(BadNext::Label { place });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests;
