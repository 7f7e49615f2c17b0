//! Claims about value for money: the verdicts of [`crate::verdict`] as one world.

use super::{Gate, Test, World};
use crate::{
    confidence::Limits,
    verdict::{self, Case, Ineligible, Judgement},
};

/// What a judgement on value says as a world; the detail is the judgement.
///
/// `judge` is one of [`verdict::unbeaten`], [`verdict::good_value`], [`verdict::best_value`] and [`verdict::overpriced`].
pub fn value(case: &Case<'_>, judge: impl FnOnce(&Case<'_>) -> Judgement) -> Test<Judgement> {
    let it = judge(case);
    let rival = case.beaten.strongest.get(case.product).copied().flatten().map(|(at, _)| at);
    let (world, by) = match it.verdict {
        verdict::Verdict::Supported => (World::Holds, None),
        verdict::Verdict::Contradicted { by } => (World::Fails, Some(by)),
        verdict::Verdict::NotSupported { nearest } => (World::Open, nearest.or(rival)),
        verdict::Verdict::TooFew { found, needed } => {
            (World::Gated(Gate::Count { found, needed }), None)
        }
        verdict::Verdict::Ineligible { why: Ineligible::Coverage } => {
            (World::Gated(Gate::Coverage), None)
        }
        verdict::Verdict::Ineligible { why: Ineligible::StalePrice } => {
            (World::Gated(Gate::StalePrice), None)
        }
    };
    Test {
        world,
        n: case.n_band,
        p: it.tests.iter().map(|it| it.p).next(),
        interval: case.value.map(|it| Limits { low: it.low, high: it.high }),
        deciding: [Some(case.product), by].into_iter().flatten().collect(),
        lean: it.lean,
        borderline: it.borderline,
        detail: it,
    }
}
