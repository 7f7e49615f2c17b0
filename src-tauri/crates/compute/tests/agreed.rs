//! Results that tools from outside came to: ngspice for networks and boxes, scipy for sweeps and lowest
//! impedances, and for the statistics of catalogues also statsmodels, scikit-learn, pymcdm and cpi.
//!
//! `cargo xtask verify --write` makes the files, with versions and seed in their heads, and keeps a case
//! only if a second way of solving it agrees; `cargo xtask verify` solves all cases afresh.

use std::f64::consts::LN_10;

use serde_json::{Value, json};

/// Of complex voltages, impedances and the quantities of a box, relative.
const CIRCUIT: f64 = 1e-6;
/// Of the frequency of the lowest impedance: the minimum is flat.
const PLACE: f64 = 1e-4;
/// A voltage below this, for 1 V, is the difference of nearly equal ones.
const FLOOR: f64 = 1e-9;
/// Of a fitted parameter: the larger of this share of it and this share of its standard uncertainty.
const PARAMETER: f64 = 1e-5;
const PARAMETER_OF_U: f64 = 1e-3;
/// Of a standard uncertainty, relative.
const U: f64 = 1e-3;
/// Of the sum of squares, relative.
const RSS: f64 = 1e-6;
/// Of a correlation, absolute.
const CORRELATION: f64 = 1e-3;
/// Of a statistic: relative above 1, absolute below.
const STATISTIC: f64 = 1e-10;

/// Runs every case of a file and gives its name, what was agreed and what we say to `compare`, which
/// records each number with its deviation in tolerances.
fn compare_all(
    file: &str,
    least_cases: usize,
    compare: impl Fn(&Value, &Value, &mut dyn FnMut(String, f64)),
) {
    let file: Value = serde_json::from_str(file).expect("JSON");
    let cases = file["cases"].as_array().expect("cases");
    assert!(cases.len() >= least_cases, "{} cases", cases.len());
    let mut misses = Vec::new();
    for case in cases {
        let name = &case["name"];
        let input = case["input"].to_string();
        // A file is about one computation, or each case names its own.
        let computation = file.get("computation").unwrap_or(&case["computation"]);
        let computation = computation.as_str().expect("a name");
        let answer = match compute::run(computation, input.as_bytes()) {
            Ok(answer) => Ok(serde_json::from_str(&answer).expect("JSON")),
            Err(fault) if case["expected"].get("refused").is_some() => {
                Ok(json!({"refused": fault.code.word()}))
            }
            Err(fault) => Err(fault),
        };
        match answer {
            Err(fault) => misses.push(format!("{name}: refused: {fault:?}")),
            Ok(answer) => {
                let mut compared = 0;
                compare(&case["expected"], &answer, &mut |key, deviation| {
                    compared += 1;
                    // Written so that NaN is a miss.
                    if deviation.is_nan() || deviation > 1.0 {
                        misses.push(format!("{name}: {key} is {deviation:.3e} tolerances off"));
                    }
                });
                assert!(compared > 0, "{name}: nothing was compared");
            }
        }
    }
    let total = misses.len();
    misses.truncate(20);
    assert_eq!(total, 0, "{total} misses, among them\n{}", misses.join("\n"));
}

/// A number, or NaN where there is none.
fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn relative(expected: f64, found: f64, tolerance: f64) -> f64 {
    (found - expected).abs() / (tolerance * expected.abs())
}

/// Deviation of a magnitude and a phase together: the distance in the complex plane over the expected
/// magnitude. The phase alone means little where it is near ±180°.
fn polar(expected: [f64; 2], found: [f64; 2]) -> f64 {
    let [size, angle] = expected;
    let [other, turned] = found;
    let between = (turned - angle).to_radians();
    let (re, im) = (other * between.cos() - size, other * between.sin());
    re.hypot(im) / (CIRCUIT * size)
}

fn impedances(expected: &Value, found: &Value, record: &mut dyn FnMut(String, f64)) {
    for (at, size) in list(&expected["z_mag"]).iter().enumerate() {
        let of = |it: &Value| number(&it["z_phase"][at]);
        let other = number(&found["z_mag"][at]);
        record(format!("z[{at}]"), polar([number(size), of(expected)], [other, of(found)]));
    }
}

fn from_db(level: f64) -> f64 {
    (level * LN_10 / 20.0).exp()
}

#[test]
fn random_networks_agree_with_ngspice() {
    let file = include_str!("fixtures/agreed/networks.json");
    compare_all(file, 220, |expected, found, record| {
        impedances(expected, found, record);
        for (key, tolerance) in [("z_min", CIRCUIT), ("f_z_min", PLACE)] {
            record(key.into(), relative(number(&expected[key]), number(&found[key]), tolerance));
        }
        for (name, levels) in expected["h_db"].as_object().expect("drivers") {
            for (at, level) in list(levels).iter().enumerate() {
                let voltage = from_db(number(level));
                if voltage < FLOOR {
                    continue;
                }
                let of = |it: &Value| number(&it["h_phase"][name][at]);
                let other = from_db(number(&found["h_db"][name][at]));
                record(format!("{name}[{at}]"), polar([voltage, of(expected)], [other, of(found)]));
            }
        }
    });
}

#[test]
fn random_boxes_agree_with_ngspice() {
    let file = include_str!("fixtures/agreed/boxes.json");
    compare_all(file, 60, |expected, found, record| {
        impedances(expected, found, record);
        let mut each = |key: &str, from: fn(f64) -> f64| {
            for (at, value) in list(&expected[key]).iter().enumerate() {
                let (ours, theirs) = (from(number(&found[key][at])), from(number(value)));
                record(format!("{key}[{at}]"), relative(theirs, ours, CIRCUIT));
            }
        };
        each("x_peak", |it| it);
        each("spl", from_db);
        each("port_velocity_peak", |it| it);
        // A closed box has no port.
        if expected["port_velocity_peak"].is_null() {
            let none = found["port_velocity_peak"].is_null();
            record("port_velocity_peak".into(), if none { 0.0 } else { f64::INFINITY });
        }
    });
}

#[test]
fn random_sweeps_agree_with_scipy() {
    let file = include_str!("fixtures/agreed/sweeps.json");
    compare_all(file, 60, |expected, found, record| {
        for key in ["re", "res", "fs", "qms", "k", "n", "qes", "qts", "le_1k", "le_10k"] {
            let value = number(&expected[key]);
            // Two of them come without an uncertainty.
            let u = expected["u"][key].as_f64().unwrap_or(0.0);
            let allowed = PARAMETER.max(PARAMETER_OF_U * u / value);
            record(key.into(), relative(value, number(&found[key]), allowed));
        }
        record("rss".into(), relative(number(&expected["rss"]), number(&found["rss"]), RSS));
        for (key, u) in expected["u"].as_object().expect("uncertainties") {
            let (u, ours) = (number(u), number(&found["u"][key]));
            // What was given has none.
            let deviation = if u > 0.0 { relative(u, ours, U) } else { ours / f64::MIN_POSITIVE };
            record(format!("u.{key}"), deviation);
        }
        for (key, r) in expected["corr"].as_object().expect("correlations") {
            let ours = &found["corr"][key];
            let deviation = match r.as_f64() {
                Some(r) => (number(ours) - r).abs() / CORRELATION,
                None if ours.is_null() => 0.0,
                None => f64::INFINITY,
            };
            record(format!("corr.{key}"), deviation);
        }
    });
}

/// Deviation of two answers, leaf by leaf: whole numbers, words and nulls are the same or infinitely far.
fn leaves(path: &str, expected: &Value, found: &Value, record: &mut dyn FnMut(String, f64)) {
    let same = |holds: bool| if holds { 0.0 } else { f64::INFINITY };
    let distance = |expected: f64, within: f64| {
        let off = (number(found) - expected).abs();
        if off == 0.0 { 0.0 } else { off / within }
    };
    match expected {
        Value::Object(entries) if entries.contains_key("near") => {
            let within = number(&expected["within"]);
            record(path.to_owned(), distance(number(&expected["near"]), within));
        }
        Value::Object(entries) if entries.contains_key("one_of") => {
            record(path.to_owned(), same(list(&expected["one_of"]).contains(found)));
        }
        Value::Object(entries) => {
            for (key, it) in entries {
                let other = found.get(key).unwrap_or(&Value::Bool(false));
                leaves(&format!("{path}/{key}"), it, other, record);
            }
        }
        Value::Array(items) => {
            let others = list(found);
            record(format!("length of {path}"), same(others.len() == items.len()));
            for (at, (it, other)) in items.iter().zip(others).enumerate() {
                leaves(&format!("{path}/{at}"), it, other, record);
            }
        }
        Value::Number(it) if it.is_f64() => {
            let expected = number(expected);
            record(path.to_owned(), distance(expected, STATISTIC * expected.abs().max(1.0)));
        }
        _ => record(path.to_owned(), same(found == expected)),
    }
}

#[test]
fn random_catalogues_agree_with_statistics_libraries() {
    let file = include_str!("fixtures/agreed/standings.json");
    compare_all(file, 36, |expected, found, record| leaves("", expected, found, record));
}
