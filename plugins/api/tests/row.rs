//! Tests of the layer for plugins that score row by row.

#![expect(clippy::float_cmp, reason = "values pass through unchanged")]

use bw_sdk::testing::{self, Curve, run_with_curves};
use bw_sdk::{Row, RowScorer, RowSink, abi, places};

places! {
    /// Inputs.
    input { X = "x", KIND = "kind", SEEN = "seen", CURVE = "curve" }
    /// Parameters.
    param { LIMIT = "limit", SHARE = "share" }
    /// Criteria.
    criterion { X = "x", KIND = "kind", SUM = "sum" }
    /// Remarks.
    remark { HIGH = "high" }
}

struct Echo {
    params: [f64; param::IDS.len()],
}

impl RowScorer for Echo {
    const MANIFEST: &'static str = r#"{
        "abi": {"major": 1, "minor": 0}, "id": "org.example.rows", "subsystem": "rows", "version": "1.0.0",
        "name": "Rows", "vendor": "Example", "licence": "MIT", "rubric": "rows 1",
        "inputs": [{"id": "x", "kind": "number"}, {"id": "kind", "kind": "choice", "choices": ["a", "b"]},
                   {"id": "seen", "kind": "bool"}, {"id": "curve", "kind": "curve", "x_unit": "Hz"}],
        "params": [{"id": "limit", "unit": "1", "default": 10, "min": 0, "max": 100},
                   {"id": "share", "unit": "1", "default": 0.5, "min": 0, "max": 1}],
        "criteria": [{"id": "x", "title": "X", "unit": "1", "better": "higher", "range": [0, null], "weight": 1,
            "inputs": ["x"], "utility": {"scale": "linear", "points": [[0, 0], [1, 100]]}, "doc": "x", "source": "editorial"},
            {"id": "kind", "title": "Kind", "unit": "1", "better": "higher", "range": [0, 1], "weight": 1,
            "inputs": ["kind"], "utility": {"scale": "choice", "points": {"a": 0, "b": 100}}, "doc": "k", "source": "editorial"},
            {"id": "sum", "title": "Sum", "unit": "1", "better": "higher", "range": [0, 100], "weight": 1,
            "inputs": ["curve"], "doc": "Sum of the curve.", "source": "editorial"}],
        "remarks": [{"code": "high", "severity": "info", "text": "{0} is above {1}",
            "args": [{"id": "x", "unit": "1"}, {"id": "limit", "unit": "1"}]}],
        "batch": "independent", "deterministic": true
    }"#;

    fn new(params: &[f64]) -> Result<Self, String> {
        Ok(Echo { params: bw_sdk::params(params)? })
    }

    fn row(&self, row: &Row<'_>, out: &mut RowSink<'_, '_>) {
        let share = self.params[param::SHARE];
        out.score(criterion::X, row.number(input::X).map(|x| x * share));
        let seen = row.flag(input::SEEN).unwrap_or(true);
        let kind = row.choice(input::KIND).map(|it| it as f64);
        out.score(criterion::KIND, if seen { kind } else { Some(abi::NOT_APPLICABLE) });
        out.score(criterion::SUM, row.curve(input::CURVE).map(|(_, values)| values.iter().sum()));
        if let Some(x) = row.number(input::X).filter(|&it| it > self.params[param::LIMIT]) {
            out.remark(remark::HIGH, &[x, self.params[param::LIMIT]]);
        }
    }
}

#[test]
fn places_are_held_against_the_manifest() {
    testing::places::<Echo>(input::IDS, param::IDS, criterion::IDS, remark::IDS);
}

#[test]
#[should_panic(expected = "params named in the code")]
fn a_list_that_differs_is_noticed() {
    testing::places::<Echo>(input::IDS, &["share", "limit"], criterion::IDS, remark::IDS);
}

#[test]
fn measures_and_remarks_come_back() {
    let outcome = testing::one::<Echo>(&[("x", 12.0), testing::choice::<Echo>("kind", "b")]);
    assert_eq!(outcome.scores[0][..2], [6.0, 1.0]);
    assert_eq!(outcome.remarks[0].text, "12 is above 10");
    assert_eq!(testing::param::<Echo>("share"), 0.5);
    let unseen = testing::one::<Echo>(&[("seen", 0.0)]);
    assert_eq!(unseen.score(0, "kind"), abi::NOT_APPLICABLE);
}

#[test]
fn an_infinity_and_a_gap_in_a_curve_are_missing() {
    let curve = Curve { input: "curve", grid: &[1.0, 2.0], rows: &[&[1.0, 2.0], &[3.0, f64::NAN]] };
    let rows: &[&[(&str, f64)]] = &[&[("x", f64::NEG_INFINITY)], &[]];
    let outcome = run_with_curves::<Echo>(&[10.0, 0.5], rows, &[curve]).unwrap();
    assert!(outcome.score(0, "x").is_nan());
    assert_eq!(outcome.score(0, "sum"), 3.0);
    assert!(outcome.score(1, "sum").is_nan());
}

#[test]
fn parameters_are_counted() {
    let error = testing::run::<Echo>(&[1.0], &[]).unwrap_err();
    assert!(error.contains("wants 2 parameters, got 1"), "{error}");
}
