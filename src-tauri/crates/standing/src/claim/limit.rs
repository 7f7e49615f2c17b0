//! Above or below a limit.

use super::{Gate, Test, World};
use crate::{
    confidence::{Level, Limits},
    conformity::{BadMeasurement, at_least, guard_band},
    rank::quantise,
    verdict::Lean,
};

/// On which side of the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// At least as much.
    AtLeast,
    /// At most as much.
    AtMost,
}

/// What was found of one product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty, in the same unit.
    pub u: f64,
}

/// The probability from which a value counts as beyond a limit, and the one at which it counts as not. JCGM 106:2012 leaves it open;
/// 0.95 is one-sided confidence of 90 % two-sided limits. Editorial.
const SURE: f64 = 0.95;

/// Whether a value lies on that side of a limit: with probability at least 0.95. Refuted at 0.05 or less. Nothing read is too few data.
///
/// # Errors
/// [`BadMeasurement`] for numbers that are not finite or an uncertainty below 0.
pub fn threshold(
    reading: Option<Reading>,
    side: Side,
    limit: f64,
) -> Result<Test<()>, BadMeasurement> {
    let Some(Reading { value, u }) = reading else {
        return Ok(Test::gated(Gate::Undetermined { count: 1 }, 0, ()));
    };
    let p = match side {
        Side::AtLeast => at_least(value, u, limit)?,
        Side::AtMost => at_least(-value, u, -limit)?,
    };
    let world = if quantise(p) >= quantise(SURE) {
        World::Holds
    } else if quantise(p) <= quantise(1.0 - SURE) {
        World::Fails
    } else {
        World::Open
    };
    let lean = match world {
        World::Open if p >= crate::gates::P_LEANS => Lean::For,
        World::Open if p <= 1.0 - crate::gates::P_LEANS => Lean::Against,
        _ => Lean::Neither,
    };
    let half = guard_band(u, Level::NINETY)?;
    Ok(Test {
        world,
        n: 1,
        p: Some(p),
        interval: Some(Limits { low: value - half, high: value + half }),
        deciding: vec![0],
        lean,
        borderline: false,
        detail: (),
    })
}

/// Whether all products lie on that side: each by [`threshold`]. One that surely does not refutes it; of those unread any could.
/// The detail is the probability of each, `None` where nothing was read.
///
/// # Errors
/// [`BadMeasurement`] as there.
pub fn threshold_of_all(
    readings: &[Option<Reading>],
    side: Side,
    limit: f64,
) -> Result<Test<Vec<Option<f64>>>, BadMeasurement> {
    let each =
        readings.iter().map(|it| threshold(*it, side, limit)).collect::<Result<Vec<_>, _>>()?;
    let which = |wanted: &dyn Fn(World) -> bool| -> Vec<usize> {
        each.iter().enumerate().filter(|(_, it)| wanted(it.world)).map(|(at, _)| at).collect()
    };
    let fails = which(&|it| it == World::Fails);
    let unread = which(&|it| matches!(it, World::Gated(_)));
    let open = which(&|it| it == World::Open);
    let (world, deciding) = if each.is_empty() {
        (World::Gated(Gate::Count { found: 0, needed: 1 }), Vec::new())
    } else if !fails.is_empty() {
        (World::Fails, fails)
    } else if !unread.is_empty() {
        (World::Gated(Gate::Undetermined { count: unread.len() }), unread)
    } else if open.is_empty() {
        (World::Holds, (0..each.len()).collect())
    } else {
        (World::Open, open)
    };
    let p: Vec<Option<f64>> = each.iter().map(|it| it.p).collect();
    let ends = each.iter().filter_map(|it| it.interval);
    let interval = ends.reduce(|a, b| Limits { low: a.low.min(b.low), high: a.high.max(b.high) });
    Ok(Test {
        world,
        n: each.len(),
        p: p.iter().flatten().copied().reduce(f64::min),
        interval,
        deciding,
        lean: Lean::Neither,
        borderline: false,
        detail: p,
    })
}
