//! What is read as JSON, and how numbers are written.

use serde_json::{Value, json};

use crate::{answer, text_refusal};

const NAME: &str = "cavity-q";

#[track_caller]
fn bad_json(input: &[u8], field: &str) {
    let got = text_refusal(NAME, input);
    assert_eq!(got, ("bad_json".to_owned(), field.to_owned()), "{}", input.escape_ascii());
}

#[test]
fn what_is_no_json_object_is_refused() {
    for text in [
        "",
        " ",
        "null",
        "1",
        "[]",
        "\"order\"",
        "{",
        "{\"order\": 1,}",
        "{'order': 1}",
        "{} {}",
        "{\"order\": 01}",
        "{\"order\": +1}",
        "{\"order\": .5}",
        "{\"order\": 0x1}",
        "\u{feff}{}",
        "{\"order\": 1} // one",
        "{\"a\": \"\\ud800\"}",
    ] {
        bad_json(text.as_bytes(), "");
    }
}

#[test]
fn numbers_that_json_or_f64_do_not_have_are_refused() {
    for token in ["NaN", "nan", "Infinity", "-Infinity", "inf", "1e999", "-1e999"] {
        let text = format!(r#"{{"order": 1, "alpha_1": {token}, "alpha_2": 0.5}}"#);
        bad_json(text.as_bytes(), "");
    }
}

#[test]
fn text_that_is_not_utf_8_is_refused() {
    bad_json(b"{\"order\": 1, \"alpha_1\": 0.5, \"alpha_2\": 0.5, \"\xff\": 1}", "");
    bad_json(b"\xff\xfe{\x00}\x00", "");
}

#[test]
fn a_key_that_stands_twice_is_refused_wherever_it_is() {
    bad_json(br#"{"order": 1, "alpha_1": 0.5, "alpha_2": 0.5, "order": 1}"#, "order");
    bad_json(br#"{"order": 1, "air": {"c": 1, "rho": 1, "c": 1}}"#, "air.c");
    bad_json(br#"{"x": [{}, {"a": {"b": 1, "b": 2}}]}"#, "x[1].a.b");
}

#[test]
fn deep_nesting_and_long_inputs_are_refused() {
    let deep = format!("{{\"a\": {}{}}}", "[".repeat(100_000), "]".repeat(100_000));
    bad_json(deep.as_bytes(), "");
    let objects = format!("{}1{}", "{\"a\":".repeat(100_000), "}".repeat(100_000));
    bad_json(objects.as_bytes(), "");
    let mut long = vec![b' '; compute::INPUT_MAX];
    long.extend_from_slice(b"{}");
    bad_json(&long, "");
}

#[test]
fn a_whole_number_may_be_written_with_a_point() {
    let whole = answer(NAME, &json!({"order": 3, "alpha_1": 0.5, "alpha_2": 0.02}));
    for order in ["3.0", "3e0", "30e-1"] {
        let text = format!(r#"{{"order": {order}, "alpha_1": 0.5, "alpha_2": 0.02}}"#);
        let again: Value =
            serde_json::from_str(&compute::run(NAME, text.as_bytes()).unwrap()).unwrap();
        assert_eq!(again, whole, "{order}");
    }
}

#[test]
fn numbers_round_trip() {
    // `cms` comes back as it was given, so every digit of the input must be in the output.
    for digits in ["0.1", "9.8e-4", "0.00123456789012345678", "1.7976931348623157e-3", "5e-5"] {
        let text = format!(
            r#"{{"re": 5.6, "mms": 0.0142, "cms": {digits}, "rms": 0.85, "bl": 6.1, "sd": 0.0133}}"#
        );
        let line = compute::run("driver", text.as_bytes()).unwrap();
        let written = line.split_once("\"cms\":").unwrap().1.split(',').next().unwrap();
        let (want, got) = (digits.parse::<f64>().unwrap(), written.parse::<f64>().unwrap());
        assert_eq!(want.to_bits(), got.to_bits(), "{digits} came back as {written}");
    }
}

#[test]
fn no_negative_zero_is_written() {
    // On the axis the level is 20·log10(1), and a loss of nothing is −0 before it is written.
    for (name, text) in [
        ("wire", r#"{"awg": 18, "length": 0, "material": "copper", "load": 8}"#),
        ("closed-box", r#"{"fs": 1, "qts": 0.5, "vas": 3, "vb": 1}"#),
    ] {
        let line = compute::run(name, text.as_bytes()).unwrap();
        assert!(!line.contains("-0,") && !line.contains("-0.0"), "{line}");
    }
}

#[test]
fn keys_stand_in_their_documented_order_on_one_line() {
    let line =
        compute::run("closed-box", br#"{"fs": 42.66, "qts": 0.5, "vas": 0.0246, "vb": 0.012}"#)
            .unwrap();
    let places: Vec<_> = ["alpha", "fc", "qtc", "f3", "peak_db", "f_peak"]
        .iter()
        .map(|key| line.find(&format!("\"{key}\":")).unwrap())
        .collect();
    assert!(places.is_sorted(), "{line}");
    assert!(!line.contains('\n') && !line.contains(' '), "{line}");
}
