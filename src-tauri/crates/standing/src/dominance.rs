//! Who clearly beats whom for the money, draw by draw.
//!
//! j clearly beats i when it costs no more and scores at least [`DELTA_S`] points more, or costs at least [`DELTA_P`] less and
//! scores at least as much. The margins are editorial; without them it is plain dominance ([`crate::frontier`]).

use crate::chunks::in_chunks;
use crate::gates::{DELTA_P, DELTA_S};
use crate::offered::{Offered, by_key};
use crate::rank::quantise;
use crate::value::BadValue;
use crate::weighting::Weightings;

/// How often each product is clearly beaten. All places count from 0 in the order given.
#[derive(Debug, Clone, PartialEq)]
pub struct Beaten {
    /// How many draws were made.
    pub draws: usize,
    /// For each product, the share of draws in which no member of the band clearly beats it. Members are judged; for others it
    /// says how they would stand among them.
    pub p_not_beaten: Vec<f64>,
    /// For each product its strongest rival and with what probability that clearly beats it; `None` where in no draw any
    /// member of the band does. Of equal rivals the one that scores more as printed, then the cheaper, then the first by key.
    pub strongest: Vec<Option<(usize, f64)>>,
    counts: Vec<u32>,
}

impl Beaten {
    /// The probability that product `j` clearly beats product `i`; 0 where `j` is not in the band or a place is none.
    #[must_use]
    pub fn p_by(&self, i: usize, j: usize) -> f64 {
        let n = self.p_not_beaten.len();
        let count = if j < n { self.counts.get(i * n + j) } else { None };
        count.map_or(0.0, |it| f64::from(*it) / self.draws as f64)
    }

    #[cfg(test)]
    pub(crate) fn for_tests(
        draws: usize,
        p_not_beaten: Vec<f64>,
        strongest: Vec<Option<(usize, f64)>>,
    ) -> Self {
        Beaten { draws, p_not_beaten, strongest, counts: Vec::new() }
    }
}

/// Draws that are compared at a time: two lists of them stay in the nearest cache.
const CHUNK: usize = 1000;

/// How often each of `offers` is clearly beaten by the members of the band, in draws 0 up to `draws` of the weights with finding
/// draw `place(d)` of each profile. Scores and prices are compared in whole millionths ([`quantise`]).
///
/// Takes up to `draws n^2 / 2` comparisons, fewer where scores lie apart, on several threads with the same result for any number
/// of them.
///
/// # Errors
/// [`BadValue`] for a price, score, key or number of subsystems that cannot be used, and unless `draws` is from 1 to the number of
/// rows of `weights`.
pub fn beaten(
    offers: &[Offered<'_>],
    weights: &Weightings,
    draws: usize,
    threads: usize,
) -> Result<Beaten, BadValue> {
    let by_key = by_key(offers, weights, draws)?;
    let n = offers.len();
    let rivals: Vec<Vec<Rival>> = (0..n).map(|i| rivals(offers, i)).collect();
    let pieces = in_chunks(draws.div_ceil(CHUNK), threads, |piece| {
        let range = piece * CHUNK..draws.min((piece + 1) * CHUNK);
        let length = range.len();
        let mut scores = Vec::with_capacity(n * length);
        for offer in offers {
            scores.extend(offer.micropoints(weights, range.clone()).map(small));
        }
        compared(&scores, length, &rivals)
    });
    let mut counts = vec![0_u32; n * n];
    let mut unbeaten = vec![0_u32; n];
    for piece in pieces {
        for (i, rivals) in rivals.iter().enumerate() {
            unbeaten[i] += piece.unbeaten[i];
            for (rival, count) in rivals.iter().zip(&piece.counts[i]) {
                counts[i * n + rival.place] += count;
            }
        }
    }
    // Of equal rivals the last is kept, so the preferred one comes last.
    let mut order = by_key;
    order.reverse();
    order.sort_by(|&a, &b| {
        let (a, b) = (&offers[a], &offers[b]);
        quantise(a.nominal).cmp(&quantise(b.nominal)).then(b.price.total_cmp(&a.price))
    });
    let strongest = (0..n)
        .map(|i| {
            let most = order.iter().copied().max_by_key(|&j| counts[i * n + j])?;
            let count = counts[i * n + most];
            (count > 0).then(|| (most, f64::from(count) / draws as f64))
        })
        .collect();
    let p_not_beaten = unbeaten.iter().map(|it| f64::from(*it) / draws as f64).collect();
    Ok(Beaten { draws, p_not_beaten, strongest, counts })
}

/// A member of the band that costs no more than the product in question.
struct Rival {
    place: usize,
    /// By how much it must score more to beat that product clearly, millionths of a point.
    margin: i32,
}

fn rivals(offers: &[Offered<'_>], i: usize) -> Vec<Rival> {
    let (price, much_less) =
        (quantise(offers[i].price), quantise(offers[i].price * (1.0 - DELTA_P)));
    let others = offers.iter().enumerate().filter(|&(j, it)| j != i && it.in_band);
    others
        .filter(|(_, it)| quantise(it.price) <= price)
        .map(|(place, it)| {
            let margin = if quantise(it.price) <= much_less { 0 } else { small(quantise(DELTA_S)) };
            Rival { place, margin }
        })
        .collect()
}

/// Millionths of a point in 32 bits, twice as many of which are compared at a time; scores of 0 to 100 fit twenty times.
fn small(micropoints: i64) -> i32 {
    let limit = i64::from(i32::MAX / 2);
    i32::try_from(micropoints.clamp(-limit, limit)).unwrap_or_default()
}

/// What some draws came to.
struct Counts {
    /// For each product, in how many draws nobody clearly beats it.
    unbeaten: Vec<u32>,
    /// For each product, in how many draws each of its rivals does.
    counts: Vec<Vec<u32>>,
}

/// `scores` are those of each product in turn, `length` draws each.
fn compared(scores: &[i32], length: usize, rivals: &[Vec<Rival>]) -> Counts {
    let ranges: Vec<Drawn<'_>> = scores.chunks_exact(length).map(Drawn::of).collect();
    let all_draws = u32::try_from(length).unwrap_or_default();
    let mut hit = vec![0_u32; length];
    let mut all = Counts { unbeaten: Vec::new(), counts: Vec::new() };
    for (own, rivals) in ranges.iter().zip(rivals) {
        hit.fill(0);
        let mut always = false;
        let count = |it: &Rival| {
            let other = &ranges[it.place];
            // Most pairs lie so far apart that all draws say the same.
            if other.highest < own.lowest + it.margin {
                return 0;
            }
            if other.lowest >= own.highest + it.margin {
                always = true;
                return all_draws;
            }
            let mut count = 0;
            for ((other, own), hit) in other.scores.iter().zip(own.scores).zip(&mut hit) {
                let beats = u32::from(*other >= own + it.margin);
                count += beats;
                *hit |= beats;
            }
            count
        };
        all.counts.push(rivals.iter().map(count).collect());
        let hits = if always { all_draws } else { hit.iter().sum() };
        all.unbeaten.push(all_draws - hits);
    }
    all
}

/// The scores of one product in some draws, and between what they lie.
struct Drawn<'a> {
    scores: &'a [i32],
    lowest: i32,
    highest: i32,
}

impl<'a> Drawn<'a> {
    fn of(scores: &'a [i32]) -> Self {
        let lowest = scores.iter().copied().min().unwrap_or_default();
        let highest = scores.iter().copied().max().unwrap_or_default();
        Drawn { scores, lowest, highest }
    }
}

#[cfg(test)]
mod tests;
