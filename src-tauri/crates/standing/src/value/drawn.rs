//! Value points with their doubt: weights, findings and the reference set are drawn together.
//!
//! In every draw the scores of all products follow from one row of weights and one finding draw each; then, for each product,
//! the others are drawn anew with replacement (bootstrap: B. Efron, Annals of Statistics 7 (1979) 1-26) and the expectation is
//! fitted to them by the same rules. The last part matters most: without it a value looks far too sure.
//!
//! The slopes between all pairs depend on the draw alone; they are sorted once and weighed for each product.

use domain::draw::Stream;

use super::{BadValue, Curves, Fit};
use crate::chunks::in_chunks;
use crate::gates::DELTA_S;
use crate::offered::{Offered, by_key};
use crate::rank::quantise;
use crate::summary::{BadQuantile, quantiles};
use crate::theil_sen::Slopes;
use crate::weighting::Weightings;

/// Draws that one thread takes at a time; each has its own stream, so the length is part of the method.
const CHUNK: usize = 50;

/// What the draws say of one product's value.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnValue {
    /// Which product: its place from 0 in the order given.
    pub product: usize,
    /// How many draws were used; [`affordable`] of those asked for.
    pub draws: usize,
    /// The median of its value, points.
    pub median: f64,
    /// The 5 % quantile, points.
    pub low: f64,
    /// The 95 % quantile, points.
    pub high: f64,
    /// Share of draws with a value above 0.
    pub p_positive: f64,
    /// Share of draws with a value of at least [`DELTA_S`].
    pub p_large: f64,
    /// Share of draws with a value below 0.
    pub p_negative: f64,
    /// Share of draws in which no member of the band has a larger value.
    pub p_largest: f64,
    /// In how many draws its value had rank r + 1 among the members of the band; ties share the better rank.
    pub ranks: Vec<u32>,
}

impl DrawnValue {
    /// Share of draws in which its value ranks at `rank` (from 1) or better.
    #[must_use]
    pub fn p_rank_at_most(&self, rank: usize) -> f64 {
        let count: u64 = self.ranks.iter().take(rank).map(|it| u64::from(*it)).sum();
        count as f64 / self.draws as f64
    }
}

/// How many of `draws` a reference set of `n` products, `members` of them in the band, is given.
///
/// A draw with `pairs` of products costs about `12 pairs + members (pairs / 8 + 20 n)` steps; [`WORK`] steps are spent, and at
/// least [`LEAST`] draws made. 30 products get 10,000 draws, 60 get 5,600, and from 198 it is [`LEAST`].
#[must_use]
pub fn affordable(draws: usize, n: usize, members: usize) -> usize {
    let pairs = match Fit::of(n) {
        Fit::Line => n * n.saturating_sub(1) / 2,
        Fit::None | Fit::Flat => 0,
    };
    let cost = (12 * pairs + members * (pairs / 8 + 20 * n)).max(1);
    draws.min((WORK / cost).max(LEAST))
}

/// Steps that [`affordable`] draws take, about a nanosecond each.
pub const WORK: usize = 600_000_000;

/// Draws that are made however many products there are. The standard error of a probability of 0.9 is then 0.015.
pub const LEAST: usize = 400;

/// The value of each product in the band with its doubt, in the order given; `None` where fewer than 5 products allow no
/// expectation. `offers` are the reference set.
///
/// Draw d takes row d of `weights`, finding draw `place(d)` of each profile, and resamples from the stream
/// `(seed, "curve", key)`, so a product outside the reference set, another order or another number of threads changes nothing.
/// Values are compared in whole millionths of a point.
///
/// # Errors
/// [`BadValue`] for a price, score, key or number of subsystems that cannot be used, and unless `draws` is from 1 to the number of
/// rows of `weights`.
pub fn drawn_value(
    offers: &[Offered<'_>],
    weights: &Weightings,
    draws: usize,
    seed: u64,
    threads: usize,
) -> Result<Option<Vec<DrawnValue>>, BadValue> {
    let order = by_key(offers, weights, draws)?;
    let fit = Fit::of(offers.len());
    if fit == Fit::None {
        return Ok(None);
    }
    let offers: Vec<Offered<'_>> = order.iter().map(|&it| offers[it]).collect();
    let members: Vec<usize> = (0..offers.len()).filter(|&it| offers[it].in_band).collect();
    let draws = affordable(draws, offers.len(), members.len());
    let x: Vec<f64> = offers.iter().map(|it| it.price.ln()).collect();
    let set = Set { fit, offers: &offers, members: &members, x: &x, weights, seed };
    let pieces = in_chunks(draws.div_ceil(CHUNK), threads, |piece| {
        set.piece(piece, draws.min((piece + 1) * CHUNK))
    });
    let mut all = Vec::with_capacity(members.len());
    for (at, &member) in members.iter().enumerate() {
        let values = pieces.iter().flat_map(|it| it.of(at, members.len()));
        let ranks = (at * members.len()..(at + 1) * members.len())
            .map(|cell| pieces.iter().map(|it| it.ranks[cell]).sum())
            .collect();
        all.extend(summed(order[member], &values.copied().collect::<Vec<_>>(), ranks)?);
    }
    all.sort_unstable_by_key(|it| it.product);
    Ok(Some(all))
}

/// What the values of one product (millionths of a point) and its ranks say; `None` without draws.
fn summed(
    product: usize,
    values: &[i64],
    ranks: Vec<u32>,
) -> Result<Option<DrawnValue>, BadQuantile> {
    let points: Vec<f64> = values.iter().map(|it| *it as f64 / 1e6).collect();
    let Some(&[low, median, high]) = quantiles(&points, &[0.05, 0.5, 0.95])?.as_deref() else {
        return Ok(None);
    };
    let draws = values.len();
    let share = |holds: fn(i64) -> bool| {
        values.iter().filter(|it| holds(**it)).count() as f64 / draws as f64
    };
    Ok(Some(DrawnValue {
        product,
        draws,
        median,
        low,
        high,
        p_positive: share(|it| it > 0),
        p_large: share(|it| it >= quantise(DELTA_S)),
        p_negative: share(|it| it < 0),
        p_largest: ranks.first().map_or(0.0, |it| f64::from(*it) / draws as f64),
        ranks,
    }))
}

/// What all draws have in common. Places count in the order of the keys.
struct Set<'a> {
    fit: Fit,
    offers: &'a [Offered<'a>],
    members: &'a [usize],
    x: &'a [f64],
    weights: &'a Weightings,
    seed: u64,
}

/// The draws of one piece.
struct Piece {
    /// Values draw by draw, in each those of all members of the band.
    values: Vec<i64>,
    /// For each member how often it had each rank.
    ranks: Vec<u32>,
}

impl Piece {
    /// The values of the member that stands at `at` among `of`.
    fn of(&self, at: usize, of: usize) -> impl Iterator<Item = &i64> {
        self.values.iter().skip(at).step_by(of.max(1))
    }
}

impl Set<'_> {
    fn piece(&self, piece: usize, end: usize) -> Piece {
        let (n, m) = (self.offers.len(), self.members.len());
        let name = piece.to_string();
        let mut streams: Vec<Stream> = self
            .members
            .iter()
            .map(|&it| Stream::of(self.seed, "curve", self.offers[it].key, &name))
            .collect();
        let mut slopes = Slopes::default();
        let (mut y, mut scratch, mut selection) = (vec![0.0; n], Vec::new(), Selection::of(n));
        let mut values = Vec::with_capacity((end - piece * CHUNK) * m);
        let mut ranks = vec![0; m * m];
        let mut sorted = Vec::with_capacity(m);
        for d in piece * CHUNK..end {
            let row = self.weights.row(d);
            for (y, it) in y.iter_mut().zip(self.offers) {
                *y = it.profile.micropoints(row, it.profile.place(d)) as f64 / 1e6;
            }
            if self.fit == Fit::Line {
                slopes.refill(self.x, &y);
            }
            let mut curves = Curves { fit: self.fit, x: self.x, y: &y, slopes: &slopes, scratch };
            let start = values.len();
            for (&i, stream) in self.members.iter().zip(&mut streams) {
                selection.resample(stream, Some(i));
                let line = curves.through(&selection.counts, &selection.members);
                let expected = line.map_or(0.0, |it| it.at(self.x[i]));
                values.push(quantise(y[i] - expected));
            }
            scratch = curves.scratch;
            let drawn = &values[start..];
            sorted.clear();
            sorted.extend_from_slice(drawn);
            sorted.sort_unstable();
            for (at, value) in drawn.iter().enumerate() {
                let above = m - sorted.partition_point(|it| it <= value);
                ranks[at * m + above] += 1;
            }
        }
        Piece { values, ranks }
    }
}

/// Products drawn with replacement.
pub(super) struct Selection {
    pub(super) counts: Vec<u16>,
    pub(super) members: Vec<u16>,
}

impl Selection {
    pub(super) fn of(n: usize) -> Self {
        Selection { counts: vec![0; n], members: Vec::with_capacity(n) }
    }

    /// Draws as many products as there are, or as many of the others where one is left out. Each takes half of 64 random bits, even to one in 2 million.
    pub(super) fn resample(&mut self, stream: &mut Stream, without: Option<usize>) {
        let others = self.counts.len() - usize::from(without.is_some());
        self.counts.fill(0);
        self.members.clear();
        while self.members.len() < others {
            let bits = stream.bits();
            for half in [bits >> 32, bits & 0xffff_ffff] {
                let at = usize::try_from((half * others as u64) >> 32).unwrap_or_default();
                let at = at + usize::from(without.is_some_and(|it| at >= it));
                if self.members.len() < others {
                    self.counts[at] += 1;
                    self.members.push(u16::try_from(at).unwrap_or_default());
                }
            }
        }
    }
}
