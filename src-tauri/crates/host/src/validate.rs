//! Checks an answer against the manifest. The worker is not believed.

use std::collections::BTreeMap;
use std::mem;

use bw_sdk::abi;
use bw_sdk::manifest::Manifest;
use wire::{Done, LogLine, MAX_LOG_BYTES, MAX_LOG_LINE_BYTES, MAX_REMARKS, Stage};

use crate::evaluation::RemarkAt;
use crate::fault::{Fault, FaultKind, Trouble};

/// What a plugin said beside its scores, and how it ended.
#[derive(Debug, PartialEq)]
pub(crate) struct Said {
    pub(crate) remarks: Vec<RemarkAt>,
    pub(crate) log: Vec<LogLine>,
}

/// Checks an answer as a [`Host`](crate::Host) does before it believes it.
///
/// # Errors
/// The first fault: of the answer as a whole, or of one of its rows.
pub fn check_answer(manifest: &Manifest, n_rows: usize, done: Done) -> Result<(), Fault> {
    let fault = match check(manifest, n_rows, done) {
        Ok(bad_rows) => bad_rows.into_values().next(),
        Err(trouble) => Some(trouble),
    };
    fault.map_or(Ok(()), |it| Err(it.of(&manifest.id)))
}

/// Checks all of an answer to a job of `n_rows` rows, and gives the first fault of each bad row.
fn check(
    manifest: &Manifest,
    n_rows: usize,
    mut done: Done,
) -> Result<BTreeMap<usize, Trouble>, Trouble> {
    let mut scores = mem::take(&mut done.scores);
    said(manifest, n_rows, done)?;
    count(manifest, n_rows, scores.len())?;
    Ok(Limits::of(manifest).bad_rows(&mut scores))
}

/// Checks the answer to a job of `n_rows` rows, all but its scores.
pub(crate) fn said(manifest: &Manifest, n_rows: usize, done: Done) -> Result<Said, Trouble> {
    let log = check_log(done.log)?;
    if done.status != abi::OK {
        return Err(failure(done.stage, done.status, &log));
    }
    if done.stage != Stage::Evaluate {
        return Err(bad("answered with an instance instead of scores".to_owned()));
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
        .collect::<Result<_, _>>()?;
    Ok(Said { remarks, log })
}

/// Checks the number of scores in a message.
pub(crate) fn count(manifest: &Manifest, n_rows: usize, n_scores: usize) -> Result<(), Trouble> {
    let n_criteria = manifest.criteria.len();
    if n_scores == n_rows * n_criteria {
        return Ok(());
    }
    Err(bad(format!("answered with {n_scores} scores for {n_rows} rows of {n_criteria} criteria")))
}

/// The ranges of a manifest, laid out for very many rows.
#[derive(Debug)]
pub(crate) struct Limits<'a> {
    manifest: &'a Manifest,
    ranges: Vec<Range>,
}

#[derive(Debug, Clone, Copy)]
struct Range {
    low: f64,
    high: f64,
    is_choice: bool,
}

impl Range {
    /// As [`Criterion::accepts`](bw_sdk::manifest::Criterion::accepts), in numbers alone.
    fn holds(&self, score: f64) -> bool {
        let inside = (self.low <= score) & (score <= self.high);
        (inside && (!self.is_choice || score.fract() == 0.0))
            || score.is_nan()
            || score == abi::NOT_APPLICABLE
    }
}

impl<'a> Limits<'a> {
    pub(crate) fn of(manifest: &'a Manifest) -> Limits<'a> {
        let ranges = manifest.criteria.iter().map(|it| Range {
            // The ends that are left stand for all finite numbers.
            low: it.range[0].unwrap_or(f64::MIN),
            high: it.range[1].unwrap_or(f64::MAX),
            is_choice: it.is_choice(),
        });
        Limits { manifest, ranges: ranges.collect() }
    }

    /// Finds rows whose scores are not what the manifest says, with the first fault of each, and takes their scores away.
    pub(crate) fn bad_rows(&self, scores: &mut [f64]) -> BTreeMap<usize, Trouble> {
        let mut bad_rows = BTreeMap::new();
        for (row, scores) in scores.chunks_exact_mut(self.ranges.len().max(1)).enumerate() {
            if scores.iter().zip(&self.ranges).all(|(score, range)| range.holds(*score)) {
                continue;
            }
            if let Some(trouble) = self.fault(scores) {
                bad_rows.insert(row, trouble);
                scores.fill(abi::NOT_SCORED);
            }
        }
        bad_rows
    }

    /// The fault of a row.
    fn fault(&self, scores: &[f64]) -> Option<Trouble> {
        let wrong = scores.iter().zip(&self.manifest.criteria);
        let (score, criterion) = wrong.into_iter().find(|(score, it)| !it.accepts(**score))?;
        let [low, high] =
            criterion.range.map(|end| end.map_or("no end".to_owned(), |it| it.to_string()));
        let whole = if criterion.is_choice() { " in whole numbers" } else { "" };
        Some(bad(format!(
            "scored `{}` with {score:?}, outside its range {low} to {high}{whole}",
            criterion.id
        )))
    }
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
