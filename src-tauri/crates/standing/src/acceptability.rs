//! How often each product takes each rank, over draws of the weights and of the findings.
//!
//! Stochastic multicriteria acceptability analysis: R. Lahdelma, P. Salminen, *SMAA-2*, Operations Research 49 (2001) 444-454; the
//! counting follows T. Tervonen, R. Lahdelma, *Implementing stochastic multicriteria acceptability analysis*, European Journal of
//! Operational Research 178 (2007) 500-513; pairwise wins are the index of P. Leskinen, J. Viitanen, A. Kangas, J. Kangas, Forest
//! Science 52 (2006) 304-312 (from memory).
//!
//! Scores are compared in whole millionths of a point ([`crate::rank::quantise`]). All counts are whole numbers, so neither the
//! number of threads nor the order of the products changes a digit.

mod counts;
mod scores;
mod spread;
#[cfg(test)]
mod tests;

use self::scores::Drawn;
use crate::kernel::pairs::Pairs;
use crate::kernel::places::Places;
use crate::profile::Profile;
use crate::weighting::Weightings;

/// The most products that can be ranked together: the tables grow with the square of their number.
pub const MOST_PRODUCTS: usize = 5000;

/// Counts of ranks over all draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Acceptability {
    n: usize,
    draws: usize,
    places: Places,
    pairs: Pairs,
    split: Vec<f64>,
    central: Vec<Option<Vec<f64>>>,
}

/// Products or weights that cannot be ranked. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadAcceptability {
    /// No product.
    #[error("there is nothing to rank; give at least one product")]
    Empty,
    /// More products than [`MOST_PRODUCTS`].
    #[error(
        "{found} products are to be ranked; at most {MOST_PRODUCTS} can be, so narrow the band"
    )]
    TooMany {
        /// How many were given.
        found: usize,
    },
    /// A product with another number of subsystems than weights.
    #[error("product {place} has {found} subsystems where each draw has {wanted} weights")]
    Parts {
        /// Which product.
        place: usize,
        /// How many subsystems it has.
        found: usize,
        /// How many weights there are.
        wanted: usize,
    },
    /// Points or a cap outside the scale.
    #[error("product {place} has {points} points; write a number from 0 to 100")]
    Points {
        /// Which product.
        place: usize,
        /// The points found.
        points: f64,
    },
}

/// Ranks the products in every draw of `weights`, each product at the finding draw that [`Profile::place`] names, on up to `threads`
/// threads (0 counts as 1), which change nothing but the time.
///
/// # Errors
/// [`BadAcceptability`] for no products or too many, for a product whose subsystems do not match the weights, and for points that
/// are not from 0 to 100 (within 1e-9).
pub fn acceptability(
    profiles: &[Profile<'_>],
    weights: &Weightings,
    threads: usize,
) -> Result<Acceptability, BadAcceptability> {
    check(profiles, weights)?;
    let (places, pairs) = Places::with_pairs(&Drawn::new(profiles, weights, threads), threads);
    let (n, draws) = (profiles.len(), weights.draws());
    let split = spread::split(&places, n);
    let central = spread::central(&places, n, weights);
    Ok(Acceptability { n, draws, places, pairs, split, central })
}

fn check(profiles: &[Profile<'_>], weights: &Weightings) -> Result<(), BadAcceptability> {
    const SCALE: std::ops::RangeInclusive<f64> = -1e-9..=100.0 + 1e-9;
    match profiles.len() {
        0 => return Err(BadAcceptability::Empty),
        found if found > MOST_PRODUCTS => return Err(BadAcceptability::TooMany { found }),
        _ => {}
    }
    for (place, profile) in (1..).zip(profiles) {
        let (found, wanted) = (profile.parts().len(), weights.n_parts());
        if found != wanted {
            return Err(BadAcceptability::Parts { place, found, wanted });
        }
        for part in profile.parts().iter().flatten() {
            // Without branches first, for the compiler; which one it was matters only if there is one.
            if part.iter().fold(true, |all, it| all & SCALE.contains(it)) {
                continue;
            }
            if let Some(&points) = part.iter().find(|it| !SCALE.contains(*it)) {
                return Err(BadAcceptability::Points { place, points });
            }
        }
        if let Some(points) = profile.cap().filter(|it| it.is_nan() || *it < 0.0) {
            return Err(BadAcceptability::Points { place, points });
        }
    }
    Ok(())
}
