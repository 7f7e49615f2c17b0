//! The seed catalogue goes in without a fault, is what its readers expect of it, and fits its own schema.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
};

use catalog::unwatched;
use domain::{
    dictionary::Dictionary,
    evidence::Evidence,
    part::{Part, Role},
    price::Basis,
};
use physics::{
    air::AIR20,
    cross_check::{Subject, cross_checks},
    quantity::quantities,
};
use serde_json::Value;
use standing::basis::basis_slips;
use tests::{Bench, seed};

/// The product files, sorted.
fn files() -> Vec<PathBuf> {
    let list = |folder: &Path| -> Vec<PathBuf> {
        fs::read_dir(folder).unwrap().map(|it| it.unwrap().path()).collect()
    };
    let mut files: Vec<PathBuf> =
        list(&seed().join("products")).iter().flat_map(|it| list(it)).collect();
    files.sort();
    files
}

#[test]
fn a_second_import_changes_nothing() {
    let bench = Bench::empty();
    let import = ["import", "--json", seed().to_str().unwrap()].map(str::to_owned);
    let import: Vec<&str> = import.iter().map(String::as_str).collect();
    let first = bench.run(&import).answer();
    let n_files = files().len();
    assert_eq!(first["products"], n_files);
    assert_eq!(first["new_products"], n_files);
    let added = first["added"].as_u64().unwrap();
    let products = bench.run(&["products", "--json"]).done();
    let held = held(&bench);

    let second = bench.run(&import).answer();
    assert_eq!(second["new_products"], 0);
    assert_eq!(second["added"], 0);
    assert_eq!(second["corrected"], 0);
    // Facts, and the products themselves.
    assert_eq!(second["unchanged"], added + u64::try_from(n_files).unwrap());
    assert_eq!(bench.run(&["products", "--json"]).done(), products);
    assert_eq!(self::held(&bench), held);
}

/// What `doctor` says that the catalogue holds.
fn held(bench: &Bench) -> Value {
    let report = bench.run(&["doctor", "--json"]).answer();
    let checks = report["checks"].as_array().unwrap();
    checks.iter().find(|it| it["name"] == "contents can be read").unwrap()["detail"].clone()
}

#[test]
fn a_dry_run_counts_and_leaves_the_file_alone() {
    let bench = Bench::empty();
    let before = fs::read(bench.catalogue()).unwrap();
    let seed = seed();
    let tried = bench.run(&["import", "--dry-run", "--json", seed.to_str().unwrap()]).answer();
    assert_eq!(tried["new_products"], files().len());
    assert!(fs::read(bench.catalogue()).unwrap() == before, "the catalogue was changed");
    let log = bench.files().remove("shelf.boxworth-wal").unwrap_or_default();
    assert_eq!(log.len(), 0, "something was written beside the catalogue");
    let list = bench.run(&["products", "--json"]).answer();
    assert_eq!(list["products"].as_array().unwrap().len(), 0);
}

#[test]
fn each_file_fits_the_schema() {
    let schema = Bench::empty().run(&["schema"]).answer();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for file in files() {
        let text = fs::read_to_string(&file).unwrap();
        let product: Value = toml::from_str(&text).unwrap();
        let faults: Vec<String> = validator
            .iter_errors(&product)
            .map(|it| format!("{}: {it}", it.instance_path()))
            .collect();
        assert_eq!(faults, [""; 0], "{}", file.display());
    }
}

#[test]
fn the_schema_beside_the_files_is_the_one_of_this_program() {
    let kept = fs::read_to_string(seed().join("product.schema.json")).unwrap();
    let kept: Value = serde_json::from_str(&kept).unwrap();
    assert_eq!(Bench::empty().run(&["schema"]).answer(), kept);
}

/// A schema that let everything pass would pass the test above.
#[test]
fn the_schema_refuses_what_the_import_refuses() {
    let schema = Bench::empty().run(&["schema"]).answer();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let text = fs::read_to_string(&files()[0]).unwrap();
    let good: Value = toml::from_str(&text).unwrap();
    assert!(validator.is_valid(&good));
    let spoiled: [(&str, Value); 4] = [
        ("/kind", "sideways".into()),
        ("/ways", "two".into()),
        ("/price/0/basis", "dozen".into()),
        ("/teardown/0/date", "last spring".into()),
    ];
    for (place, value) in spoiled {
        let mut bad = good.clone();
        *bad.pointer_mut(place).unwrap() = value;
        assert!(!validator.is_valid(&bad), "{place}");
    }
}

#[test]
fn the_seed_is_as_wide_as_the_tool_needs() {
    let folder = catalog::plain::read(&[seed()], &Dictionary::standard(), &mut unwatched).unwrap();
    let count = |has: &dyn Fn(&domain::dossier::Dossier) -> bool| {
        folder.dossiers.iter().filter(|it| has(it)).count()
    };
    let makers: BTreeSet<&str> =
        folder.dossiers.iter().map(|it| it.product.maker.as_str()).collect();
    assert!(folder.dossiers.len() >= 36, "{} products", folder.dossiers.len());
    assert!(makers.len() >= 8, "{makers:?}");

    let with_sweeps = count(&|it| it.jobs.iter().any(|job| !job.sweeps.is_empty()));
    assert!(with_sweeps >= 12, "{with_sweeps} with sweeps");
    let crossover = Part::first(Role::Crossover);
    let with_network =
        count(&|it| it.choice(crossover, "present") == Some("full") && it.network().is_some());
    assert!(with_network >= 16, "{with_network} with a full network");
    for grade in Evidence::ALL {
        let with_grade = count(&|it| it.findings().any(|it| it.evidence == *grade));
        assert!(with_grade > 0, "no finding is {grade}");
    }
}

/// The seed holds four flaws on purpose: a unit slip, a driver that contradicts itself, a false claim and a price noted
/// on the wrong basis. Each is found, and no sound record and no honest maker is accused.
#[test]
fn the_four_flaws_are_found_and_nothing_else_is_accused() {
    let dossiers =
        catalog::plain::read(&[seed()], &Dictionary::standard(), &mut unwatched).unwrap().dossiers;
    let base = "2026-06".parse().unwrap();
    let mut accused = BTreeSet::new();
    for it in &dossiers {
        let key = it.product.key.as_str();
        let quantities = quantities(it, &AIR20);
        for check in cross_checks(it, &quantities, &AIR20) {
            if check.subject != Subject::Design {
                accused.insert((key.to_owned(), check.code));
            }
            if check.code == "outside_usual_range" {
                assert_eq!(check.offers.first().map(|it| it.typed.as_str()), Some("6.4 in"));
            }
        }
        for slip in basis_slips(&it.prices, base) {
            assert_eq!(slip.likely, Basis::Each);
            accused.insert((key.to_owned(), "price basis"));
        }
    }
    let wanted = [
        ("dunlinwick/saltern-1", "driver_parameters_disagree"),
        ("hobnail-lane/clog-5", "outside_usual_range"),
        ("hobnail-lane/clog-5", "tuning_disagrees"),
        ("hobnail-lane/welt-6", "price basis"),
        ("vennelgate/ginnel-4", "claim_contradicted"),
    ];
    let wanted: BTreeSet<(String, &str)> =
        wanted.into_iter().map(|(key, code)| (key.to_owned(), code)).collect();
    assert_eq!(accused, wanted);
}
