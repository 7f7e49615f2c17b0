//! Runs a [`Scorer`] inside a unit test, through the same C functions the worker calls, without a library or a process.
//!
//! What the host would refuse is refused here too, so that a plugin's own tests find it first. [`one`] scores a row,
//! [`run`] several, [`run_with_curves`] also curves; [`places`] holds the names in the code against the manifest.

use std::ffi::c_void;
use std::{ptr, slice};

use super::{Scorer, table};
use crate::abi;
use crate::manifest::{InputKind, Manifest, render};

/// What a run gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Measures, one list per row in the order of the criteria and in their units.
    pub scores: Vec<Vec<f64>>,
    /// Remarks in the order they were made.
    pub remarks: Vec<Said>,
    /// Log texts.
    pub log: Vec<String>,
    manifest: Manifest,
}

/// A remark about a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// The row.
    pub row: usize,
    /// Its code in the manifest.
    pub code: String,
    /// Its numbers.
    pub args: Vec<f64>,
    /// Its text for people.
    pub text: String,
}

/// A curve for all rows.
#[derive(Debug, Clone, Copy)]
pub struct Curve<'a> {
    /// Id of the input.
    pub input: &'a str,
    /// Abscissae, in the `x_unit` of the manifest.
    pub grid: &'a [f64],
    /// Values, one list per row, in the `unit` of the manifest.
    pub rows: &'a [&'a [f64]],
}

impl Outcome {
    /// The measure of a criterion for a row.
    ///
    /// # Panics
    /// When there is no such criterion or row: the test is wrong.
    #[must_use]
    pub fn score(&self, row: usize, criterion: &str) -> f64 {
        let index = self.manifest.criterion_index(criterion);
        let Some(index) = index else { panic!("no criterion `{criterion}` in the manifest") };
        self.scores[row][index]
    }

    /// Codes of the remarks about a row.
    #[must_use]
    pub fn codes(&self, row: usize) -> Vec<&str> {
        self.remarks.iter().filter(|it| it.row == row).map(|it| it.code.as_str()).collect()
    }
}

/// Scores rows of scalars: pairs of an input's id and its number, in the unit of the manifest, with a choice as its index
/// (see [`choice`]) and yes or no as 1 or 0. Inputs that a row does not name are missing.
///
/// # Errors
/// The manifest's fault, the plugin's own refusal or panic, or what the host would refuse in its answer.
pub fn run<S: Scorer>(params: &[f64], rows: &[&[(&str, f64)]]) -> Result<Outcome, String> {
    run_with_curves::<S>(params, rows, &[])
}

/// Scores one row of scalars with the parameters' defaults.
///
/// # Panics
/// When [`run`] refuses, with its text: the test has failed.
#[must_use]
pub fn one<S: Scorer>(row: &[(&str, f64)]) -> Outcome {
    let params = manifest::<S>().default_params();
    run::<S>(&params, &[row]).unwrap_or_else(|text| panic!("{text}"))
}

/// The manifest of a plugin.
///
/// # Panics
/// When it is refused, with the fault.
#[must_use]
pub fn manifest<S: Scorer>() -> Manifest {
    Manifest::parse(S::MANIFEST).unwrap_or_else(|error| panic!("{error}"))
}

/// A choice with the number that stands for a word.
///
/// # Panics
/// When there is no such input or word: the test is wrong.
#[must_use]
pub fn choice<'i, S: Scorer>(input: &'i str, word: &str) -> (&'i str, f64) {
    let manifest = manifest::<S>();
    let place = manifest.input_index(input).map(|it| &manifest.inputs[it].choices);
    let place = place.and_then(|it| it.iter().position(|it| it == word));
    match place {
        Some(it) => (input, it as f64),
        None => panic!("`{input}` has no choice `{word}`"),
    }
}

/// The default of a parameter.
///
/// # Panics
/// When there is no such parameter: the test is wrong.
#[must_use]
pub fn param<S: Scorer>(id: &str) -> f64 {
    let found = manifest::<S>().params.into_iter().find(|it| it.id == id);
    found.map_or_else(|| panic!("no parameter `{id}` in the manifest"), |it| it.default)
}

/// Holds the lists that [`places!`](crate::places) names against the manifest.
///
/// # Panics
/// When one differs.
pub fn places<S: Scorer>(inputs: &[&str], params: &[&str], criteria: &[&str], remarks: &[&str]) {
    let manifest = manifest::<S>();
    let same = |what: &str, named: &[&str], listed: Vec<&str>| {
        assert_eq!(named, listed, "{what} named in the code, and those of the manifest");
    };
    same("inputs", inputs, manifest.inputs.iter().map(|it| it.id.as_str()).collect());
    same("params", params, manifest.params.iter().map(|it| it.id.as_str()).collect());
    same("criteria", criteria, manifest.criteria.iter().map(|it| it.id.as_str()).collect());
    same("remarks", remarks, manifest.remarks.iter().map(|it| it.code.as_str()).collect());
}

/// Scores rows of scalars and curves. Inputs that are not named are missing; a missing curve has no points.
///
/// # Errors
/// As [`run`], and when a curve does not have as many rows as there are, or a row not as many points as the grid.
///
/// ```
/// use bw_sdk::{Row, RowScorer, RowSink};
/// use bw_sdk::testing::{Curve, run_with_curves};
///
/// /// The highest point of a curve.
/// struct Peak;
///
/// impl RowScorer for Peak {
///     const MANIFEST: &'static str = r#"{
///         "abi": {"major": 1, "minor": 0}, "id": "org.example.peak", "subsystem": "peak", "version": "1.0.0",
///         "name": "Peak", "vendor": "Example", "licence": "MIT", "rubric": "peak 1",
///         "inputs": [{"id": "impedance", "kind": "curve", "unit": "ohm", "x_unit": "Hz"}],
///         "criteria": [{"id": "peak", "title": "Peak", "unit": "ohm", "better": "lower", "range": [0, null],
///             "weight": 1, "inputs": ["impedance"],
///             "utility": {"scale": "log", "points": [[10, 100], [100, 0]]},
///             "doc": "The highest impedance.", "source": "editorial"}],
///         "batch": "independent", "deterministic": true
///     }"#;
///
///     fn new(_params: &[f64]) -> Result<Self, String> {
///         Ok(Peak)
///     }
///
///     fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
///         out.score(0, row.curve(0).map(|(_hz, ohm)| ohm.iter().copied().fold(0.0, f64::max)));
///     }
/// }
///
/// let curve = Curve { input: "impedance", grid: &[20.0, 200.0], rows: &[&[6.0, 24.0], &[8.0, f64::NAN]] };
/// let outcome = run_with_curves::<Peak>(&[], &[&[], &[]], &[curve]).unwrap();
/// assert_eq!(outcome.score(0, "peak"), 24.0);
/// assert!(outcome.score(1, "peak").is_nan());
/// ```
pub fn run_with_curves<S: Scorer>(
    params: &[f64],
    rows: &[&[(&str, f64)]],
    curves: &[Curve<'_>],
) -> Result<Outcome, String> {
    let manifest = Manifest::parse(S::MANIFEST).map_err(|error| error.to_string())?;
    let columns = columns(&manifest, rows, curves)?;
    let inputs: Vec<abi::Input> = columns.iter().map(Column::raw).collect();
    let pointers: Vec<*const abi::Input> = inputs.iter().map(ptr::from_ref).collect();
    let n_criteria = manifest.criteria.len();
    let mut scores = vec![abi::NOT_SCORED; rows.len() * n_criteria];
    let batch = abi::Batch {
        struct_size: abi::size_of_u32::<abi::Batch>(),
        n_inputs: u32::try_from(pointers.len()).map_err(|error| error.to_string())?,
        n_rows: rows.len(),
        n_criteria,
        inputs: pointers.as_ptr(),
        scores: scores.as_mut_ptr(),
    };
    let mut tape = Tape::default();
    call::<S>(params, &batch, &mut tape)?;
    let remarks = tape
        .remarks
        .iter()
        .map(|raw| said(&manifest, rows.len(), raw))
        .collect::<Result<_, _>>()?;
    for (i, &score) in scores.iter().enumerate() {
        in_range(&manifest, i % n_criteria, score)
            .map_err(|text| format!("row {}: {text}", i / n_criteria))?;
    }
    let scores = scores.chunks(n_criteria).map(<[f64]>::to_vec).collect();
    Ok(Outcome { scores, remarks, log: tape.log, manifest })
}

fn call<S: Scorer>(params: &[f64], batch: &abi::Batch, tape: &mut Tape) -> Result<(), String> {
    let plugin = table::<S>();
    let (Some(create), Some(destroy), Some(evaluate)) =
        (plugin.create, plugin.destroy, plugin.evaluate)
    else {
        return Err("the table lacks a function".to_owned());
    };
    let host = abi::Host {
        struct_size: abi::size_of_u32::<abi::Host>(),
        abi_major: abi::ABI_MAJOR,
        abi_minor: abi::ABI_MINOR,
        ctx: ptr::from_mut(tape).cast(),
        log: Some(log),
        remark: Some(remark),
        should_stop: None,
    };
    let mut this = ptr::null_mut();
    // SAFETY: all pointers are live, and `params` has the length given.
    let status = unsafe { create(&host, params.as_ptr(), params.len(), &mut this) };
    if status != abi::OK {
        return Err(format!("create gave status {status}: {}", tape.last_text()));
    }
    // SAFETY: `create` made `this`, and `batch` keeps the promises of the header.
    let status = unsafe { evaluate(this, &host, batch) };
    // SAFETY: `create` made `this`, and it is given back once.
    unsafe { destroy(this) };
    match status {
        abi::OK => Ok(()),
        _ => Err(format!("evaluate gave status {status}: {}", tape.last_text())),
    }
}

/// One input for all rows.
struct Column {
    kind: u32,
    grid: Vec<f64>,
    values: Vec<f64>,
}

impl Column {
    fn raw(&self) -> abi::Input {
        abi::Input {
            struct_size: abi::size_of_u32::<abi::Input>(),
            kind: self.kind,
            n_points: self.grid.len(),
            grid: self.grid.as_ptr(),
            values: self.values.as_ptr(),
        }
    }
}

fn columns(
    manifest: &Manifest,
    rows: &[&[(&str, f64)]],
    curves: &[Curve<'_>],
) -> Result<Vec<Column>, String> {
    let mut columns: Vec<Column> = manifest
        .inputs
        .iter()
        .map(|input| match input.kind {
            InputKind::Curve => {
                Column { kind: abi::KIND_CURVE, grid: Vec::new(), values: Vec::new() }
            }
            kind => Column {
                kind: raw_kind(kind),
                grid: Vec::new(),
                values: vec![f64::NAN; rows.len()],
            },
        })
        .collect();
    let find = |id: &str, is_curve: bool| match manifest.input_index(id) {
        Some(index) if (manifest.inputs[index].kind == InputKind::Curve) == is_curve => Ok(index),
        Some(_) if is_curve => Err(format!("`{id}` is not a curve")),
        Some(_) => Err(format!("`{id}` is a curve: use run_with_curves")),
        None => Err(format!("`{id}` is not an input of this plugin")),
    };
    for (row, values) in rows.iter().enumerate() {
        for &(id, value) in *values {
            columns[find(id, false)?].values[row] = value;
        }
    }
    for curve in curves {
        let column = &mut columns[find(curve.input, true)?];
        if curve.rows.len() != rows.len()
            || curve.rows.iter().any(|it| it.len() != curve.grid.len())
        {
            return Err(format!(
                "`{}` wants {} rows of {} points",
                curve.input,
                rows.len(),
                curve.grid.len()
            ));
        }
        column.grid = curve.grid.to_vec();
        column.values = curve.rows.concat();
    }
    Ok(columns)
}

fn raw_kind(kind: InputKind) -> u32 {
    match kind {
        InputKind::Number => abi::KIND_NUMBER,
        InputKind::Choice => abi::KIND_CHOICE,
        InputKind::Count => abi::KIND_COUNT,
        InputKind::Bool => abi::KIND_BOOL,
        InputKind::Curve => abi::KIND_CURVE,
    }
}

fn in_range(manifest: &Manifest, criterion: usize, score: f64) -> Result<(), String> {
    let criterion = &manifest.criteria[criterion];
    criterion.accepts(score).then_some(()).ok_or_else(|| {
        format!("{score} is outside the range {:?} of `{}`", criterion.range, criterion.id)
    })
}

fn said(manifest: &Manifest, n_rows: usize, raw: &(usize, u32, Vec<f64>)) -> Result<Said, String> {
    let (row, code, args) = raw;
    let remark = manifest
        .remarks
        .get(*code as usize)
        .ok_or_else(|| format!("no remark {code} in the manifest"))?;
    if n_rows <= *row {
        return Err(format!("remark `{}` is about row {row} of {n_rows}", remark.code));
    }
    if args.len() != remark.args.len() {
        return Err(format!(
            "remark `{}` wants {} numbers, got {}",
            remark.code,
            remark.args.len(),
            args.len()
        ));
    }
    Ok(Said {
        row: *row,
        code: remark.code.clone(),
        args: args.clone(),
        text: render(&remark.text, args),
    })
}

/// What the callbacks wrote down.
#[derive(Default)]
struct Tape {
    remarks: Vec<(usize, u32, Vec<f64>)>,
    log: Vec<String>,
}

impl Tape {
    fn last_text(&self) -> &str {
        self.log.last().map_or("no reason given", String::as_str)
    }
}

unsafe extern "C" fn log(ctx: *mut c_void, _level: i32, text: abi::Str) {
    // SAFETY: `ctx` is the tape given to `call`, used by this thread alone; `text` is live during the call.
    let (tape, bytes) =
        unsafe { (&mut *ctx.cast::<Tape>(), slice::from_raw_parts(text.ptr, text.len)) };
    tape.log.push(String::from_utf8_lossy(bytes).into_owned());
}

unsafe extern "C" fn remark(ctx: *mut c_void, raw: *const abi::Remark) {
    // SAFETY: as in `log`; `Sink::remark` gives a live remark and its numbers.
    let (tape, raw, args) = unsafe {
        let raw = &*raw;
        (&mut *ctx.cast::<Tape>(), raw, slice::from_raw_parts(raw.args, raw.n_args))
    };
    tape.remarks.push((raw.row, raw.code, args.to_vec()));
}
