//! The inputs that fuzzing kept, run again: each reached code that no other did, or was a find.

use std::{fs, path::Path};

#[path = "../../../../../tests/fuzz/src/claim_text.rs"]
mod claim_text;
#[path = "../../../../../tests/fuzz/src/compute_json.rs"]
mod compute_json;
#[path = "../../../../../tests/fuzz/src/sweep_text.rs"]
mod sweep_text;

/// Runs the kept inputs of a target and counts them.
fn replay(target: &str, holds: fn(&[u8])) -> usize {
    let corpus = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/fuzz/corpus");
    fs::read_dir(corpus.join(target))
        .unwrap()
        .map(|entry| holds(&fs::read(entry.unwrap().path()).unwrap()))
        .count()
}

#[test]
fn the_kept_inputs_of_calculations_hold() {
    let count = replay("compute_json", compute_json::holds);
    assert!(count >= compute::list().len(), "only {count} inputs are kept");
}

#[test]
fn the_kept_sweep_files_hold() {
    let count = replay("sweep_text", sweep_text::holds);
    assert!(count >= 4, "only {count} inputs are kept");
}

#[test]
fn the_kept_claims_hold() {
    let count = replay("claim_text", claim_text::holds);
    assert!(count >= 10, "only {count} inputs are kept");
}

/// The structured mode must reach the calculations themselves, or it tests nothing.
#[test]
fn an_example_without_changes_is_accepted() {
    for entry in compute::list() {
        assert!(compute::run(entry.name, entry.example.as_bytes()).is_ok(), "{}", entry.name);
    }
    // Two bytes are a name and the mode: no changes.
    for name in 0..=u8::MAX {
        compute_json::holds(&[name, 1]);
    }
}
