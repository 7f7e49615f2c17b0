//! `boxworth compute`: what a shell sees of it.

use std::{
    fs,
    io::Write,
    process::{Command, Stdio},
};

use serde_json::{Value, json};
use tempfile::TempDir;
use tests::{Ran, command, programs};

/// The program without any catalogue, in a folder of its own.
fn program(folder: &TempDir, arguments: &[&str]) -> Command {
    let mut it = command(programs().join("boxworth"));
    it.env("HOME", folder.path()).current_dir(folder.path()).arg("compute").args(arguments);
    it
}

/// Runs it with a text on standard input.
fn run(arguments: &[&str], input: &str) -> Ran {
    let folder = TempDir::new().unwrap();
    let mut it = program(&folder, arguments);
    it.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = it.spawn().unwrap();
    // A program that refuses before it reads has closed its end.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    let ran = Ran::from(child.wait_with_output().unwrap());
    let left: Vec<_> = fs::read_dir(folder.path()).unwrap().collect();
    assert!(left.is_empty(), "it left {left:?}");
    ran
}

#[track_caller]
fn refused(ran: &Ran, code: &str, field: &str) {
    assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{}", ran.err);
    assert_eq!(ran.err.lines().count(), 1, "{}", ran.err);
    let object: Value = serde_json::from_str(&ran.err).unwrap();
    let keys: Vec<_> = object.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(keys, ["code", "field", "message"]);
    assert_eq!((&object["code"], &object["field"]), (&json!(code), &json!(field)), "{object}");
    assert!(!object["message"].as_str().unwrap().is_empty());
}

const BOX: &str = r#"{"fs": 42.6641327, "qts": 0.507902315, "vas": 0.0245838786, "vb": 0.012}"#;

#[test]
fn an_answer_is_one_line_of_json_and_needs_no_catalogue() {
    let text = run(&["closed-box"], BOX).done();
    assert_eq!(text.matches('\n').count(), 1, "{text}");
    let answer: Value = serde_json::from_str(&text).unwrap();
    // Resonance of a synthetic woofer in 12 L, from scipy.
    let fc = answer["fc"].as_f64().unwrap();
    assert!((fc / 74.4932929 - 1.0).abs() < 1e-6, "{fc}");
    // Options for other commands do no harm.
    let same = run(&["closed-box", "--json", "--catalogue", "nowhere.boxworth"], BOX).done();
    assert_eq!(same, text);
}

#[test]
fn the_input_can_come_from_a_file() {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("box.json");
    fs::write(&file, BOX).unwrap();
    let arguments = ["closed-box", "--in", file.to_str().unwrap()];
    assert_eq!(run(&arguments, "").done(), run(&["closed-box"], BOX).done());
}

#[test]
fn refusals_are_one_json_object_whatever_the_options() {
    for more in [&[][..], &["--json"]] {
        let with = |name: &'static str| [&[name][..], more].concat();
        refused(&run(&with("closed-box"), "{"), "bad_json", "");
        refused(&run(&with("closed-box"), "{}"), "missing", "qts");
        refused(&run(&with("closed-boxes"), BOX), "unknown_name", "closed-boxes");
        let zero = BOX.replace("0.012", "0");
        refused(&run(&with("closed-box"), &zero), "out_of_domain", "vb");
        let typo = BOX.replace("\"vb\"", "\"vbb\"");
        refused(&run(&with("closed-box"), &typo), "unknown_key", "vbb");
        let both = BOX.replace('{', "{\"qms\": 4, ");
        refused(&run(&with("closed-box"), &both), "inconsistent", "qms");
    }
    refused(&run(&[], ""), "missing", "NAME");
    refused(&run(&["port", "--in", "no such file"], ""), "bad_json", "--in no such file");
    refused(&run(&["port", "--in", "."], ""), "bad_json", "--in .");
}

#[test]
fn names_schemas_and_explanations_belong_together() {
    let list = run(&["--list"], "").done();
    let names: Vec<&str> = list.lines().collect();
    assert!(names.len() >= 28, "{names:?}");
    for name in names {
        let schema: Value = serde_json::from_str(&run(&[name, "--schema"], "").done()).unwrap();
        assert_eq!(schema["title"], name);
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
        let text = run(&[name, "--explain"], "").done();
        assert!(text.starts_with(&format!("{name}: ")), "{text}");
        // The example that the explanation ends with is a valid input.
        let _ = run(&[name], text.lines().last().unwrap()).answer();
    }
    refused(&run(&["flux", "--schema"], ""), "unknown_name", "flux");
    refused(&run(&["flux", "--explain"], ""), "unknown_name", "flux");
}
