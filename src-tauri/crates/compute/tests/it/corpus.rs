//! The inputs that fuzzing kept, run again: each reached code that no other did, or was a find.

use std::{fs, path::Path};

#[path = "../../../../../tests/fuzz/src/compute_json.rs"]
mod compute_json;

#[test]
fn the_kept_inputs_hold() {
    let folder =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/fuzz/corpus/compute_json");
    let mut count = 0;
    for entry in fs::read_dir(folder).unwrap() {
        compute_json::holds(&fs::read(entry.unwrap().path()).unwrap());
        count += 1;
    }
    assert!(count >= compute::list().len(), "only {count} inputs are kept");
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
