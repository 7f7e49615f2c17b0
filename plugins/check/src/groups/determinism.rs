//! Equal questions have equal answers, whatever was asked before or beside them.

use bw_sdk::manifest::BatchKind;
use host::{Done, Evaluate, Probe};

use super::{Checked, SOME_ROWS};
use crate::inputs::{Like, batch, blank, pick};
use crate::report::Verdict;
use crate::trial::{Stop, Trial, Trials};

/// A `relative` plugin adds up over rows, and a sum may depend on their order in the last digits.
const ROUNDING: f64 = 1e-9;

/// A worker and a batch, if the plugin promises equal answers at all.
fn begin<'a>(trials: &Trials<'a>) -> Result<(Trial<'a>, Evaluate), Stop> {
    let trial = trials.open()?;
    if !trial.manifest.deterministic {
        return Err(Verdict::skipped("the manifest says that it is not deterministic").into());
    }
    let batch = batch(&trial.manifest, Like::Patchy, SOME_ROWS);
    Ok((trial, batch))
}

/// As [`begin`], for a plugin whose rows stand alone.
fn begin_independent<'a>(trials: &Trials<'a>) -> Result<(Trial<'a>, Evaluate), Stop> {
    let (trial, batch) = begin(trials)?;
    match trial.manifest.batch {
        BatchKind::Independent => Ok((trial, batch)),
        BatchKind::Relative => {
            Err(Verdict::skipped("its rows are compared with each other").into())
        }
    }
}

/// Scores and remarks as bits. Any NaN is the same.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Bits {
    scores: Vec<u64>,
    remarks: Vec<(u32, u32, Vec<u64>)>,
}

fn bit(it: f64) -> u64 {
    if it.is_nan() { f64::NAN.to_bits() } else { it.to_bits() }
}

impl Bits {
    fn of(done: &Done) -> Self {
        let numbers = |of: &[f64]| of.iter().map(|it| bit(*it)).collect();
        let remarks = done.remarks.iter().map(|it| (it.row, it.code, numbers(&it.args)));
        Bits { scores: numbers(&done.scores), remarks: remarks.collect() }
    }

    /// The first row in which two answers differ.
    fn differ(&self, other: &Bits, n_criteria: usize) -> Option<usize> {
        if let Some(i) = self.scores.iter().zip(&other.scores).position(|(a, b)| a != b) {
            return Some(i / n_criteria);
        }
        let mut pairs = self.remarks.iter().zip(&other.remarks);
        let row = pairs.find(|(a, b)| a != b).map(|(a, b)| a.0.min(b.0));
        let short = self.remarks.len().min(other.remarks.len());
        let more = self.remarks.get(short).or_else(|| other.remarks.get(short));
        row.or_else(|| more.map(|it| it.0)).map(|it| it as usize)
    }
}

pub(super) fn repeatable(trials: &Trials<'_>) -> Checked {
    let (mut trial, batch) = begin(trials)?;
    let n_criteria = trial.manifest.criteria.len();
    let first = Bits::of(&trial.score(&batch)?);
    let again = Bits::of(&trial.score(&batch)?);
    if let Some(row) = first.differ(&again, n_criteria) {
        return Ok(Verdict::failed(format!(
            "row {row} is judged otherwise the second time: keep nothing from one call to the next, draw nothing at \
             random, or declare \"deterministic\": false"
        )));
    }
    let elsewhere = Bits::of(&trials.open()?.score(&batch)?);
    Ok(match first.differ(&elsewhere, n_criteria) {
        None => Verdict::passed(),
        Some(row) => Verdict::failed(format!(
            "row {row} is judged otherwise in another process: use no clock, address, process id or random number"
        )),
    })
}

pub(super) fn row_order(trials: &Trials<'_>) -> Checked {
    let (mut trial, batch) = begin(trials)?;
    let n_criteria = trial.manifest.criteria.len();
    let backwards: Vec<usize> = (0..SOME_ROWS).rev().collect();
    let straight = trial.score(&batch)?;
    let mut turned = trials.open()?.score(&pick(&batch, &backwards))?;
    let rows: Vec<&[f64]> = turned.scores.chunks(n_criteria).rev().collect();
    turned.scores = rows.concat();
    let advice = |row: usize| {
        Verdict::failed(format!(
            "row {row} is judged otherwise when the rows come in another order: use only the row's own inputs"
        ))
    };
    if trial.manifest.batch == BatchKind::Relative {
        let near =
            |a: f64, b: f64| bit(a) == bit(b) || (a - b).abs() <= ROUNDING * a.abs().max(1.0);
        let wrong = straight.scores.iter().zip(&turned.scores).position(|(a, b)| !near(*a, *b));
        return Ok(wrong.map_or_else(Verdict::passed, |i| advice(i / n_criteria)));
    }
    let last = u32::try_from(SOME_ROWS - 1).unwrap_or(u32::MAX);
    for it in &mut turned.remarks {
        it.row = last.saturating_sub(it.row);
    }
    let (mut straight, mut turned) = (Bits::of(&straight), Bits::of(&turned));
    straight.remarks.sort();
    turned.remarks.sort();
    Ok(straight.differ(&turned, n_criteria).map_or_else(Verdict::passed, advice))
}

pub(super) fn split_batch(trials: &Trials<'_>) -> Checked {
    let (mut trial, batch) = begin_independent(trials)?;
    let n_criteria = trial.manifest.criteria.len();
    let mut whole = Bits::of(&trial.score(&batch)?);
    // Parts of unequal length, so that the length has no chance to hide.
    let rows: Vec<usize> = (0..SOME_ROWS).collect();
    let (head, tail) = rows.split_at(SOME_ROWS / 3);
    let mut parts = trials.open()?.score(&pick(&batch, head))?;
    let mut rest = trials.open()?.score(&pick(&batch, tail))?;
    for it in &mut rest.remarks {
        it.row = it.row.saturating_add(u32::try_from(head.len()).unwrap_or(u32::MAX));
    }
    parts.scores.append(&mut rest.scores);
    parts.remarks.append(&mut rest.remarks);
    let mut parts = Bits::of(&parts);
    whole.remarks.sort();
    parts.remarks.sort();
    Ok(match whole.differ(&parts, n_criteria) {
        None => Verdict::passed(),
        Some(row) => Verdict::failed(format!(
            "row {row} is judged otherwise when the batch is split: use only the row's own inputs, or declare \
             \"batch\": \"relative\""
        )),
    })
}

pub(super) fn missing_row(trials: &Trials<'_>) -> Checked {
    let (mut trial, batch) = begin_independent(trials)?;
    let n_criteria = trial.manifest.criteria.len();
    let hole = SOME_ROWS / 2;
    // Rows without gaps, so that the one gap is all that changes.
    let batch = Evaluate {
        params: batch.params,
        ..self::batch(&trial.manifest, Like::Plausible, SOME_ROWS)
    };
    let mut holed = batch.clone();
    blank(&mut holed, hole);
    let without = |mut done: Done| {
        done.scores.drain(hole * n_criteria..(hole + 1) * n_criteria);
        done.remarks.retain(|it| it.row as usize != hole);
        Bits::of(&done)
    };
    let full = without(trial.score(&batch)?);
    let holed = without(trials.open()?.score(&holed)?);
    Ok(match full.differ(&holed, n_criteria) {
        None => Verdict::passed(),
        Some(_) => Verdict::failed(
            "other rows are judged otherwise when one row has no inputs: use only the row's own inputs, and let no \
             NaN into sums over rows",
        ),
    })
}

pub(super) fn instances_apart(trials: &Trials<'_>) -> Checked {
    let (mut trial, one) = begin(trials)?;
    let mut other = one.clone();
    for (value, declared) in other.params.iter_mut().zip(&trial.manifest.params) {
        // Between its default and the farther end, which other checks try.
        let (down, up) = (declared.min - *value, declared.max - *value);
        *value += if up < -down { down } else { up } / 3.0;
    }
    let alone = [Bits::of(&trials.open()?.score(&one)?), Bits::of(&trials.open()?.score(&other)?)];
    // Made one, made other, then each again beside the other.
    for (batch, alone) in [(&one, &alone[0]), (&other, &alone[1])].into_iter().cycle().take(4) {
        let beside = Bits::of(&trial.score(batch)?);
        if beside != *alone {
            return Ok(Verdict::failed(
                "an instance is judged otherwise while another one lives: keep all state behind self, none in static \
                 variables",
            ));
        }
        trial.probe(Probe::Swap)?;
    }
    Ok(Verdict::passed())
}
