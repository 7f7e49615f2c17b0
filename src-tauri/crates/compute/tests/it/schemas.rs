//! List, schema and explanation agree with what the calculations do.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::with;

fn schema(name: &str) -> Value {
    serde_json::from_str(&compute::schema(name).unwrap()).unwrap()
}

fn example(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

#[test]
fn names_are_unique_and_lower_case() {
    let list = compute::list();
    let names: BTreeSet<_> = list.iter().map(|it| it.name).collect();
    assert_eq!(names.len(), list.len());
    for name in names {
        assert!(name.bytes().all(|it| it.is_ascii_lowercase() || it == b'-'), "{name}");
    }
}

#[test]
fn each_schema_accepts_its_example_and_its_answer() {
    for entry in compute::list() {
        let schema = schema(entry.name);
        let input = jsonschema::draft202012::new(&schema["input"]).expect(entry.name);
        let output = jsonschema::draft202012::new(&schema["output"]).expect(entry.name);
        let given = example(entry.example);
        if let Err(why) = input.validate(&given) {
            panic!("{}: example: {why}", entry.name);
        }
        let answer = compute::run(entry.name, entry.example.as_bytes()).expect(entry.name);
        let answer: Value = serde_json::from_str(&answer).unwrap();
        if let Err(why) = output.validate(&answer) {
            panic!("{}: answer: {why}", entry.name);
        }
        assert!(jsonschema::draft202012::meta::is_valid(&schema), "{}", entry.name);
        assert!(jsonschema::draft202012::meta::is_valid(&schema["input"]), "{}", entry.name);
        assert!(jsonschema::draft202012::meta::is_valid(&schema["output"]), "{}", entry.name);
        assert_eq!(schema["input"]["examples"][0], given);
    }
}

#[test]
fn each_schema_and_each_calculation_refuse_an_unknown_key_and_a_missing_one() {
    for entry in compute::list() {
        let validator = jsonschema::draft202012::new(&schema(entry.name)["input"]).unwrap();
        let given = example(entry.example);
        let more = with(&given, &json!({"flavour": 1}));
        assert!(!validator.is_valid(&more), "{}", entry.name);
        crate::refused(entry.name, &more, "unknown_key", "flavour");
        assert!(!validator.is_valid(&json!({})), "{}", entry.name);
        assert_eq!(crate::refusal(entry.name, &json!({})).0, "missing", "{}", entry.name);
        for key in given.as_object().unwrap().keys() {
            let mut less = given.clone();
            less.as_object_mut().unwrap().remove(key);
            let accepted = compute::run(entry.name, less.to_string().as_bytes()).is_ok();
            assert_eq!(validator.is_valid(&less), accepted, "{} without {key}", entry.name);
        }
    }
}

#[test]
fn each_schema_refuses_values_that_its_calculation_refuses() {
    for entry in compute::list() {
        let validator = jsonschema::draft202012::new(&schema(entry.name)["input"]).unwrap();
        let given = example(entry.example);
        for key in given.as_object().unwrap().keys() {
            for wrong in [json!(null), json!(true), json!("a wrong word"), json!([[[]]])] {
                let input = with(&given, &json!({key: wrong}));
                // Null is an answer to some questions.
                if wrong.is_null() && validator.is_valid(&input) {
                    assert!(compute::run(entry.name, input.to_string().as_bytes()).is_ok());
                    continue;
                }
                assert!(!validator.is_valid(&input), "{} {input}", entry.name);
                let (code, field) = crate::refusal(entry.name, &input);
                assert_eq!(code, "out_of_domain", "{} {input}", entry.name);
                assert!(field.starts_with(key.as_str()), "{field} is not in {key}");
            }
        }
    }
}

#[test]
fn each_explanation_has_all_its_parts_and_all_its_keys() {
    for entry in compute::list() {
        let text = compute::explain(entry.name).unwrap();
        for part in ["Formula", "Input", "Output", "Valid", "Source", "Example"] {
            assert!(text.contains(&format!("\n{part}\n")), "{}: {part}", entry.name);
        }
        let schema = schema(entry.name);
        for side in ["input", "output"] {
            for key in schema[side]["properties"].as_object().unwrap().keys() {
                let named = text.lines().any(|it| {
                    it.trim_start()
                        .strip_prefix(key.as_str())
                        .is_some_and(|rest| rest.starts_with(": ") || rest.starts_with(" ["))
                });
                assert!(named || key == "flags", "{}: {key} in\n{text}", entry.name);
            }
        }
        let printed = text.lines().last().unwrap().trim();
        assert_eq!(example(printed), example(entry.example));
    }
}

#[test]
fn an_unknown_name_is_refused_everywhere() {
    for fault in [
        compute::run("flux-capacitor", b"{}").unwrap_err(),
        compute::schema("flux-capacitor").unwrap_err(),
        compute::explain("flux-capacitor").unwrap_err(),
        compute::known("flux-capacitor").unwrap_err(),
    ] {
        assert_eq!((fault.code.word(), fault.field.as_str()), ("unknown_name", "flux-capacitor"));
    }
}
