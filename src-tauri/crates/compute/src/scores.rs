//! What the statistics of a band read: points of products, and weights that are shares.

use crate::fault::Fault;
use crate::input::Input;
use crate::shape::{Field, Range, Shape, needed};
use crate::value::joined;

/// The most products of one call.
pub(crate) const PRODUCTS_MAX: usize = 10_000;
/// The most criteria of one call.
pub(crate) const CRITERIA_MAX: usize = 200;

/// Points.
pub(crate) const SCORE: Shape = Shape::Number(Range::Closed(0.0, 100.0));

const ROW: Shape = Shape::List { of: &SCORE, min: 1, max: CRITERIA_MAX };

/// Points of several products.
pub(crate) const SCORES: Field = needed(
    "scores",
    Shape::List { of: &ROW, min: 1, max: PRODUCTS_MAX },
    "points",
    "one list a product, one number a criterion",
);

/// Weights as the check sees them; that they are shares is for [`shares`] to say, since several must go together.
pub(crate) const WEIGHTS_SHAPE: Shape = Shape::List { of: &Shape::ANY, min: 1, max: CRITERIA_MAX };

/// Weights that must be given.
pub(crate) const WEIGHTS: Field =
    needed("weights", WEIGHTS_SHAPE, "", "one a criterion, at least 0, summing to 1 within 1e-9");

/// Reads [`SCORES`]; all lists are of one length.
///
/// # Errors
/// `inconsistent` naming the first list of another length.
pub(crate) fn scores(input: &Input) -> Result<Vec<Vec<f64>>, Fault> {
    let rows = input.rows(SCORES.key)?;
    let wanted = rows.first().map_or(0, Vec::len);
    match rows.iter().position(|row| row.len() != wanted) {
        Some(at) => Err(Fault::inconsistent(
            joined(&input.path_of(SCORES.key), &format!("[{at}]")),
            format!("a list of {} stands where the first has {wanted}", rows[at].len()),
        )),
        None => Ok(rows),
    }
}

/// Weights for as many criteria as there are. Nothing is rescaled: the sum shows a weight that was mistyped.
///
/// # Errors
/// `inconsistent` naming `path` for another number of weights or a sum that is not 1 within 1e-9, and the weight
/// below 0.
pub(crate) fn shares(weights: &[f64], wanted: usize, path: &str) -> Result<(), Fault> {
    if weights.len() != wanted {
        return Err(Fault::inconsistent(
            path,
            format!("a list of {} stands where {wanted} are needed", weights.len()),
        ));
    }
    if let Some(at) = weights.iter().position(|it| *it < 0.0) {
        return Err(Fault::inconsistent(
            joined(path, &format!("[{at}]")),
            format!("{} stands where a weight from 0 up is needed", weights[at]),
        ));
    }
    let sum: f64 = weights.iter().sum();
    if (sum - 1.0).abs() > 1e-9 {
        return Err(Fault::inconsistent(
            path,
            format!("the weights sum to {sum}; they must sum to 1 within 1e-9"),
        ));
    }
    Ok(())
}
