//! What is asked of a plugin and what comes back.

use std::ops::Range;

use bw_sdk::abi;
use bw_sdk::manifest::{InputKind, Manifest};
use wire::LogLine;

use crate::fault::{Fault, FaultKind, Trouble};

/// Rows to score.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evaluate {
    /// Values of the parameters, in the order of the manifest.
    pub params: Vec<f64>,
    /// Number of rows.
    pub n_rows: usize,
    /// Inputs in the order of the manifest.
    pub inputs: Vec<Input>,
}

/// One input for all rows, in the unit of the manifest. Missing is NaN.
#[derive(Debug, Clone, PartialEq)]
pub enum Input {
    /// One value a row.
    Scalar(Vec<f64>),
    /// Values over a grid that all rows share.
    Curve {
        /// Abscissae; empty when the curve is missing.
        grid: Vec<f64>,
        /// As many values as `grid`, row by row.
        values: Vec<f64>,
    },
}

impl Input {
    /// The values of some rows.
    pub(crate) fn of_rows(&self, rows: &Range<usize>) -> &[f64] {
        match self {
            Input::Scalar(values) => &values[rows.clone()],
            Input::Curve { grid, values } => {
                &values[rows.start * grid.len()..rows.end * grid.len()]
            }
        }
    }
}

/// One call to a worker.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Call {
    /// Its number.
    pub(crate) job: u64,
    /// How long the worker may compute.
    pub(crate) deadline_ms: u64,
    /// The half of the shared memory that inputs and scores go through, if any.
    pub(crate) half: Option<u32>,
    /// Whether remarks are wanted.
    pub(crate) remarks: bool,
}

/// What came back.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluation {
    /// Number of rows.
    pub n_rows: usize,
    /// Number of criteria.
    pub n_criteria: usize,
    /// Measures row by row, inside the declared range; NaN where not scored, negative infinity where not applicable.
    pub scores: Vec<f64>,
    /// Remarks, by row.
    pub remarks: Vec<RemarkAt>,
    /// What the plugin logged.
    pub log: Vec<LogLine>,
    /// Rows that could not be scored; their scores are NaN.
    pub row_faults: Vec<RowFault>,
    /// Faults on the way that were overcome, in the order they came: the rows were scored by a fresh worker.
    pub incidents: Vec<Fault>,
}

/// A remark about a row.
#[derive(Debug, Clone, PartialEq)]
pub struct RemarkAt {
    /// The row.
    pub row: usize,
    /// Index into the remarks of the manifest.
    pub code: usize,
    /// Numbers for its text, as many as the manifest says.
    pub args: Vec<f64>,
}

/// A row that could not be scored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowFault {
    /// The row.
    pub row: usize,
    /// Why.
    pub fault: Fault,
}

impl Evaluation {
    /// The measure of a criterion for a row.
    #[must_use]
    pub fn score(&self, row: usize, criterion: usize) -> Option<f64> {
        let inside = row < self.n_rows && criterion < self.n_criteria;
        inside.then(|| self.scores[row * self.n_criteria + criterion])
    }
}

impl Evaluate {
    /// Checks what is asked against the manifest.
    pub(crate) fn check(&self, manifest: &Manifest) -> Result<(), Trouble> {
        let wrong = |text: String| Err(Trouble::new(FaultKind::Input, text));
        if self.params.len() != manifest.params.len() {
            return wrong(format!(
                "wants {} parameters, got {}",
                manifest.params.len(),
                self.params.len()
            ));
        }
        for (param, &value) in manifest.params.iter().zip(&self.params) {
            if !(param.min..=param.max).contains(&value) {
                let (id, min, max) = (&param.id, param.min, param.max);
                return wrong(format!("parameter `{id}` is {value}, outside {min}..{max}"));
            }
        }
        if self.inputs.len() != manifest.inputs.len() {
            return wrong(format!(
                "wants {} inputs, got {}",
                manifest.inputs.len(),
                self.inputs.len()
            ));
        }
        for (declared, given) in manifest.inputs.iter().zip(&self.inputs) {
            let wanted = match (given, declared.kind) {
                (Input::Curve { grid, .. }, InputKind::Curve) => {
                    grid.len().checked_mul(self.n_rows)
                }
                (Input::Scalar(_), kind) if kind != InputKind::Curve => Some(self.n_rows),
                _ => {
                    return wrong(format!(
                        "input `{}` is {:?} in the manifest",
                        declared.id, declared.kind
                    ));
                }
            };
            let (Input::Scalar(values) | Input::Curve { values, .. }) = given;
            if wanted != Some(values.len()) {
                return wrong(format!(
                    "input `{}` has {} values for {} rows",
                    declared.id,
                    values.len(),
                    self.n_rows
                ));
            }
        }
        Ok(())
    }

    /// Bytes of the inputs of one row.
    pub(crate) fn row_bytes(&self) -> usize {
        let numbers = self.inputs.iter().map(|input| match input {
            Input::Scalar(_) => 1,
            Input::Curve { grid, .. } => grid.len(),
        });
        size_of::<f64>() * numbers.sum::<usize>()
    }

    /// Some of the rows as a message. What is asked was checked.
    pub(crate) fn rows(
        &self,
        manifest: &Manifest,
        rows: Range<usize>,
        call: &Call,
    ) -> wire::Evaluate {
        let inputs =
            self.inputs.iter().zip(&manifest.inputs).map(|(input, declared)| match input {
                Input::Scalar(_) => (kind(declared.kind), Vec::new(), input),
                Input::Curve { grid, .. } => (abi::KIND_CURVE, grid.clone(), input),
            });
        let inputs = inputs.map(|(kind, grid, input)| {
            let values =
                if call.half.is_some() { Vec::new() } else { input.of_rows(&rows).to_vec() };
            wire::Input { kind, grid, values }
        });
        wire::Evaluate {
            job: call.job,
            params: self.params.clone(),
            n_rows: u32::try_from(rows.len()).unwrap_or(u32::MAX),
            n_criteria: u32::try_from(manifest.criteria.len()).unwrap_or(u32::MAX),
            inputs: inputs.collect(),
            deadline_ms: call.deadline_ms,
            half: call.half,
            remarks: call.remarks,
        }
    }
}

fn kind(kind: InputKind) -> u32 {
    match kind {
        InputKind::Number => abi::KIND_NUMBER,
        InputKind::Choice => abi::KIND_CHOICE,
        InputKind::Count => abi::KIND_COUNT,
        InputKind::Bool => abi::KIND_BOOL,
        InputKind::Curve => abi::KIND_CURVE,
    }
}
