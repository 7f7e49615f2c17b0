//! How far the weights decide who is first.

use standing::stability::{WeightInterval, stability};

use crate::answer::Answer;
use crate::fault::Fault;
use crate::scores::{CRITERIA_MAX, PRODUCTS_MAX, SCORES, WEIGHTS, scores, shares};
use crate::shape::{Calculation, Keys, Shape, may_give, needed};
use crate::value::Value;

/// The place of a product, from 0.
const PLACE: Shape = Shape::Integer(0, PRODUCTS_MAX as i64 - 1);

static INTERVAL: Keys = Keys::plain(&[
    may_give("low", "", "the lower limit"),
    may_give("high", "", "the upper limit"),
    needed("rival_low", Shape::Nullable(&PLACE), "", "the product that is first below it"),
    needed("rival_high", Shape::Nullable(&PLACE), "", "the product that is first above it"),
]);

pub(crate) static STABILITY: Calculation = Calculation {
    name: "stability",
    title: "how far the weights may move before another product is first",
    input: Keys::plain(&[SCORES, WEIGHTS]),
    output: &[
        needed("winner", PLACE, "", "the product that is first; the earliest of those level"),
        needed(
            "intervals",
            Shape::List { of: &Shape::Object(&INTERVAL), min: 1, max: CRITERIA_MAX },
            "",
            "where each weight may lie, the others rescaled in proportion",
        ),
        needed(
            "smallest_shift",
            Shape::List { of: &Shape::Nullable(&Shape::ANY), min: 1, max: PRODUCTS_MAX },
            "",
            "the least weight to move until each product is level; null for the winner and where no weights do it",
        ),
    ],
    formula: "S = Σ wₖ·xₖ; of winner a and rival j: d = xₐ − xⱼ, D = Σ wₖ·dₖ
        one weight: Rₖ = (D − wₖ·dₖ)/(1 − wₖ), cₖ = dₖ − Rₖ; level at wₖ − D/cₖ,
        a low limit for cₖ > 0, a high one for cₖ < 0
        smallest shift: weight moves to the criterion t of the smallest d, from the largest d first, at most wₖ each;
        a unit takes dₖ − d_t off the lead; none where d_t > 0",
    valid: "an index that is a weighted sum; products and weights count from 0; scores are compared at one \
        millionth of a point; a weight of 1 has no limits; a product level with the winner is 0 away",
    source: "E. Triantaphyllou, A. Sanchez, Decision Sciences 28 (1997) 151-194",
    example: r#"{"scores": [[58, 82, 74, 69], [85, 73, 52, 80]], "weights": [0.3, 0.35, 0.25, 0.1]}"#,
    run: |input| {
        let (scores, weights) = (scores(input)?, input.numbers("weights")?);
        shares(&weights, scores.first().map_or(0, Vec::len), "weights")?;
        let it = stability(&scores, &weights)
            .map_err(|why| Fault::inconsistent("scores", why.to_string()))?;
        Ok(Answer::new()
            .with("winner", place(it.winner))
            .with("intervals", Value::List(it.intervals.into_iter().map(interval).collect()))
            .with("smallest_shift", it.smallest_shift))
    },
};

fn place(at: usize) -> Value {
    Value::Integer(i64::try_from(at).unwrap_or(i64::MAX))
}

fn interval(it: WeightInterval) -> Value {
    let entries = [
        ("low", it.low.into()),
        ("high", it.high.into()),
        ("rival_low", it.rival_low.map_or(Value::Null, place)),
        ("rival_high", it.rival_high.map_or(Value::Null, place)),
    ];
    Value::Object(entries.map(|(key, value)| (key.to_owned(), value)).into())
}
