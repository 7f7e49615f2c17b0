//! The weighted mean of scores.

use standing::aggregate::aggregate;
use standing::index::BadIndex;

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::NUMBERS_OR_NULL;
use crate::shape::{Calculation, Keys, Range, Shape, gives, may_give, needed};

/// The most scores of one index.
const SCORES_MAX: usize = 10_000;

pub(crate) static INDEX: Calculation = Calculation {
    name: "index",
    title: "the weighted mean of scores, with what missing ones leave open",
    input: Keys::plain(&[
        needed(
            "scores",
            Shape::List {
                of: &Shape::Nullable(&Shape::Number(Range::Closed(0.0, 100.0))),
                min: 1,
                max: SCORES_MAX,
            },
            "",
            "points of each criterion; null where it is missing",
        ),
        needed(
            "weights",
            Shape::List { of: &Shape::ANY, min: 1, max: SCORES_MAX },
            "",
            "shares of the criteria, from 0 up, which sum to 1; nothing is rescaled",
        ),
    ]),
    output: &[
        may_give("value", "", "the weighted mean; null where a score is missing"),
        gives("low", "", "the same with 0 for missing scores"),
        gives("high", "", "the same with 100 for missing scores"),
        gives("coverage", "", "weight of the scores that are there, 0 to 1"),
        may_give("geometric", "", "the weighted geometric mean; null where a score is missing"),
        may_give("unevenness", "", "value − geometric; null where a score is missing"),
        needed("contributions", NUMBERS_OR_NULL, "", "weight·score of each; null where missing"),
    ],
    formula:
        "value = Σ wₖ·xₖ; geometric = exp(Σ wₖ·ln max(xₖ, 1)); unevenness = value − geometric
        low and high: the sum with 0 and with 100 for what is missing; never rescaled, never filled",
    valid: "scores on scales with fixed ends, of which a strength in one may pay for a weakness in \
        another at the rate of the weights",
    source: "OECD/JRC, Handbook on Constructing Composite Indicators, 2008; C. F. Manski, Partial \
        Identification of Probability Distributions, 2003 (bounds)",
    example: r#"{"scores": [75, 69, 70, 58], "weights": [0.3, 0.35, 0.25, 0.1]}"#,
    run: |input| {
        let scores = input.numbers_or_null("scores")?;
        let it = aggregate(&scores, &input.numbers("weights")?).map_err(|why| bad(&why))?;
        Ok(Answer::new()
            .with("value", it.value)
            .with("low", it.low)
            .with("high", it.high)
            .with("coverage", it.coverage)
            .with("geometric", it.geometric)
            .with("unevenness", it.unevenness)
            .with("contributions", it.contributions))
    },
};

fn bad(why: &BadIndex) -> Fault {
    let message = why.to_string();
    match why {
        BadIndex::Empty => Fault::out_of_domain("scores", message),
        BadIndex::Score { place, .. } => {
            Fault::out_of_domain(format!("scores[{}]", place.saturating_sub(1)), message)
        }
        BadIndex::Weight { place, .. } => {
            Fault::inconsistent(format!("weights[{}]", place.saturating_sub(1)), message)
        }
        BadIndex::Exponent { .. } | BadIndex::Lengths { .. } | BadIndex::WeightSum { .. } => {
            Fault::inconsistent("weights", message)
        }
    }
}
