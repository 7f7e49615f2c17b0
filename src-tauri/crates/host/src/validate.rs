//! Checks an answer against the manifest. The worker is not believed.

use std::collections::BTreeMap;

use bw_sdk::abi;
use bw_sdk::manifest::Manifest;
use wire::{Done, LogLine, MAX_LOG_BYTES, MAX_LOG_LINE_BYTES, MAX_REMARKS, Stage};

use crate::evaluation::RemarkAt;
use crate::fault::{FaultKind, Trouble};

/// An answer that obeys the rules.
#[derive(Debug, PartialEq)]
pub(crate) struct Checked {
    /// Scores row by row; those of bad rows are NaN.
    pub(crate) scores: Vec<f64>,
    pub(crate) remarks: Vec<RemarkAt>,
    pub(crate) log: Vec<LogLine>,
    /// Rows whose scores are not what the manifest says, with the first fault of each.
    pub(crate) bad_rows: BTreeMap<usize, Trouble>,
}

/// Checks the answer to a job of `n_rows` rows.
pub(crate) fn check(manifest: &Manifest, n_rows: usize, done: Done) -> Result<Checked, Trouble> {
    let log = check_log(done.log)?;
    if done.status != abi::OK {
        return Err(failure(done.stage, done.status, &log));
    }
    let n_criteria = manifest.criteria.len();
    if done.stage != Stage::Evaluate || done.scores.len() != n_rows * n_criteria {
        let text = format!(
            "answered with {} scores for {n_rows} rows of {n_criteria} criteria",
            done.scores.len()
        );
        return Err(bad(text));
    }
    if MAX_REMARKS < done.remarks.len() {
        return Err(bad(format!(
            "made {} remarks; the limit is {MAX_REMARKS}",
            done.remarks.len()
        )));
    }
    let remarks = done
        .remarks
        .into_iter()
        .map(|it| check_remark(manifest, n_rows, it))
        .collect::<Result<Vec<_>, _>>()?;
    let mut scores = done.scores;
    let mut bad_rows = BTreeMap::new();
    for (row, scores) in scores.chunks_mut(n_criteria).enumerate() {
        let wrong = scores
            .iter()
            .zip(&manifest.criteria)
            .find(|(score, criterion)| !criterion.accepts(**score));
        if let Some((score, criterion)) = wrong {
            let [low, high] =
                criterion.range.map(|end| end.map_or("no end".to_owned(), |it| it.to_string()));
            let whole = if criterion.is_choice() { " in whole numbers" } else { "" };
            let text = format!(
                "scored `{}` with {score:?}, outside its range {low} to {high}{whole}",
                criterion.id
            );
            bad_rows.insert(row, bad(text));
            scores.fill(abi::NOT_SCORED);
        }
    }
    let remarks = remarks.into_iter().filter(|it| !bad_rows.contains_key(&it.row)).collect();
    Ok(Checked { scores, remarks, log, bad_rows })
}

fn failure(stage: Stage, status: i32, log: &[LogLine]) -> Trouble {
    let reason = log.iter().rev().find(|line| line.level == abi::LOG_ERROR);
    let reason = reason
        .map_or_else(|| format!("status {status}, no reason given"), |line| line.text.clone());
    match (stage, status) {
        (Stage::Create, _) => {
            Trouble::new(FaultKind::Input, format!("did not take its parameters: {reason}"))
        }
        (_, abi::E_INPUT) => {
            Trouble::new(FaultKind::Input, format!("did not take its inputs: {reason}"))
        }
        (_, abi::E_STOPPED) => {
            Trouble::new(FaultKind::Timeout, "did not finish in time and stopped when asked")
        }
        (_, abi::E_PANIC) => {
            Trouble::new(FaultKind::Failed, format!("failed with a bug of its own: {reason}"))
        }
        _ => Trouble::new(FaultKind::Failed, format!("failed: {reason}")),
    }
}

fn check_log(log: Vec<LogLine>) -> Result<Vec<LogLine>, Trouble> {
    // The worker may add one line of its own, and always finds room for the last error.
    let longest = MAX_LOG_BYTES + 2 * MAX_LOG_LINE_BYTES;
    let bytes: usize = log.iter().map(|line| line.text.len()).sum();
    if longest < bytes || log.iter().any(|line| MAX_LOG_LINE_BYTES < line.text.len()) {
        return Err(bad(format!("logged {bytes} bytes, more than the worker passes on")));
    }
    let plain = |c: char| if c.is_control() && c != '\n' && c != '\t' { ' ' } else { c };
    let clean = |line: LogLine| LogLine { text: line.text.chars().map(plain).collect(), ..line };
    Ok(log.into_iter().map(clean).collect())
}

fn check_remark(
    manifest: &Manifest,
    n_rows: usize,
    remark: wire::Remark,
) -> Result<RemarkAt, Trouble> {
    let (row, code) = (remark.row as usize, remark.code as usize);
    let Some(declared) = manifest.remarks.get(code) else {
        return Err(bad(format!(
            "made remark {code}; the manifest has {}",
            manifest.remarks.len()
        )));
    };
    if n_rows <= row {
        return Err(bad(format!("made remark `{}` about row {row} of {n_rows}", declared.code)));
    }
    if remark.args.len() != declared.args.len() {
        let (wanted, got) = (declared.args.len(), remark.args.len());
        return Err(bad(format!(
            "made remark `{}` with {got} numbers instead of {wanted}",
            declared.code
        )));
    }
    Ok(RemarkAt { row, code, args: remark.args })
}

fn bad(text: String) -> Trouble {
    Trouble::new(FaultKind::BadReply, text)
}
