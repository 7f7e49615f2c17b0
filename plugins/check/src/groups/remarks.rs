//! What is said about rows.

use bw_sdk::manifest::Manifest;
use host::{Done, MAX_REMARKS};

use super::{Checked, MANY_ROWS};
use crate::inputs::{Like, batch};
use crate::report::Verdict;
use crate::trial::{Stop, Trials};

/// What is said about plausible rows, some numbers missing.
fn said(trials: &Trials<'_>) -> Result<(Manifest, Done), Stop> {
    let mut trial = trials.open()?;
    let batch = batch(&trial.manifest, Like::Patchy, MANY_ROWS);
    let done = trial.score(&batch)?;
    Ok((trial.manifest, done))
}

/// Passed unless something is found.
fn unless(found: Option<String>) -> Verdict {
    found.map_or_else(Verdict::passed, Verdict::failed)
}

pub(super) fn codes(trials: &Trials<'_>) -> Checked {
    let (manifest, done) = said(trials)?;
    let declared = manifest.remarks.len();
    let wrong = done.remarks.iter().find(|it| declared <= it.code as usize);
    Ok(unless(wrong.map(|it| {
        format!("remark {} is made, the manifest has {declared}, counted from 0", it.code)
    })))
}

pub(super) fn numbers(trials: &Trials<'_>) -> Checked {
    let (manifest, done) = said(trials)?;
    let wrong = done.remarks.iter().find_map(|it| {
        let declared = manifest.remarks.get(it.code as usize)?;
        (declared.args.len() != it.args.len()).then_some((declared, it.args.len()))
    });
    Ok(unless(wrong.map(|(declared, found)| {
        let wanted = declared.args.len();
        format!(
            "`{}` comes with {found} numbers, its args in the manifest are {wanted}",
            declared.code
        )
    })))
}

pub(super) fn rows(trials: &Trials<'_>) -> Checked {
    let (_, done) = said(trials)?;
    let wrong = done.remarks.iter().find(|it| MANY_ROWS <= it.row as usize);
    Ok(unless(wrong.map(|it| {
        format!("a remark is about row {} of {MANY_ROWS}, counted from 0 in each call", it.row)
    })))
}

pub(super) fn order(trials: &Trials<'_>) -> Checked {
    let (_, done) = said(trials)?;
    let back = done.remarks.windows(2).find(|it| it[1].row < it[0].row);
    Ok(match back {
        None => Verdict::passed(),
        Some(it) => Verdict::warned(format!(
            "a remark about row {} comes after one about row {}: make them row by row, as they are read",
            it[1].row, it[0].row
        )),
    })
}

pub(super) fn count(trials: &Trials<'_>) -> Checked {
    let (_, done) = said(trials)?;
    Ok(unless((MAX_REMARKS <= done.remarks.len()).then(|| {
        format!("{MAX_REMARKS} remarks or more; the rest is dropped. Say it once a row, and only where it matters.")
    })))
}
