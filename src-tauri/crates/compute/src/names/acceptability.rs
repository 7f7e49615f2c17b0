//! How often each product takes each rank, over draws of weights.

use standing::acceptability::acceptability;
use standing::profile::Profile;
use standing::weighting::{BadWeighting, Weightings};

use crate::answer::Answer;
use crate::fault::Fault;
use crate::fields::NUMBERS;
use crate::input::Input;
use crate::scores::{SCORES, WEIGHTS_SHAPE, scores, shares};
use crate::shape::{Calculation, Choice, Keys, Shape, defaulted, needed, optional};
use crate::value::Value;

/// The largest seed: the largest whole number up to which JSON readers agree.
const SEED_MAX: i64 = (1 << 53) - 1;
/// The most scores that are drawn in one call, products by draws: some seconds.
const SCORES_MAX: usize = 50_000_000;
const DRAWS_MAX: usize = 1_000_000;
const MANY: usize = usize::MAX;

const COUNTS: Shape = Shape::List { of: &Shape::Integer(0, DRAWS_MAX as i64), min: 1, max: MANY };

pub(crate) static ACCEPTABILITY: Calculation = Calculation {
    name: "acceptability",
    title: "how often each product takes each rank, over draws of the weights",
    input: Keys {
        fields: &[
            SCORES,
            optional(
                "weights",
                Shape::Nullable(&WEIGHTS_SHAPE),
                "",
                "shares of the criteria, which sum to 1, to draw around; null: all weights alike",
            ),
            defaulted("kappa", Shape::POSITIVE, "", 40.0, "how closely the draws keep to weights"),
            defaulted(
                "draws",
                Shape::Integer(1, DRAWS_MAX as i64),
                "",
                10_000.0,
                "how many weights are drawn",
            ),
            defaulted("seed", Shape::Integer(0, SEED_MAX), "", 0.0, "sets the draws"),
            optional(
                "weight_draws",
                Shape::List { of: &WEIGHTS_SHAPE, min: 1, max: DRAWS_MAX },
                "",
                "a row a draw: shares of the criteria, which sum to 1; in place of the four above",
            ),
        ],
        choices: &[Choice { required: true, sets: &[&["weights"], &["weight_draws"]] }],
    },
    output: &[
        needed(
            "shared",
            Shape::List { of: &COUNTS, min: 1, max: MANY },
            "",
            "a row a product: draws with rank 1, 2, …; products that are level share the better rank",
        ),
        needed(
            "split",
            Shape::List { of: &NUMBERS, min: 1, max: MANY },
            "",
            "the same with ties split evenly over their places; rows and columns sum to the draws",
        ),
        needed(
            "central_weights",
            Shape::List { of: &Shape::Nullable(&NUMBERS), min: 1, max: MANY },
            "",
            "mean of the weights with which the product is first or joint first; null if never",
        ),
        needed(
            "pairwise",
            Shape::List { of: &COUNTS, min: 1, max: MANY },
            "",
            "draws in which the product of the row scores more than that of the column",
        ),
        needed("holistic", NUMBERS, "", "ranks (ties split) averaged, first worth 1 and last 0"),
    ],
    formula: "S = Σ wₖ·xₖ in whole millionths; rank = 1 + how many score more
        weights given: Dirichlet(kappa·weights), mean wₖ, variance wₖ·(1 − wₖ)/(kappa + 1)
        weights null: Dirichlet(1, …, 1)
        holistic = Σ (m − r)/(m − 1)·split_r/draws; 1 for a single product",
    valid: "scores from 0 to 100 that stand for the same kind of points in each criterion; a share \
        p of the draws is good to ±√(p·(1 − p)/draws)",
    source: "R. Lahdelma and P. Salminen, SMAA-2, Operations Research 49(3) 444-454, 2001; T. \
        Tervonen and R. Lahdelma, EJOR 178(2) 500-513, 2007",
    example: r#"{"scores": [[58, 82, 74, 69], [85, 73, 52, 80], [66, 60, 81, 47]], "weights": [0.3, 0.35, 0.25, 0.1], "draws": 1000}"#,
    run: |input| {
        let scores = scores(input)?;
        let weights = weights(input, scores.first().map_or(0, Vec::len))?;
        let (draws, most) = (weights.draws(), SCORES_MAX / scores.len());
        if draws > most {
            return Err(Fault::out_of_domain(
                "draws",
                format!("{draws} draws of {} products are too many; at most {most}", scores.len()),
            ));
        }
        answer(&scores, &weights)
    },
};

/// The draws of the weights, given or to be made.
fn weights(input: &Input, parts: usize) -> Result<Weightings, Fault> {
    let bad = |why: BadWeighting, field| Fault::inconsistent(field, why.to_string());
    if !input.has("weight_draws") {
        let (draws, seed) = (input.integer("draws")?, input.integer("seed")?);
        if input.is_null("weights") {
            return Weightings::uniform(parts, draws, seed).map_err(|why| bad(why, "weights"));
        }
        let given = input.numbers("weights")?;
        shares(&given, parts, "weights")?;
        return Weightings::around(&given, input.number("kappa")?, draws, seed)
            .map_err(|why| bad(why, "weights"));
    }
    if let Some(key) = ["kappa", "draws", "seed"].into_iter().find(|key| input.has(key)) {
        return Err(Fault::inconsistent(
            key,
            format!("weight_draws and {key} exclude each other; {key} belongs with weights"),
        ));
    }
    let rows = input.rows("weight_draws")?;
    for (at, row) in rows.iter().enumerate() {
        shares(row, parts, &format!("weight_draws[{at}]"))?;
    }
    Weightings::from_rows(&rows).map_err(|why| bad(why, "weight_draws"))
}

fn answer(scores: &[Vec<f64>], weights: &Weightings) -> Result<Answer, Fault> {
    let parts: Vec<Vec<Option<&[f64]>>> =
        scores.iter().map(|row| row.chunks(1).map(Some).collect()).collect();
    // Nothing is uncertain, so the keys, which order the finding draws, play no part.
    let profiles = parts
        .iter()
        .map(|it| Profile::new(it, 0, None))
        .collect::<Result<Vec<_>, _>>()
        .map_err(|why| Fault::out_of_domain("scores", why.to_string()))?;
    let it = acceptability(&profiles, weights, 1)
        .map_err(|why| Fault::out_of_domain("scores", why.to_string()))?;
    let n = it.n();
    let counts = |row: Vec<u32>| -> Value {
        row.into_iter().map(|it| Value::Integer(it.into())).collect::<Vec<_>>().into()
    };
    let shared: Vec<Value> = (0..n).map(|i| counts(it.shared(i).to_vec())).collect();
    let split: Vec<Value> = (0..n).map(|i| it.split(i).to_vec().into()).collect();
    let central: Vec<Value> = (0..n).map(|i| it.central(i).map(<[f64]>::to_vec).into()).collect();
    let pairwise: Vec<Value> = it.all_wins(1).chunks(n).map(|row| counts(row.to_vec())).collect();
    let holistic: Vec<f64> = (0..n).map(|i| it.holistic(i)).collect();
    Ok(Answer::new()
        .with("shared", shared)
        .with("split", split)
        .with("central_weights", central)
        .with("pairwise", pairwise)
        .with("holistic", holistic))
}
