//! Whether something rises or falls with the price.

use super::{BadDraws, Drawn, Gate, Test, World};
use crate::{
    association::{Association, BadPairs, associate, tau_b},
    confidence::Level,
    gates::{MIN_TAU_INTERVAL, P_LEANS, P_SUPPORT},
    rank::quantise,
    verdict::Lean,
};

/// The direction that is claimed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Trend {
    /// The dearer has more.
    Rises,
    /// The dearer has less.
    Falls,
}

/// The most p for which two lists count as hanging together. The usual level.
const P_LEVEL: f64 = 0.05;
/// Draws in which the direction is looked at: good to 1 % near 0.9.
const DRAWS: usize = 1000;

/// Whether the attribute rises or falls with the price, of at least [`MIN_TAU_INTERVAL`] products: p of tau-b of the middles at most
/// 0.05, and the same direction in at least [`P_SUPPORT`] of the draws, so that doubt about the values never helps. Refuted when that
/// holds of the other direction.
///
/// # Errors
/// [`BadDraws`] for draws that cannot be used; pairs that allow no correlation are too few data.
pub fn association(
    drawn: &Drawn,
    prices: &[f64],
    trend: Trend,
) -> Result<Test<Option<Association>>, BadDraws> {
    let n = drawn.n();
    let middles = drawn.middles()?;
    let found = match associate(prices, &middles, Level::NINETY) {
        Ok(it) => it,
        Err(BadPairs::Constant { .. }) => return Ok(Test::gated(Gate::Constant, n, None)),
        Err(_) => {
            let gate = Gate::Count { found: n, needed: MIN_TAU_INTERVAL };
            return Ok(Test::gated(gate, n, None));
        }
    };
    if n < MIN_TAU_INTERVAL {
        let gate = Gate::Count { found: n, needed: MIN_TAU_INTERVAL };
        return Ok(Test::gated(gate, n, Some(found)));
    }
    let draws = drawn.draws().min(DRAWS);
    let sign = if trend == Trend::Rises { 1.0 } else { -1.0 };
    let (mut with, mut against) = (0_usize, 0_usize);
    for d in 0..draws {
        // A draw in which all are alike has no direction.
        let tau = tau_b(prices, &drawn.draw(d)).unwrap_or(0.0) * sign;
        with += usize::from(tau > 0.0);
        against += usize::from(tau < 0.0);
    }
    let share = |it: usize| it as f64 / draws.max(1) as f64;
    let p_small = found.p_value.is_some_and(|p| p <= P_LEVEL);
    let sure = |it: usize| quantise(share(it)) >= quantise(P_SUPPORT);
    let along = found.tau_b * sign > 0.0;
    let world = if p_small && along && sure(with) {
        World::Holds
    } else if p_small && !along && sure(against) {
        World::Fails
    } else {
        World::Open
    };
    let lean = match world {
        World::Open if along && share(with) >= P_LEANS => Lean::For,
        World::Open if !along && share(against) >= P_LEANS => Lean::Against,
        _ => Lean::Neither,
    };
    Ok(Test {
        world,
        n,
        p: Some(share(with)),
        interval: found.interval,
        deciding: Vec::new(),
        lean,
        borderline: false,
        detail: Some(found),
    })
}
