//! A folder with ten different faults is refused as a whole, each fault with its place and what would be right.

use std::path::PathBuf;

use serde_json::Value;
use tests::{Bench, repository};

use crate::same_as_kept;

fn folder() -> PathBuf {
    repository().join("tests/fixtures/ten-faults")
}

/// Products and counts that a catalogue holds.
fn held(bench: &Bench) -> (String, Value) {
    (bench.run(&["products", "--json"]).done(), bench.run(&["doctor", "--json"]).answer())
}

/// Place of each fault, and a word that its accepted form must name.
const FAULTS: [(&str, &str); 10] = [
    ("products/marrowfield/adit-1.toml:3: kind", "stand-mount"),
    ("products/marrowfield/adit-1.toml:8: price[1].amount", "249.00"),
    ("products/marrowfield/adit-1.toml:16: price[2].basis", "each"),
    ("products/marrowfield/adit-1.toml:17: price[2].date", "YYYY-MM-DD"),
    ("products/marrowfield/adit-1.toml:26: teardown[1].specimen", "A"),
    ("products/marrowfield/adit-2.toml:16: teardown[1].cabinet.outer_h", "mm"),
    ("products/marrowfield/adit-2.toml:17: teardown[1].cabinet.panel_materiel", "panel_material"),
    ("products/marrowfield/adit-2.toml:18: teardown[1].cabinet.wall_damping", "damping sheet"),
    ("products/marrowfield/adit-2.toml:22: teardown[1].sweep[1].file", "csv"),
    ("products/quillcove/sprat-1.toml:2", "\""),
];

#[test]
fn each_fault_is_located_and_nothing_is_imported() {
    let bench = Bench::seeded();
    let (before, files) = (held(&bench), bench.files());
    let folder = folder();
    let errors = bench.run(&["import", "--json", folder.to_str().unwrap()]).refusals();
    let places: Vec<&str> = errors.iter().map(|it| it["where"].as_str().unwrap()).collect();
    assert_eq!(places, FAULTS.map(|(place, _)| place), "{errors:#?}");
    for (error, (place, form)) in errors.iter().zip(FAULTS) {
        assert_eq!(error["code"], "import_fault");
        let accepted = error["accepted"].as_str().unwrap();
        assert!(accepted.contains(form), "{place}: accepted: {accepted}");
        assert!(!error["message"].as_str().unwrap().is_empty(), "{place}");
    }
    assert!(bench.files() == files, "the catalogue was changed");
    assert_eq!(held(&bench), before);
}

#[test]
fn the_faults_read_as_lines() {
    let bench = Bench::empty();
    let ran = bench.run(&["import", folder().to_str().unwrap()]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    same_as_kept("import-faults", &ran.err);
}

/// The one file without a fault shows that the refusal above is about all of the folder.
#[test]
fn the_file_without_a_fault_would_go_in_alone() {
    let bench = Bench::empty();
    let file = folder().join("products/quillcove/sprat-2.toml");
    let report = bench.run(&["import", "--json", file.to_str().unwrap()]).answer();
    assert_eq!(report["new_products"], 1);
}
