//! Batches of all sizes and with all numbers.

use bw_sdk::manifest::Manifest;
use host::Done;

use super::{Checked, MANY_ROWS, SOME_ROWS};
use crate::inputs::{Like, batch};
use crate::report::Verdict;
use crate::trial::{Stop, Trials};

/// A batch of so many plausible rows, some numbers missing.
pub(super) fn rows(trials: &Trials<'_>, n_rows: usize) -> Checked {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, Like::Patchy, n_rows);
    trial.score(&batch)?;
    Ok(Verdict::passed())
}

pub(super) fn score_range(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    for like in [Like::Plausible, Like::Patchy] {
        let batch = batch(&trial.manifest, like, MANY_ROWS);
        let done = trial.score(&batch)?;
        if let Some(advice) = outside(&trial.manifest, &done) {
            return Ok(Verdict::failed(advice));
        }
    }
    Ok(Verdict::passed())
}

/// The first score outside its range, in words.
fn outside(manifest: &Manifest, done: &Done) -> Option<String> {
    let n_criteria = manifest.criteria.len();
    let numbered = done.scores.iter().enumerate();
    let (place, score) =
        numbered.into_iter().find(|(i, it)| !manifest.criteria[i % n_criteria].accepts(**it))?;
    let criterion = &manifest.criteria[place % n_criteria];
    let [low, high] = criterion.range.map(|it| it.map_or("no end".to_owned(), |it| it.to_string()));
    let whole = if criterion.is_choice() { ", in whole numbers" } else { "" };
    Some(format!(
        "row {} has {score:?} for `{}`, outside {low} to {high}{whole}: widen the range in the manifest, clamp the \
         measure, or leave it unscored",
        place / n_criteria,
        criterion.id
    ))
}

pub(super) fn criteria_scored(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, Like::Plausible, MANY_ROWS);
    let done = trial.score(&batch)?;
    let n_criteria = trial.manifest.criteria.len();
    let never: Vec<&str> = trial
        .manifest
        .criteria
        .iter()
        .enumerate()
        .filter(|(i, _)| done.scores.iter().skip(*i).step_by(n_criteria).all(|it| it.is_nan()))
        .map(|(_, it)| it.id.as_str())
        .collect();
    Ok(match never.is_empty() {
        true => Verdict::passed(),
        false => Verdict::warned(format!(
            "not scored in any of {MANY_ROWS} rows with all inputs given: {}. Score it, give BW_NOT_APPLICABLE, or \
             take the criterion out.",
            never.join(", ")
        )),
    })
}

/// Rows with such numbers, in which a host must find no fault.
pub(super) fn judged(trials: &Trials<'_>, like: Like) -> Checked {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, like, SOME_ROWS);
    match trial.judge(&batch) {
        Ok(_) => Ok(Verdict::passed()),
        Err(Stop::Verdict(mut verdict)) => {
            verdict.advice.push_str(" Leave a row unscored where its inputs make no sense.");
            Ok(verdict)
        }
        Err(other) => Err(other),
    }
}

/// As [`judged`], but a score outside its range is only warned of: such numbers come seldom, and cost one row its score.
pub(super) fn negative(trials: &Trials<'_>) -> Checked {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, Like::Negative, SOME_ROWS);
    let done = trial.score(&batch)?;
    Ok(outside(&trial.manifest, &done).map_or_else(Verdict::passed, Verdict::warned))
}
