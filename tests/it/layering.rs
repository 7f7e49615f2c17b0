//! Which crate may use which. The tables are the map of the workspace; another edge needs a reason first.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;
use tests::{metadata, repository};

/// What each package of the workspace uses of the workspace, leaving out what only its tests use.
const EDGES: &[(&str, &[&str])] = &[
    ("boxworth", &["engine", "features"]),
    ("boxworth-app", &["engine", "features"]),
    ("boxworth-plugin-api", &[]),
    ("cabinet", &["boxworth-plugin-api"]),
    ("catalog", &["domain"]),
    ("compute", &["domain", "physics", "standing"]),
    ("crossover", &["boxworth-plugin-api"]),
    ("domain", &[]),
    ("driver", &["boxworth-plugin-api"]),
    ("e2e", &["features"]),
    (
        "engine",
        &[
            "boxworth-plugin-api",
            "catalog",
            "compute",
            "domain",
            "export",
            "host",
            "physics",
            "plugin-check",
            "standing",
        ],
    ),
    ("features", &[]),
    ("finish", &["boxworth-plugin-api"]),
    ("export", &[]),
    ("generate", &["catalog", "domain"]),
    ("host", &["boxworth-plugin-api", "wire"]),
    ("octets", &[]),
    ("physics", &["domain"]),
    ("plugin-check", &["boxworth-plugin-api", "host"]),
    ("standing", &["domain", "octets"]),
    ("tests", &[]),
    ("wire", &[]),
    ("wiring", &["boxworth-plugin-api"]),
    ("worker", &["boxworth-plugin-api", "wire"]),
    ("xtask", &[]),
];

/// Third-party packages that only some packages may name, since each marks a border.
const BORDERS: &[(&str, &[&str])] =
    &[("libloading", &["worker"]), ("rusqlite", &["catalog"]), ("tauri", &["boxworth-app"])];

fn name(package: &Value) -> &str {
    package["name"].as_str().unwrap()
}

fn packages(metadata: &Value) -> &[Value] {
    metadata["packages"].as_array().unwrap()
}

/// The names of what a package uses, except what only its tests use.
fn used(package: &Value) -> BTreeSet<&str> {
    let all = package["dependencies"].as_array().unwrap().iter();
    all.filter(|it| it["kind"] != "dev").map(|it| it["name"].as_str().unwrap()).collect()
}

#[test]
fn packages_use_each_other_as_the_table_says() {
    let metadata = metadata(&["--no-deps"]);
    let own: BTreeSet<&str> = packages(&metadata).iter().map(name).collect();
    let found: BTreeMap<&str, BTreeSet<&str>> = packages(&metadata)
        .iter()
        .map(|it| (name(it), used(it).intersection(&own).copied().collect()))
        .collect();
    let wanted: BTreeMap<&str, BTreeSet<&str>> =
        EDGES.iter().map(|(of, uses)| (*of, uses.iter().copied().collect())).collect();
    assert_eq!(found, wanted);
}

#[test]
fn xtask_uses_the_standard_library_only() {
    let metadata = metadata(&["--no-deps"]);
    let xtask = packages(&metadata).iter().find(|it| name(it) == "xtask").unwrap();
    assert_eq!(xtask["dependencies"], Value::Array(Vec::new()));
}

#[test]
fn only_the_border_crates_name_what_is_beyond() {
    let metadata = metadata(&["--no-deps"]);
    for (beyond, border) in BORDERS {
        let found: BTreeSet<&str> =
            packages(&metadata).iter().filter(|it| used(it).contains(beyond)).map(name).collect();
        assert_eq!(found, border.iter().copied().collect(), "{beyond}");
    }
}

/// A library may be loaded outside a worker in one place: the bench that shows what isolation costs calls the plugins of
/// this build in its own process, as the limit.
#[test]
fn only_the_bench_of_the_host_loads_libraries_beside_the_worker() {
    let metadata = metadata(&["--no-deps"]);
    let uses = |package: &Value| {
        package["dependencies"].as_array().unwrap().iter().any(|it| it["name"] == "libloading")
    };
    let found: BTreeSet<&str> =
        packages(&metadata).iter().filter(|it| uses(it)).map(name).collect();
    assert_eq!(found, BTreeSet::from(["host", "worker"]));
    let host = repository().join("src-tauri/crates/host");
    let named = |folder: &str| {
        let files = std::fs::read_dir(host.join(folder)).unwrap();
        let texts = files.filter_map(|it| std::fs::read_to_string(it.unwrap().path()).ok());
        texts.filter(|it| it.contains("libloading")).count()
    };
    assert_eq!(["src", "src/link", "tests/it", "examples", "benches"].map(named), [0, 0, 0, 0, 1]);
}

/// Whoever writes to the catalogue goes through `Engine::writer`, which makes the day's first copy. Three places do not: that
/// function itself, bringing an older file forward, which makes a copy of its own, and noting that a plugin failed.
#[test]
fn the_engine_opens_the_catalogue_for_writing_in_one_place() {
    let found = sources_with("engine", &["Catalog::open"]);
    assert_eq!(found, ["backup.rs", "lib.rs", "plugins/faults.rs"].map(str::to_owned).into());
}

/// A name that is not flushed is lost by a power cut, and a file that is not moved to its place may be half there. So what is
/// kept is written by `catalog::durable`; the draws of an earlier start can be made again.
#[test]
fn files_that_are_kept_are_written_in_one_place() {
    let words = ["fs::rename(", "create_dir_all(", "File::create"];
    assert_eq!(sources_with("engine", &words), BTreeSet::from(["drawn/store.rs".to_owned()]));
    assert_eq!(sources_with("cli", &words), BTreeSet::new());
}

/// The sources of a crate of the program in which one of some words stands.
fn sources_with(package: &str, words: &[&str]) -> BTreeSet<String> {
    let source = repository().join("src-tauri/crates").join(package).join("src");
    let mut folders = vec![source.clone()];
    let mut found = BTreeSet::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let text = std::fs::read_to_string(&path).unwrap();
            if words.iter().any(|it| text.contains(it)) {
                found.insert(path.strip_prefix(&source).unwrap().to_str().unwrap().to_owned());
            }
        }
    }
    found
}

/// Names of all that is linked into a package on this system, its own included.
fn linked<'a>(metadata: &'a Value, root: &str) -> BTreeSet<&'a str> {
    let nodes: BTreeMap<&str, &Value> = metadata["resolve"]["nodes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| (it["id"].as_str().unwrap(), it))
        .collect();
    let names: BTreeMap<&str, &str> =
        packages(metadata).iter().map(|it| (it["id"].as_str().unwrap(), name(it))).collect();
    let members = metadata["workspace_members"].as_array().unwrap();
    let start = members
        .iter()
        .filter_map(Value::as_str)
        .find(|it| names.get(it).is_some_and(|it| *it == root))
        .unwrap();
    let mut seen = BTreeSet::from([start]);
    let mut pending = vec![start];
    while let Some(id) = pending.pop() {
        for it in nodes[id]["deps"].as_array().unwrap() {
            let kinds = it["dep_kinds"].as_array().unwrap();
            let next = it["pkg"].as_str().unwrap();
            if kinds.iter().any(|it| it["kind"].is_null()) && seen.insert(next) {
                pending.push(next);
            }
        }
    }
    seen.into_iter().map(|it| names[it]).collect()
}

/// No code of a plugin can run in a process that holds the catalogue: what loads libraries is not linked into it.
#[test]
fn only_the_worker_can_load_a_library() {
    let system = format!("{}-unknown-linux-gnu", std::env::consts::ARCH);
    let metadata = metadata(&["--filter-platform", &system]);
    let worker = linked(&metadata, "worker");
    assert!(worker.contains("libloading"), "{worker:?}");
    for root in ["boxworth-app", "engine", "boxworth"] {
        let all = linked(&metadata, root);
        assert!(all.contains("rusqlite"), "{root}: {all:?}");
        assert!(!all.contains("libloading"), "{root} links libloading");
    }
    for root in ["engine", "boxworth", "worker"] {
        assert!(!linked(&metadata, root).contains("tauri"), "{root} links tauri");
    }
    assert!(!worker.contains("rusqlite"), "a worker needs no catalogue");
}
