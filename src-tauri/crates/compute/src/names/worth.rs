//! What money buys: value points, the rising step line, and who is beaten for the price.

use standing::frontier::{Offer, frontier};
use standing::isotonic::{BadIsotonic, isotonic};
use standing::rank::Interval;
use standing::value::{BadValue, Fit, value_points};

use crate::answer::Answer;
use crate::fault::Fault;
use crate::input::Input;
use crate::shape::{Calculation, Field, Keys, Shape, may_give, needed, optional};
use crate::value::Value;

/// The most products of one question: the tables grow with the square of their number.
const MOST: usize = 2000;

static POINT: Shape = Shape::List { of: &Shape::NON_NEGATIVE, min: 2, max: 2 };

const POINTS: Field = needed(
    "points",
    Shape::List { of: &POINT, min: 1, max: MOST },
    "",
    "rows of price (a number greater than 0, any currency, per pair) and index (points, 0 to 100)",
);

/// The points of an input, each a price and an index.
fn points(input: &Input) -> Result<Vec<(f64, f64)>, Fault> {
    let path = |row: usize, column: usize| format!("{}[{row}][{column}]", input.path_of("points"));
    let mut points = Vec::new();
    for (at, row) in input.rows("points")?.iter().enumerate() {
        let &[price, index] = row.as_slice() else {
            let place = format!("{}[{at}]", input.path_of("points"));
            return Err(Fault::out_of_domain(&place, format!("{place} is no pair of numbers")));
        };
        if price <= 0.0 {
            let place = path(at, 0);
            let message = format!("{place} is {price}; a price is a number greater than 0");
            return Err(Fault::out_of_domain(place, message));
        }
        if index > 100.0 {
            let place = path(at, 1);
            let message = format!("{place} is {index}; an index is a number from 0 to 100");
            return Err(Fault::out_of_domain(place, message));
        }
        points.push((price, index));
    }
    Ok(points)
}

/// A list of indices or of lists of them.
fn places(list: &[usize]) -> Value {
    list.iter()
        .map(|it| Value::Integer(i64::try_from(*it).unwrap_or(i64::MAX)))
        .collect::<Vec<_>>()
        .into()
}

static NUMBER_OR_NULL: Shape = Shape::Nullable(&Shape::ANY);
static INDEX: Shape = Shape::Integer(0, MOST as i64 - 1);
static INDICES: Shape = Shape::List { of: &INDEX, min: 0, max: MOST };

pub(crate) static VALUE_POINTS: Calculation = Calculation {
    name: "value-points",
    title: "how much more each product scores than its price usually buys",
    input: Keys::plain(&[POINTS]),
    output: &[
        needed(
            "value",
            Shape::List { of: &NUMBER_OR_NULL, min: 1, max: MOST },
            "points",
            "index less what is expected at that price",
        ),
        needed(
            "expected",
            Shape::List { of: &NUMBER_OR_NULL, min: 1, max: MOST },
            "points",
            "what the price buys by the other products",
        ),
        needed(
            "fit",
            Shape::Word(&["none", "flat", "line"]),
            "",
            "the kind of expectation that so many products allow",
        ),
        may_give("slope", "points", "rise for each factor e in price, from all products"),
        may_give("intercept", "points", "the expectation at price 1, from all products"),
        needed(
            "slope_interval_90",
            Shape::Nullable(&Shape::List { of: &Shape::ANY, min: 2, max: 2 }),
            "points",
            "90 % confidence interval of the slope, not held to 0",
        ),
    ],
    formula: "value = index − expected(price), each expectation from the other products
        1 to 4 products: none; 5 to 9: the median index
        10 and more: a + b·ln price; b = max(0, median of the slopes of all pairs with different prices),
        a = median of (index − b·ln price)
        interval: with N slopes, σ² = [n(n−1)(2n+5) − Σ t(t−1)(2t+5)]/18 over ties of price and of index,
        the slopes at round((N − 1.645σ)/2) − 1 and round((N + 1.645σ)/2) of the sorted list, from 0",
    valid: "prices of one market and date, indices on one scale; with a dozen products the expectation is \
        itself good to 4 or 5 points; ties are told at a millionth of a point",
    source: "H. Theil, 1950; P. K. Sen, Journal of the American Statistical Association 63 (1968) 1379-1389",
    example: r#"{"points": [[129, 52.45], [149, 52.25], [159, 61.3], [179, 62.35], [199, 44.05], [199, 69.95],
        [229, 68.2], [249, 69.1], [279, 71.5], [299, 72.05], [299, 65.75], [349, 78.75]]}"#,
    run: |input| {
        let points = points(input)?;
        let found = value_points(&points).map_err(|why| match why {
            BadValue::Price { place, .. } => of_list("points", place, &why),
            _ => Fault::out_of_domain(input.path_of("points"), why.to_string()),
        })?;
        let list = |of: &[f64]| -> Vec<Option<f64>> {
            if found.fit == Fit::None {
                vec![None; points.len()]
            } else {
                of.iter().copied().map(Some).collect()
            }
        };
        let word = match found.fit {
            Fit::None => "none",
            Fit::Flat => "flat",
            Fit::Line => "line",
        };
        Ok(Answer::new()
            .with("value", list(&found.value))
            .with("expected", list(&found.expected))
            .with("fit", word)
            .with("slope", found.curve.map(|it| it.slope))
            .with("intercept", found.curve.map(|it| it.intercept))
            .with("slope_interval_90", found.slope_interval.map(|(low, high)| vec![low, high]))
            .flag_if(
                found.price_says_little(),
                "among these products price says little about the index",
            ))
    },
};

/// A refusal of one entry of a list; `place` counts from 1.
fn of_list(key: &str, place: usize, why: &impl ToString) -> Fault {
    Fault::out_of_domain(format!("{key}[{}]", place.saturating_sub(1)), why.to_string())
}

pub(crate) static ISOTONIC: Calculation = Calculation {
    name: "isotonic",
    title: "the rising step line nearest to values",
    input: Keys::plain(&[
        needed(
            "x",
            Shape::List { of: &Shape::ANY, min: 1, max: 100_000 },
            "",
            "by what the line rises, in any order",
        ),
        needed(
            "y",
            Shape::List { of: &Shape::ANY, min: 1, max: 100_000 },
            "",
            "the values, one for each x",
        ),
        optional(
            "weights",
            Shape::List { of: &Shape::POSITIVE, min: 1, max: 100_000 },
            "",
            "how much each counts; 1 each where absent",
        ),
    ]),
    output: &[needed(
        "fit",
        Shape::List { of: &Shape::ANY, min: 1, max: 100_000 },
        "",
        "the line at each x, in the order given",
    )],
    formula: "fit = argmin Σ w·(y − fit)² with fit non-decreasing in x; equal x are averaged first, their weights added",
    valid: "a check of the shape; it follows the lowest and the highest x too closely to judge them by",
    source: "R. E. Barlow, D. J. Bartholomew, J. M. Bremner, H. D. Brunk, Statistical Inference under Order Restrictions, \
        1972 (from memory); J. de Leeuw, K. Hornik, P. Mair, Journal of Statistical Software 32(5), 2009",
    example: r#"{"x": [1, 2, 3, 4, 5, 6], "y": [1, 3, 2, 4, 3.5, 5]}"#,
    run: |input| {
        let (x, y) = (input.numbers("x")?, input.numbers("y")?);
        let weights = if input.has("weights") { Some(input.numbers("weights")?) } else { None };
        let fit = isotonic(&x, &y, weights.as_deref()).map_err(|why| match why {
            BadIsotonic::Lengths { x, y, .. } if x != y => {
                Fault::inconsistent(input.path_of("y"), format!("y has {y} values and x has {x}"))
            }
            BadIsotonic::Lengths { x, weights, .. } => Fault::inconsistent(
                input.path_of("weights"),
                format!("weights has {weights} values and x has {x}"),
            ),
            BadIsotonic::Value { list, place, .. } => of_list(list, place, &why),
            BadIsotonic::Weight { place, .. } => of_list("weights", place, &why),
        })?;
        Ok(Answer::new().with("fit", fit))
    },
};

pub(crate) static FRONTIER: Calculation = Calculation {
    name: "frontier",
    title: "who gives as much for as little money, and who is beaten by whom",
    input: Keys::plain(&[POINTS]),
    output: &[
        needed(
            "members",
            Shape::List { of: &INDEX, min: 1, max: MOST },
            "",
            "places of those whom nobody beats, from 0",
        ),
        needed(
            "beaten_by",
            Shape::List { of: &INDICES, min: 1, max: MOST },
            "",
            "for each product the places of all that beat it",
        ),
        needed(
            "efficiency",
            Shape::List { of: &Shape::ANY, min: 1, max: MOST },
            "",
            "the least price of a product at least as good, over the own price",
        ),
    ],
    formula: "j beats i: price_j ≤ price_i and index_j ≥ index_i, one of them strictly
        efficiency_i = min{price_j : index_j ≥ index_i}/price_i",
    valid: "weak evidence alone: of n products with unrelated price and index, 1 + 1/2 + … + 1/n are beaten by nobody; \
        prices and indices are compared at a millionth",
    source: "D. Deprins, L. Simar, H. Tulkens, 1984 (free disposal hull); J. L. Bentley, H. T. Kung, M. Schkolnick, \
        C. D. Thompson, Journal of the ACM 25 (1978) 536-543",
    example: r#"{"points": [[129, 52.45], [149, 52.25], [199, 69.95], [229, 68.2]]}"#,
    run: |input| {
        let mut offers = Vec::new();
        for (place, (price, index)) in (1..).zip(points(input)?) {
            let score =
                Interval::new(index, index).map_err(|why| of_list("points", place, &why))?;
            offers.push(Offer::new(price, score).map_err(|why| of_list("points", place, &why))?);
        }
        let found = frontier(&offers);
        Ok(Answer::new()
            .with("members", places(&found.members))
            .with("beaten_by", found.beaten_by.iter().map(|it| places(it)).collect::<Vec<_>>())
            .with("efficiency", found.efficiency))
    },
};
