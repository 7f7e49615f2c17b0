//! Tests of the safe layer, through the C functions that the worker calls.

#![expect(clippy::float_cmp, reason = "values pass through unchanged")]

use bw_sdk::testing::{Curve, run, run_with_curves};
use bw_sdk::{Batch, Level, Scorer, Sink, abi, export_plugins};

/// Echoes its first input, and misbehaves as the second one says.
struct Echo {
    limit: f64,
}

impl Scorer for Echo {
    const MANIFEST: &'static str = r#"{
        "abi": {"major": 1, "minor": 0}, "id": "org.example.echo", "subsystem": "echo", "version": "1.0.0",
        "name": "Echo", "vendor": "Example", "licence": "MIT", "rubric": "echo 1",
        "inputs": [{"id": "x", "kind": "number"}, {"id": "mode", "kind": "count"},
                   {"id": "kind", "kind": "choice", "choices": ["a", "b"]}, {"id": "seen", "kind": "bool"},
                   {"id": "curve", "kind": "curve", "x_unit": "Hz"}],
        "params": [{"id": "limit", "unit": "1", "default": 10, "min": 0, "max": 100}],
        "criteria": [{"id": "echo", "title": "Echo", "unit": "1", "better": "higher", "range": [0, 100],
            "weight": 1, "inputs": ["x"], "doc": "The input.", "source": "editorial"},
            {"id": "sum", "title": "Sum", "unit": "1", "better": "higher", "range": [0, 100],
            "weight": 1, "inputs": ["curve"], "doc": "Sum of the curve.", "source": "editorial"}],
        "remarks": [{"code": "high", "severity": "info", "text": "{0:.1} is above {1}",
            "args": [{"id": "x", "unit": "1"}, {"id": "limit", "unit": "1"}]}],
        "batch": "independent", "deterministic": true
    }"#;

    fn new(params: &[f64]) -> Result<Self, String> {
        let &[limit] = params else {
            return Err(format!("want 1 parameter, got {}", params.len()));
        };
        Ok(Echo { limit })
    }

    fn evaluate(&mut self, batch: &Batch<'_>, sink: &mut Sink<'_>) -> Result<(), String> {
        for row in 0..batch.n_rows {
            match batch.scalar(1, row) {
                Some(1.0) => panic!("row {row} is cursed"),
                Some(2.0) => return Err("cannot go on".to_owned()),
                Some(3.0) => sink.remark(row, 0, &[1.0]),
                Some(4.0) => sink.remark(row, 7, &[]),
                Some(5.0) => sink.not_applicable(row, 0),
                Some(6.0) => sink.score(row, 2, 0.0),
                _ => {}
            }
            let Some(x) = batch.scalar(0, row) else { continue };
            sink.score(row, 0, x);
            if self.limit < x {
                sink.remark(row, 0, &[x, self.limit]);
            }
            if !batch.inputs[4].grid.is_empty() {
                sink.score(row, 1, batch.inputs[4].row(row).iter().sum());
            }
            sink.log(Level::Info, &format!("{:?} {:?}", batch.choice(2, row), batch.flag(3, row)));
        }
        Ok(())
    }
}

export_plugins!(Echo);

#[test]
fn scores_and_remarks_come_back() {
    let rows: &[&[(&str, f64)]] =
        &[&[("x", 12.5), ("kind", 1.0), ("seen", 1.0)], &[("x", 3.0)], &[]];
    let outcome = run::<Echo>(&[10.0], rows).unwrap();
    assert_eq!(outcome.scores[0][0], 12.5);
    assert_eq!(outcome.score(1, "echo"), 3.0);
    assert!(outcome.score(2, "echo").is_nan());
    assert_eq!(outcome.codes(0), ["high"]);
    assert_eq!(outcome.remarks[0].text, "12.5 is above 10");
    assert_eq!(outcome.log, ["Some(1) Some(true)", "None None"]);
}

#[test]
fn curves_come_row_by_row() {
    let curve = Curve { input: "curve", grid: &[1.0, 2.0], rows: &[&[1.0, 2.0], &[3.0, 4.0]] };
    let outcome =
        run_with_curves::<Echo>(&[10.0], &[&[("x", 1.0)], &[("x", 1.0)]], &[curve]).unwrap();
    assert_eq!([outcome.score(0, "sum"), outcome.score(1, "sum")], [3.0, 7.0]);
}

#[test]
fn what_the_host_would_refuse_is_refused() {
    let cases: [(&[(&str, f64)], &str); 8] = [
        (&[("mode", 1.0)], "status -3: panic: row 0 is cursed"),
        (&[("mode", 2.0)], "status -4: cannot go on"),
        (&[("mode", 3.0)], "remark `high` wants 2 numbers, got 1"),
        (&[("mode", 4.0)], "no remark 7"),
        (&[("mode", 6.0)], "status -3: panic: no score 0, 2 in 1 x 2"),
        (&[("x", 101.0)], "101 is outside the range"),
        (&[("y", 1.0)], "`y` is not an input"),
        (&[("curve", 1.0)], "`curve` is a curve"),
    ];
    for (row, text) in cases {
        let error = run::<Echo>(&[10.0], &[row]).unwrap_err();
        assert!(error.contains(text), "{error}");
    }
    assert!(run::<Echo>(&[], &[]).unwrap_err().contains("status -1: want 1 parameter, got 0"));
    let outcome = run::<Echo>(&[10.0], &[&[("mode", 5.0)]]).unwrap();
    assert_eq!(outcome.score(0, "echo"), abi::NOT_APPLICABLE);
}

#[test]
fn exported_function_ends_with_null() {
    assert!(!bw_plugin_v1(0).is_null());
    assert!(bw_plugin_v1(1).is_null());
}
