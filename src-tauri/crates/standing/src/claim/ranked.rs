//! First, last, and ordinary: claims about one product's rank.

use super::{BadDraws, Drawn, Gate, Test, World, by_draws};
use crate::{
    confidence::Limits,
    gates::{MIN_SUPERLATIVE, MIN_VALUE, P_SUPPORT},
    order::percentile_rank,
    rank::quantise,
    too_few::near_threshold,
    verdict::Lean,
};

/// Which end of the ranking.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum End {
    /// The highest.
    Best,
    /// The lowest.
    Worst,
}

/// What is said of a superlative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Superlative {
    /// The median lead over the next, in the unit of what is drawn; negative behind.
    pub lead: f64,
    /// The smallest r for which it is among the r first with [`P_SUPPORT`].
    pub among: usize,
    /// The strongest of the others: the one that is most often ahead of it.
    pub rival: Option<usize>,
    /// Whether it would hold but for too small a lead: joint first.
    pub joint: bool,
}

/// Whether product `i` is first from that end: with probability at least [`P_SUPPORT`], and by a lead worth a word. Refuted where one
/// other is ahead of it with at least [`crate::gates::P_CONTRA`]. The luck of the winner is within, since being first is counted jointly.
///
/// # Errors
/// [`BadDraws`] for draws that cannot be ranked.
pub fn superlative(
    drawn: &Drawn,
    i: usize,
    end: End,
    threads: usize,
) -> Result<Test<Superlative>, BadDraws> {
    let n = drawn.n();
    let turned = drawn.turned(end == End::Worst);
    let ranks = turned.ranks(threads)?;
    let draws = ranks.draws() as f64;
    let middles = turned.middles()?;
    // Of those that are ahead of it equally often the one that is higher by its middle, then the first given.
    let rival = (0..n).filter(|j| *j != i).map(|j| (j, ranks.wins(j, i))).max_by(|a, b| {
        let by_wins = a.1.cmp(&b.1);
        by_wins.then(middles[a.0].total_cmp(&middles[b.0])).then(b.0.cmp(&a.0))
    });
    let p = f64::from(ranks.first(i)) / draws;
    let against = rival.map_or(0.0, |(_, wins)| f64::from(wins) / draws);
    let among = (1..=n).find(|r| quantise(ranks.p_rank_at_most(i, *r)) >= quantise(P_SUPPORT));
    let lead = if n > 1 { turned.lead(i)? } else { 0.0 };
    let wide = n > 1 && quantise(lead) >= quantise(turned.least());
    let (mut world, lean) = by_draws(p, against, true);
    let joint = world == World::Holds && !wide;
    if joint {
        world = World::Open;
    }
    let detail = Superlative {
        lead: drawn.difference(lead),
        among: among.unwrap_or(n),
        rival: rival.map(|(j, _)| j),
        joint,
    };
    if n < MIN_SUPERLATIVE {
        return Ok(Test::gated(Gate::Count { found: n, needed: MIN_SUPERLATIVE }, n, detail));
    }
    let interval = Limits { low: ranks.rank_quantile(i, 0.05), high: ranks.rank_quantile(i, 0.95) };
    Ok(Test {
        world,
        n,
        p: Some(p),
        interval: Some(interval),
        deciding: [Some(i), detail.rival].into_iter().flatten().collect(),
        lean: if joint { Lean::For } else { lean },
        borderline: near_threshold(p, P_SUPPORT, ranks.draws())
            || near_threshold(against, crate::gates::P_CONTRA, ranks.draws()),
        detail,
    })
}

/// What is said of an ordinary product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typical {
    /// Its place from the bottom at the weights asked for, ties sharing the lower one.
    pub from_bottom: usize,
    /// Its percentile rank there, by the middle definition.
    pub percentile: f64,
}

/// The quarter of the ranking on either side that is not ordinary.
const ORDINARY: std::ops::RangeInclusive<f64> = 25.0..=75.0;

/// Whether product `i` lies in the middle half: its percentile rank from 25 to 75 with probability at least [`P_SUPPORT`], among at
/// least [`MIN_VALUE`] products. Refuted where it lies outside with as much.
///
/// # Errors
/// [`BadDraws`] for draws that cannot be ranked.
pub fn typical(drawn: &Drawn, i: usize) -> Result<Test<Typical>, BadDraws> {
    let n = drawn.n();
    let middles = drawn.middles()?;
    let own = middles[i];
    let detail = Typical {
        from_bottom: 1 + middles.iter().filter(|it| **it < own).count(),
        percentile: percentile_rank(&middles, own)?.unwrap_or(50.0),
    };
    if n < MIN_VALUE {
        return Ok(Test::gated(Gate::Count { found: n, needed: MIN_VALUE }, n, detail));
    }
    let mut places = Vec::with_capacity(drawn.draws());
    for d in 0..drawn.draws() {
        let values = drawn.draw(d);
        places.push(percentile_rank(&values, values[i])?.unwrap_or(50.0));
    }
    let inside = places.iter().filter(|it| ORDINARY.contains(*it)).count() as f64;
    let p = inside / places.len().max(1) as f64;
    let (world, lean) = by_draws(p, 1.0 - p, true);
    let ends = crate::summary::quantiles(&places, &[0.05, 0.95])?;
    let interval = match ends.as_deref() {
        Some(&[low, high]) => Some(Limits { low, high }),
        _ => None,
    };
    let borderline = near_threshold(p, P_SUPPORT, places.len())
        || near_threshold(1.0 - p, P_SUPPORT, places.len());
    Ok(Test { world, n, p: Some(p), interval, deciding: vec![i], lean, borderline, detail })
}
