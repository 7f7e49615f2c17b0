//! One product against another.

use super::{BadDraws, Drawn, Test, by_draws};
use crate::{confidence::Limits, gates::P_SUPPORT, rank::quantise, too_few::near_threshold};

/// What is said of two products.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// The median difference, in the unit of what is drawn; above 0 where the first has more.
    pub difference: f64,
    /// Whether it is too small for a word: level.
    pub level: bool,
}

/// Whether product `a` has more than product `b`: in shared draws with probability at least [`P_SUPPORT`], and by a median difference
/// worth a word. Refuted where `b` has more by the same test.
///
/// # Errors
/// [`BadDraws`] without draws.
pub fn comparative(drawn: &Drawn, a: usize, b: usize) -> Result<Test<Comparison>, BadDraws> {
    let (p, against) = (drawn.p_above(a, b), drawn.p_above(b, a));
    let (low, median, high) = drawn.above(a, b)?;
    let level = quantise(median.abs()) < quantise(drawn.least());
    let (world, lean) = by_draws(p, against, !level);
    let near = |p| near_threshold(p, P_SUPPORT, drawn.draws());
    Ok(Test {
        world,
        n: 2,
        p: Some(p),
        interval: Some(Limits { low: drawn.difference(low), high: drawn.difference(high) }),
        deciding: vec![a, b],
        lean,
        borderline: !level && (near(p) || near(against)),
        detail: Comparison { difference: drawn.difference(median), level },
    })
}
