//! The calculations from outside: a name and JSON in, JSON out.
//!
//! A test named `chk_…` holds values computed with an independent tool (numpy, scipy, mpmath, sympy
//! or ngspice) from the inputs printed beside them; rows of a table or standard carry their source.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail like tests")]

use serde_json::{Value, json};

mod acceptability;
mod boxes;
mod cabinet;
mod compact;
mod corpus;
mod drivers;
mod fits;
mod json;
mod market;
mod networks;
mod ports;
mod random;
mod refusals;
mod robustness;
mod rules;
mod schemas;
mod statements;
mod wires;
mod worth;

/// Relative tolerance of a check value.
const REL: f64 = 1e-6;
/// Relative tolerance of a frequency that the reference found by optimisation.
const OPTIMISED: f64 = 1e-4;
/// Absolute tolerance of a level near 0 dB.
const DB: f64 = 1e-6;

/// A synthetic 6.5-inch-class woofer.
fn w1() -> Value {
    json!({"re": 5.6, "mms": 0.0142, "cms": 0.00098, "rms": 0.85, "bl": 6.1, "sd": 0.0133})
}

/// A synthetic 1-inch-class dome tweeter.
fn t1() -> Value {
    json!({"re": 5.4, "mms": 0.00030, "cms": 0.000104, "rms": 0.45, "bl": 2.6, "sd": 0.00075,
        "le": 0.05e-3})
}

/// The object with more keys, or with others in their place.
fn with(object: &Value, more: &Value) -> Value {
    let mut all = object.as_object().unwrap().clone();
    all.extend(more.as_object().unwrap().clone());
    Value::Object(all)
}

/// The answer to an input that must be accepted.
#[track_caller]
fn answer(name: &str, input: &Value) -> Value {
    let line = compute::run(name, input.to_string().as_bytes()).expect("accepted");
    assert!(!line.contains('\n'), "{line}");
    serde_json::from_str(&line).expect("one JSON value")
}

/// Code and field of the refusal of an input.
#[track_caller]
fn refusal(name: &str, input: &Value) -> (String, String) {
    text_refusal(name, input.to_string().as_bytes())
}

/// The same, of a text.
#[track_caller]
fn text_refusal(name: &str, input: &[u8]) -> (String, String) {
    let fault = compute::run(name, input).expect_err("refused");
    assert!(!fault.message.is_empty());
    let object: Value = serde_json::from_str(&fault.to_json()).unwrap();
    let keys: Vec<_> = object.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(keys.len(), 3, "{keys:?}");
    assert_eq!(object["message"], fault.message.as_str());
    let word = |key: &str| object[key].as_str().unwrap().to_owned();
    (word("code"), word("field"))
}

#[track_caller]
fn refused(name: &str, input: &Value, code: &str, field: &str) {
    assert_eq!(refusal(name, input), (code.to_owned(), field.to_owned()), "{name} {input}");
}

/// The number under a key, or under `key/index` or `key/key`.
#[track_caller]
fn number(answer: &Value, pointer: &str) -> f64 {
    let found = answer.pointer(&format!("/{pointer}"));
    found.and_then(Value::as_f64).unwrap_or_else(|| panic!("no number {pointer} in {answer}"))
}

/// Relative difference at most `tolerance`.
#[track_caller]
fn near(answer: &Value, pointer: &str, want: f64, tolerance: f64) {
    let got = number(answer, pointer);
    let miss = ((got - want) / want).abs();
    assert!(miss <= tolerance, "{pointer} {got} is not {want}: relative difference {miss:e}");
}

/// Absolute difference at most `tolerance`.
#[track_caller]
fn within(answer: &Value, pointer: &str, want: f64, tolerance: f64) {
    let got = number(answer, pointer);
    let miss = (got - want).abs();
    assert!(miss <= tolerance, "{pointer} {got} is not {want}: difference {miss:e}");
}

/// Several numbers at once.
#[track_caller]
fn all_near(answer: &Value, wanted: &[(&str, f64)]) {
    for (pointer, want) in wanted {
        near(answer, pointer, *want, REL);
    }
}
