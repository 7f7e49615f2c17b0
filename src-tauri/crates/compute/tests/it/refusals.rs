//! Inputs of the statistics that are wrong in every way a caller may be: types, shapes, counts, tokens that JSON does
//! not have, keys that are unknown, missing, doubled or at odds.

use serde_json::Value;

use crate::{answer, text_refusal};

fn kept() -> Vec<Value> {
    serde_json::from_str(include_str!("../fixtures/refused.json")).expect("JSON")
}

#[test]
fn each_malformed_input_is_refused_with_its_code() {
    let all = kept();
    assert!(all.len() > 380, "{}", all.len());
    for case in &all {
        let text = |key: &str| case[key].as_str().expect("a text");
        let (code, _) = text_refusal(text("name"), text("input").as_bytes());
        assert_eq!(code, text("code"), "{case}");
    }
}

/// Else an input might be refused for another reason than the one that is meant.
#[test]
fn what_was_made_malformed_is_accepted() {
    let accepted = include_str!("../fixtures/accepted.json");
    let accepted: Value = serde_json::from_str(accepted).expect("JSON");
    for (name, input) in accepted.as_object().expect("names") {
        assert!(answer(name, input).is_object());
        assert!(kept().iter().any(|it| it["name"] == name.as_str()), "{name}");
    }
}
