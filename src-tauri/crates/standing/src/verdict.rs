//! Verdicts on value for money, with the numbers that decided.
//!
//! First the limits: enough products in the band, enough seen of the product, a price of today. Then the probabilities, each
//! held against its threshold; all definitions are editorial. Nothing is worded here.

use std::mem::discriminant;

use crate::dominance::Beaten;
use crate::gates::{MIN_VALUE, P_CONTRA, P_LARGE, P_LEANS, P_SUPPORT, covered};
use crate::rank::quantise;
use crate::value::DrawnValue;

/// A product and what is known of it in its band.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// Its place in `beaten`.
    pub product: usize,
    /// How many priced and scored products the band has, it included.
    pub n_band: usize,
    /// Share of the weight that was observed, 0 to 1.
    pub coverage: f64,
    /// Whether its price is too old to stand for today's.
    pub price_is_stale: bool,
    /// Its value by the draws; `None` where too few products allow an expectation.
    pub value: Option<&'a DrawnValue>,
    /// Who is clearly beaten in the band.
    pub beaten: &'a Beaten,
}

/// What the data say of a statement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// It holds.
    Supported,
    /// The product `by` refutes it.
    Contradicted {
        /// Its place.
        by: usize,
    },
    /// The data do not settle it.
    NotSupported {
        /// The place of the strongest rival, where it decided that one clearly beats the product in some draws or in too few.
        nearest: Option<usize>,
    },
    /// The band has too few products for it.
    TooFew {
        /// How many it has.
        found: usize,
        /// How many it needs.
        needed: usize,
    },
    /// The product cannot be judged.
    Ineligible {
        /// Why not.
        why: Ineligible,
    },
}

/// Why a product cannot be judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ineligible {
    /// Too little of it was seen: below [`crate::gates::COVERAGE_GATE`].
    Coverage,
    /// Its price is stale.
    StalePrice,
}

/// To which side draws lean that settle nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Lean {
    /// Every test is met with at least [`P_LEANS`].
    For,
    /// One named product clearly beats this one with at least [`P_LEANS`].
    Against,
    /// Neither.
    Neither,
}

/// What a probability is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum What {
    /// Nobody in the band clearly beats it.
    NotBeaten,
    /// The strongest rival clearly beats it.
    BeatenByStrongest,
    /// Its value is above 0.
    ValuePositive,
    /// Its value is at least [`crate::gates::DELTA_S`].
    ValueLarge,
    /// Its value is below 0.
    ValueNegative,
    /// Its value is the largest of the band.
    ValueLargest,
}

/// A probability held against its threshold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// What it is of.
    pub what: What,
    /// The probability found.
    pub p: f64,
    /// The least that meets the test.
    pub threshold: f64,
    /// Whether it is met.
    pub met: bool,
    /// Whether it is within two standard errors of the threshold, `sqrt(t (1 - t) / draws)` each, so that other draws could
    /// have decided otherwise.
    pub close: bool,
}

impl Test {
    fn of(what: What, p: f64, threshold: f64, draws: usize) -> Self {
        let error = (threshold * (1.0 - threshold) / draws.max(1) as f64).sqrt();
        let met = quantise(p) >= quantise(threshold);
        Test { what, p, threshold, met, close: (p - threshold).abs() < 2.0 * error }
    }
}

/// A verdict with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// The verdict.
    pub verdict: Verdict,
    /// The probabilities that decided, in the order in which they are asked; empty where limits decided.
    pub tests: Vec<Test>,
    /// Whether close tests could have turned the verdict. More draws may settle it.
    pub borderline: bool,
    /// To which side a verdict of not supported leans; [`Lean::Neither`] with all others.
    pub lean: Lean,
}

/// What refused before any probability was asked.
fn gates<'a>(case: &Case<'a>) -> Result<&'a DrawnValue, Judgement> {
    let refused =
        |verdict| Judgement { verdict, tests: Vec::new(), borderline: false, lean: Lean::Neither };
    let too_few = refused(Verdict::TooFew { found: case.n_band, needed: MIN_VALUE });
    if case.n_band < MIN_VALUE {
        return Err(too_few);
    }
    if !covered(case.coverage) {
        return Err(refused(Verdict::Ineligible { why: Ineligible::Coverage }));
    }
    if case.price_is_stale {
        return Err(refused(Verdict::Ineligible { why: Ineligible::StalePrice }));
    }
    case.value.ok_or(too_few)
}

/// How tests make a verdict: what is contradicted is not supported, and what has no test that contradicts cannot be.
fn judge(case: &Case<'_>, support: Vec<Test>, against: Option<Test>) -> Judgement {
    let rival = case.beaten.strongest.get(case.product).copied().flatten();
    let verdict = |met: &dyn Fn(&Test) -> bool| match (&against, rival) {
        (Some(test), Some((by, _))) if met(test) => Verdict::Contradicted { by },
        _ if support.iter().all(met) => Verdict::Supported,
        _ => {
            let by_rivals =
                |it: &&Test| matches!(it.what, What::NotBeaten | What::BeatenByStrongest);
            let failed = support.iter().filter(by_rivals).any(|it| !met(it));
            Verdict::NotSupported { nearest: rival.map(|(place, _)| place).filter(|_| failed) }
        }
    };
    let found = verdict(&|it| it.met);
    // Every way in which the close tests could have come out.
    let close: Vec<What> =
        against.iter().chain(&support).filter(|it| it.close).map(|it| it.what).collect();
    let borderline = (1_u32..1 << close.len()).any(|flipped| {
        let turned = |it: &Test| {
            let at = close.iter().position(|what| *what == it.what);
            it.met != at.is_some_and(|at| flipped >> at & 1 == 1)
        };
        discriminant(&verdict(&turned)) != discriminant(&found)
    });
    let leans = quantise(P_LEANS);
    let lean = match (found, rival) {
        (Verdict::NotSupported { .. }, Some((_, p)))
            if against.is_some() && quantise(p) >= leans =>
        {
            Lean::Against
        }
        (Verdict::NotSupported { .. }, _) if support.iter().all(|it| quantise(it.p) >= leans) => {
            Lean::For
        }
        _ => Lean::Neither,
    };
    Judgement {
        verdict: found,
        tests: support.into_iter().chain(against).collect(),
        borderline,
        lean,
    }
}

fn strongest(case: &Case<'_>) -> Test {
    let p = case.beaten.strongest.get(case.product).copied().flatten().map_or(0.0, |(_, p)| p);
    Test::of(What::BeatenByStrongest, p, P_CONTRA, case.beaten.draws)
}

/// Unbeaten for the money: with probability at least [`P_SUPPORT`] nobody in the band clearly beats it, and with at least
/// [`P_SUPPORT`] its value is above 0. Contradicted when one named product clearly beats it with at least [`P_CONTRA`].
#[must_use]
pub fn unbeaten(case: &Case<'_>) -> Judgement {
    let value = match gates(case) {
        Ok(value) => value,
        Err(refused) => return refused,
    };
    let p = case.beaten.p_not_beaten.get(case.product).copied().unwrap_or(0.0);
    let support = vec![
        Test::of(What::NotBeaten, p, P_SUPPORT, case.beaten.draws),
        Test::of(What::ValuePositive, value.p_positive, P_SUPPORT, value.draws),
    ];
    judge(case, support, Some(strongest(case)))
}

/// Good value: above 0 with probability at least [`P_SUPPORT`], and at least [`crate::gates::DELTA_S`] points with at least [`P_LARGE`].
#[must_use]
pub fn good_value(case: &Case<'_>) -> Judgement {
    let value = match gates(case) {
        Ok(value) => value,
        Err(refused) => return refused,
    };
    let support = vec![
        Test::of(What::ValuePositive, value.p_positive, P_SUPPORT, value.draws),
        Test::of(What::ValueLarge, value.p_large, P_LARGE, value.draws),
    ];
    judge(case, support, None)
}

/// Overpriced: its value is below 0 with probability at least [`P_SUPPORT`], and one named product clearly beats it with at least
/// [`P_SUPPORT`].
#[must_use]
pub fn overpriced(case: &Case<'_>) -> Judgement {
    let value = match gates(case) {
        Ok(value) => value,
        Err(refused) => return refused,
    };
    let support = vec![
        Test::of(What::ValueNegative, value.p_negative, P_SUPPORT, value.draws),
        strongest(case),
    ];
    judge(case, support, None)
}

/// Best value of the band: its value is the largest with probability at least [`P_SUPPORT`]. The second part of the answer is the
/// smallest r for which it is among the r best with that probability; `None` where limits decided.
#[must_use]
pub fn best_value(case: &Case<'_>) -> (Judgement, Option<usize>) {
    let value = match gates(case) {
        Ok(value) => value,
        Err(refused) => return (refused, None),
    };
    let support = vec![Test::of(What::ValueLargest, value.p_largest, P_SUPPORT, value.draws)];
    let among = (1..=value.ranks.len())
        .find(|rank| quantise(value.p_rank_at_most(*rank)) >= quantise(P_SUPPORT));
    (judge(case, support, None), among)
}

#[cfg(test)]
mod tests;
