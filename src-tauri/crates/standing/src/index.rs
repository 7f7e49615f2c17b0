//! From criteria to a subsystem's score, and from subsystems to the index, both as intervals.
//!
//! Weighted arithmetic mean on fixed scales (OECD/JRC, *Handbook on Constructing Composite Indicators: Methodology and User Guide*,
//! 2008, part 1, weighting and aggregation), since it is linear: contributions add up and bounds for missing parts are exact.
//! Three things that are not a number are kept apart:
//!
//! - *Missing*: it applies, and nobody looked or could tell. It counts at its worst in the low bound and at its best in the high one
//!   (worst-case bounds: C. F. Manski, *Partial Identification of Probability Distributions*, 2003) and never drops out of the
//!   weights, since a mean over what is present would reward not looking at the weak part.
//! - *Not applicable*: there is nothing to look at, as with the port of a closed box. Its weight is shared among the rest in
//!   proportion to theirs.
//! - *Not scored*: a whole subsystem without an answer, as when its plugin failed. It counts as fully missing.
//!
//! A weight of 0 leaves a part out, whatever is known of it.

use crate::rank::Interval;

/// The largest weight accepted, which keeps every sum finite.
const MAX_WEIGHT: f64 = 1e6;

/// One criterion of a subsystem.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Criterion {
    /// Its weight among the criteria of the subsystem, 0 to 1,000,000; only ratios matter.
    pub weight: f64,
    /// What is known of it.
    pub score: Score,
}

/// What is known of one criterion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Score {
    /// It was scored.
    Known {
        /// Points, 0 to 100.
        value: f64,
        /// Whether it rests on what was measured, seen or read, not on a claim or a guess.
        hard: bool,
    },
    /// It applies, but what it needs is not known.
    Missing {
        /// What it can be worth: 0 to 100, or less where the criterion's own worst and best, or what is known, allow less.
        within: Interval,
    },
    /// It does not apply to this product.
    NotApplicable,
}

/// The score of one subsystem of which something applies. Made by [`subsystem`].
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct SubsystemScore {
    /// Points, 0 to 100, only when nothing is missing; then both ends of the interval equal it.
    pub value: Option<f64>,
    /// Points with everything missing at 0 and at 100.
    pub interval: Interval,
    /// Share of the applicable weight that was scored, 0 to 1.
    pub coverage: f64,
    /// Share of the applicable weight that was scored on hard evidence, 0 to `coverage`.
    pub coverage_hard: f64,
}

/// What came of one subsystem.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Subsystem {
    /// It has a score, perhaps a wide one.
    Scored(SubsystemScore),
    /// None of its criteria applies: the index leaves it out and shares its weight among the rest.
    NothingApplies,
    /// No answer came, as when a plugin failed: the index counts it as fully missing, 0 to 100.
    NotScored,
}

/// What one subsystem brings to the index, in points of the index.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contribution {
    /// Its weight after sharing out, 0 to 1; 0 when it was left out.
    pub share: f64,
    /// Share times points, when nothing is missing in it.
    pub value: Option<f64>,
    /// Share times its low end.
    pub low: f64,
    /// Share times its high end.
    pub high: f64,
}

/// The index of one product.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct IndexScore {
    /// Points, 0 to 100, only when nothing is missing.
    pub value: Option<f64>,
    /// Points with everything missing at 0 and at 100.
    pub interval: Interval,
    /// Share of the weight that was scored, 0 to 1.
    pub coverage: f64,
    /// Share of the weight that was scored on hard evidence, 0 to `coverage`.
    pub coverage_hard: f64,
    /// One a subsystem, in the order given; the lows add up to the low end, the highs to the high end, unless a cap holds.
    pub contributions: Vec<Contribution>,
}

impl IndexScore {
    /// The index held at `limit` points at most, as where a fault must not be averaged away.
    #[must_use]
    pub fn capped(mut self, limit: f64) -> Self {
        self.value = self.value.map(|it| it.min(limit));
        self.interval =
            Interval::rounded(self.interval.low().min(limit), self.interval.high().min(limit));
        self
    }
}

/// Scores or weights that make no index. Places count from 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BadIndex {
    /// An empty list.
    #[error("an index needs at least one score")]
    Empty,
    /// Lists of different lengths.
    #[error("{scores} scores but {weights} weights; give one weight a score")]
    Lengths {
        /// How many scores.
        scores: usize,
        /// How many weights.
        weights: usize,
    },
    /// A score outside the scale.
    #[error("score {place} is {value}; write points from 0 to 100")]
    Score {
        /// Which score.
        place: usize,
        /// The points found.
        value: f64,
    },
    /// A weight that is none.
    #[error("weight {place} is {weight}; write a number from 0 to 1000000")]
    Weight {
        /// Which weight.
        place: usize,
        /// The weight found.
        weight: f64,
    },
    /// An exponent of which there is no mean.
    #[error(
        "the exponent {exponent} is out of range; give a number, or minus infinity for the weakest score"
    )]
    Exponent {
        /// The exponent found.
        exponent: f64,
    },
    /// Weights that had to be shares and are not.
    #[error("the weights sum to {sum}; they must sum to 1 within 1e-9, nothing is rescaled")]
    WeightSum {
        /// Their sum.
        sum: f64,
    },
}

impl SubsystemScore {
    const MISSING: Self = SubsystemScore {
        value: None,
        interval: Interval::UNKNOWN,
        coverage: 0.0,
        coverage_hard: 0.0,
    };

    /// A scored criterion; `place` names it in the error.
    pub(crate) fn of_known(place: usize, value: f64, hard: bool) -> Result<Self, BadIndex> {
        let interval = Interval::new(value, value).map_err(|_| BadIndex::Score { place, value })?;
        Ok(SubsystemScore {
            value: Some(value),
            interval,
            coverage: 1.0,
            coverage_hard: f64::from(u8::from(hard)),
        })
    }

    /// A criterion of which only the limits are known.
    pub(crate) fn of_missing(within: Interval) -> Self {
        SubsystemScore { interval: within, ..Self::MISSING }
    }
}

/// Refuses what is no weight; `place` names it in the error.
pub(crate) fn check_weight(place: usize, weight: f64) -> Result<(), BadIndex> {
    if (0.0..=MAX_WEIGHT).contains(&weight) {
        Ok(())
    } else {
        Err(BadIndex::Weight { place, weight })
    }
}

/// The weighted mean of scores and of what is known of them: `sum w x / total` for every part of a score.
pub(crate) fn blend(parts: &[(f64, SubsystemScore)], total: f64) -> SubsystemScore {
    let mean = |of: fn(&SubsystemScore) -> f64| {
        parts.iter().map(|(weight, part)| weight * of(part)).sum::<f64>() / total
    };
    let interval = Interval::rounded(mean(|it| it.interval.low()), mean(|it| it.interval.high()));
    let complete = parts.iter().all(|(_, part)| part.value.is_some());
    SubsystemScore {
        value: complete.then_some(interval.low()),
        interval,
        coverage: mean(|it| it.coverage).min(1.0),
        coverage_hard: mean(|it| it.coverage_hard).min(1.0),
    }
}

/// The score of one subsystem from its criteria: `sum w x / sum w` over those that apply, with the missing ones at their worst and at
/// their best.
///
/// Coverage is the share of the applicable weight that was scored. Criteria of weight 0 are left out. Without any criterion left
/// the answer is [`Subsystem::NothingApplies`].
///
/// # Errors
/// [`BadIndex::Score`] for points outside 0 to 100 or NaN, [`BadIndex::Weight`] for a weight outside 0 to 1,000,000.
pub fn subsystem(criteria: &[Criterion]) -> Result<Subsystem, BadIndex> {
    let mut parts = Vec::with_capacity(criteria.len());
    for (place, criterion) in (1..).zip(criteria) {
        check_weight(place, criterion.weight)?;
        let part = match criterion.score {
            Score::Known { value, hard } => SubsystemScore::of_known(place, value, hard)?,
            Score::Missing { within } => SubsystemScore::of_missing(within),
            Score::NotApplicable => continue,
        };
        if criterion.weight > 0.0 {
            parts.push((criterion.weight, part));
        }
    }
    let total: f64 = parts.iter().map(|(weight, _)| weight).sum();
    Ok(if parts.is_empty() {
        Subsystem::NothingApplies
    } else {
        Subsystem::Scored(blend(&parts, total))
    })
}

/// The index of one product from the weights (0 to 1,000,000, only ratios matter) and answers of its subsystems.
///
/// `sum w x / sum w` over the subsystems that apply. One that was not scored is fully missing; one where nothing applies is left
/// out and its weight shared among the rest, and so is one of weight 0. `None` when no subsystem is left.
///
/// # Errors
/// [`BadIndex::Weight`] for a weight outside 0 to 1,000,000.
pub fn index(subsystems: &[(f64, Subsystem)]) -> Result<Option<IndexScore>, BadIndex> {
    let mut parts = Vec::with_capacity(subsystems.len());
    for (place, &(weight, answer)) in (1..).zip(subsystems) {
        check_weight(place, weight)?;
        match answer {
            Subsystem::Scored(score) if weight > 0.0 => parts.push((weight, score)),
            Subsystem::NotScored if weight > 0.0 => parts.push((weight, SubsystemScore::MISSING)),
            _ => {}
        }
    }
    if parts.is_empty() {
        return Ok(None);
    }
    let total: f64 = parts.iter().map(|(weight, _)| weight).sum();
    let SubsystemScore { value, interval, coverage, coverage_hard } = blend(&parts, total);
    let contributions =
        subsystems.iter().map(|&(weight, answer)| contribution(weight / total, answer)).collect();
    Ok(Some(IndexScore { value, interval, coverage, coverage_hard, contributions }))
}

fn contribution(share: f64, answer: Subsystem) -> Contribution {
    let score = match answer {
        Subsystem::Scored(score) if share > 0.0 => score,
        Subsystem::NotScored if share > 0.0 => SubsystemScore::MISSING,
        _ => return Contribution { share: 0.0, value: Some(0.0), low: 0.0, high: 0.0 },
    };
    Contribution {
        share,
        value: score.value.map(|value| share * value),
        low: share * score.interval.low(),
        high: share * score.interval.high(),
    }
}

#[cfg(test)]
mod tests;
