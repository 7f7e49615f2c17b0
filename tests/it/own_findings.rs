//! A plugin brings findings of its own: read, shown, scored, drawn; kept when it is not trusted, alive when it is again.
//!
//! The plugin is invented. It gives its inputs back as measures, so that its points are known from its manifest.

use std::{
    fs,
    path::{Path, PathBuf},
};

use serde_json::{Value, json};
use tests::{Bench, command, repository, seed, succeed};

const ID: &str = "org.example.finish";
const BAND: &str = "200..500";
/// Only the subsystem of the plugin counts, so that the index can be computed by hand.
const ALONE: &str = "cabinet=0,driver=0,crossover=0,wiring=0,finish=100";

/// All that the plugin asks for is recorded, by different evidence.
const FULL: &str = "skerrymoor/voe-6";
/// The surface is missing, and the film is unusually thick.
const GAP: &str = "hobnail-lane/welt-6";
/// Only the coats were counted.
const SCANT: &str = "oxlip-daughters/nan";

const SURFACES: [&str; 4] = ["bare board", "vinyl wrap", "paint", "veneer"];

fn address(name: &str) -> String {
    format!("cabinet.{ID}.{name}")
}

fn input(name: &str, kind: &str) -> Value {
    json!({"id": address(name), "kind": kind})
}

fn criterion(name: &str, range: [f64; 2], utility: &Value) -> Value {
    json!({"id": name, "title": name, "unit": "1", "better": "higher", "range": range, "weight": 25,
           "inputs": [address(name)], "utility": utility, "doc": "A test.", "source": "editorial"})
}

fn curve(low: f64, high: f64) -> Value {
    json!({"scale": "linear", "points": [[low, 0], [high, 100]]})
}

/// The manifest of the plugin, with a number, a choice, a count and a yes or no of its own.
fn manifest() -> Value {
    let mut film = input("film", "number");
    film["unit"] = "m".into();
    film["required"] = true.into();
    let mut surface = input("surface", "choice");
    surface["choices"] = json!(SURFACES);
    let table = json!({"scale": "choice", "points":
        {"bare board": 20, "vinyl wrap": 50, "paint": 75, "veneer": 100}});
    let finding = |name: &str, label: &str, kind: &str| json!({"key": format!("{ID}.{name}"), "label": label, "kind": kind, "part": "cabinet"});
    let mut findings = [
        finding("film", "film thickness", "number"),
        finding("surface", "outer surface", "choice"),
        finding("coats", "coats of varnish", "count"),
        finding("even", "colour is even", "bool"),
    ];
    findings[0]["unit"] = "mm".into();
    findings[0]["typical"] = json!([0.05, 0.5]);
    findings[0]["why"] = "a thin film wears through".into();
    findings[1]["choices"] = json!(SURFACES);
    json!({
        "abi": {"major": 1, "minor": 0}, "id": ID, "subsystem": "finish", "version": "1.0.0", "name": "Finish",
        "vendor": "Example", "licence": "MIT", "rubric": "finish 1",
        "inputs": [film, surface, input("coats", "count"), input("even", "bool")],
        "criteria": [
            criterion("film", [0.0, 1.0], &curve(0.05e-3, 0.25e-3)),
            criterion("surface", [0.0, 3.0], &table),
            criterion("coats", [0.0, 100.0], &curve(0.0, 4.0)),
            criterion("even", [0.0, 1.0], &curve(0.0, 1.0)),
        ],
        "findings": findings, "batch": "independent", "deterministic": true
    })
}

/// Compiles the plugin of a manifest.
fn compile(bench: &Bench, manifest: &Value, name: &str) -> PathBuf {
    let folder = bench.path(&format!("{name}.made"));
    fs::create_dir_all(&folder).unwrap();
    // A JSON text without control characters in quotes is a string of C, once what JSON escapes is escaped again.
    let text = Value::from(manifest.to_string()).to_string();
    fs::write(folder.join("manifest.h"), format!("#define MANIFEST {text}\n")).unwrap();
    let library = bench.path(name);
    let mut cc = command("cc");
    cc.args(["-std=c99", "-O1", "-fPIC", "-shared"]).arg("-I").arg(&folder);
    cc.arg("-I").arg(repository().join("plugins/api/include")).arg("-o").arg(&library);
    let source = repository().join("tests/fixtures/own-findings/mirror.c");
    let _ = succeed(cc.arg(source).arg("-lm"));
    library
}

fn trust(bench: &Bench, library: &Path) {
    let ran = bench.run(&["plugin", "trust", library.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
}

fn revoke(bench: &Bench, library: &Path) {
    let _ = bench.run(&["plugin", "revoke", library.to_str().unwrap()]).done();
}

/// A product file of the seed with lines of the plugin's findings under its cabinet.
fn product(key: &str, lines: &[(&str, &str)]) -> String {
    let text = fs::read_to_string(seed().join(format!("products/{key}.toml"))).unwrap();
    let lines: String =
        lines.iter().map(|(name, value)| format!("\"{ID}.{name}\" = {value}\n")).collect();
    let header = "[teardown.cabinet]\n";
    assert_eq!(text.matches(header).count(), 1, "{key}");
    text.replacen(header, &format!("{header}{lines}"), 1)
}

/// A plain catalogue of three products of the seed with findings of the plugin, and how many those are.
fn folder(bench: &Bench) -> (PathBuf, u64) {
    let folder = bench.path("plain");
    fs::create_dir_all(&folder).unwrap();
    fs::copy(seed().join("catalogue.toml"), folder.join("catalogue.toml")).unwrap();
    for key in [FULL, GAP, SCANT] {
        let (maker, model) = key.split_once('/').unwrap();
        let sweeps = folder.join("sweeps").join(maker);
        fs::create_dir_all(&sweeps).unwrap();
        for it in fs::read_dir(seed().join("sweeps").join(maker)).unwrap() {
            let it = it.unwrap();
            if it.file_name().to_str().unwrap().starts_with(model) {
                fs::copy(it.path(), sweeps.join(it.file_name())).unwrap();
            }
        }
    }
    let full = [
        ("film", "{ value = \"0.15 mm\", u = \"10 µm\", note = \"with a gauge\" }"),
        ("surface", "\"paint\""),
        ("coats", "{ value = \"2\", evidence = \"inferred\" }"),
        ("even", "\"yes\""),
    ];
    let gap = [
        ("film", "\"2 mm\""),
        ("surface", "{ state = \"could not tell\" }"),
        ("coats", "\"4\""),
        ("even", "\"no\""),
    ];
    let scant = [("coats", "\"4\"")];
    for (key, lines) in [(FULL, &full[..]), (GAP, &gap), (SCANT, &scant)] {
        let file = folder.join(format!("products/{key}.toml"));
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(file, product(key, lines)).unwrap();
    }
    (folder, 9)
}

fn json_of(bench: &Bench, arguments: &[&str]) -> Value {
    bench.run(&[arguments, &["--json"]].concat()).answer()
}

fn import(bench: &Bench, folder: &Path) -> Value {
    json_of(bench, &["import", folder.to_str().unwrap()])
}

/// A catalogue with the plugin trusted and the three products in it.
fn filled() -> (Bench, PathBuf) {
    let bench = Bench::empty();
    let library = compile(&bench, &manifest(), "finish.so");
    trust(&bench, &library);
    import(&bench, &folder(&bench).0);
    (bench, library)
}

fn found<'v>(list: &'v Value, key: &str, wanted: &str) -> &'v Value {
    let mut rows = list.as_array().unwrap().iter();
    rows.find(|it| it[key] == wanted).unwrap_or_else(|| panic!("no {wanted} in {list}"))
}

fn finding(bench: &Bench, product: &str, name: &str) -> Value {
    found(&json_of(bench, &["show", product])["findings"], "address", &address(name)).clone()
}

/// The standings by the plugin alone.
fn alone(bench: &Bench) -> Value {
    json_of(bench, &["band", BAND, "--weights", ALONE])
}

fn near(value: &Value, wanted: f64) {
    let value = value.as_f64().unwrap_or_else(|| panic!("{value} is no number"));
    assert!((value - wanted).abs() < 1e-6, "{value} is not {wanted}");
}

fn doctor(bench: &Bench) -> (bool, String) {
    let answer: Value = serde_json::from_str(&bench.run(&["doctor", "--json"]).out).unwrap();
    let check = found(&answer["checks"], "name", "findings are those of the dictionary");
    (check["passed"].as_bool().unwrap(), check["detail"].as_str().unwrap().to_owned())
}

#[test]
fn the_schema_of_a_catalogue_has_the_findings_of_its_plugins() {
    let bench = Bench::empty();
    let standard = bench.run(&["schema"]).answer();
    trust(&bench, &compile(&bench, &manifest(), "finish.so"));
    let schema = bench.run(&["schema"]).answer();
    assert_ne!(schema, standard);
    let validator = jsonschema::validator_for(&schema).unwrap();
    let fits = |lines: &[(&str, &str)]| {
        let file: toml::Table = toml::from_str(&product(FULL, lines)).unwrap();
        validator.is_valid(&serde_json::to_value(&file).unwrap())
    };
    assert!(fits(&[("film", "{ value = \"0.15 mm\", u = \"10 µm\" }"), ("surface", "\"paint\"")]));
    assert!(fits(&[("coats", "\"2\""), ("even", "{ state = \"not inspected\" }")]));
    for (name, value) in [
        ("film", "\"0.15\""),
        ("surface", "\"paper\""),
        ("coats", "\"two\""),
        ("even", "true"),
        ("gloss", "\"high\""),
    ] {
        assert!(!fits(&[(name, value)]), "{name} = {value}");
    }
}

#[test]
fn own_findings_are_imported_shown_and_scored() {
    let bench = Bench::empty();
    let (folder, n_own) = folder(&bench);
    let errors = bench.run(&["import", folder.to_str().unwrap(), "--json"]).refusals();
    assert_eq!(errors.len() as u64, n_own, "{errors:?}");
    let message = errors[0]["message"].as_str().unwrap();
    assert!(message.contains("no plugin trusted here has the finding"), "{message}");

    trust(&bench, &compile(&bench, &manifest(), "finish.so"));
    let first = import(&bench, &folder);
    assert_eq!((&first["new_products"], &first["corrected"]), (&json!(3), &json!(0)));
    assert_eq!(import(&bench, &folder)["added"], 0);

    let sheet = json_of(&bench, &["show", FULL]);
    let film = found(&sheet["findings"], "address", &address("film"));
    assert_eq!((&film["label"], &film["si_unit"]), (&json!("film thickness"), &json!("m")));
    near(&film["si"], 0.15e-3);
    near(&film["std_uncertainty"], 10e-6);
    assert_eq!((&film["evidence"], &film["note"]), (&json!("measured"), &json!("with a gauge")));
    assert_eq!(film["warning"], Value::Null);
    for (name, points) in [("film", 50.0), ("surface", 75.0), ("coats", 50.0), ("even", 100.0)] {
        let criterion = found(&sheet["scores"]["criteria"], "id", name);
        assert_eq!(criterion["state"], "known");
        near(&criterion["score"], points);
    }
    let warning = finding(&bench, GAP, "film")["warning"].clone();
    assert_eq!(warning, "outside the usual 0.05–0.5 mm");
    let text = bench.run(&["show", FULL]).done();
    assert!(text.contains("outer surface") && text.contains("film thickness"), "{text}");

    // What the plugin can score nothing without belongs to a complete teardown, the rest does not.
    let missing = |key: &str| json_of(&bench, &["show", key])["missing"].to_string();
    assert!(missing(SCANT).contains(&address("film")));
    assert!(!missing(SCANT).contains(&address("surface")) && !missing(FULL).contains(ID));
    let lacking = json_of(&bench, &["products", "--missing", &address("film")]);
    assert_eq!(lacking["products"].as_array().unwrap().len(), 1);
    assert_eq!(lacking["products"][0]["product"], SCANT);
    assert_eq!(doctor(&bench), (true, "all".to_owned()));
}

/// By hand from the manifest: (50 + 75 + 50 + 100) / 4, and (100 + [20, 100] + 100 + 0) / 4 where the surface is open.
#[test]
fn own_findings_rank_and_what_is_missing_is_asked_about_by_its_label() {
    let (bench, _) = filled();
    let report = alone(&bench);
    let standings = &report["standings"];
    let full = found(standings, "product", FULL);
    near(&full["index"]["value"], 68.75);
    let gap = found(standings, "product", GAP);
    near(&gap["index"]["low"], 55.0);
    near(&gap["index"]["high"], 75.0);
    assert_eq!(gap["missing"], json!([address("surface")]));
    // A quarter is known, which is too little to rank.
    let scant = found(&report["not_ranked"], "product", SCANT);
    assert!(scant["missing"].to_string().contains(&address("even")), "{scant}");

    let next = json_of(&bench, &["next", BAND, "--weights", ALONE]);
    let next = next.to_string();
    assert!(next.contains("cabinet, outer surface would settle"), "{next}");
    assert!(next.contains("cabinet, film thickness"), "{next}");

    let normal = json_of(&bench, &["normal", BAND]);
    let film = found(&normal["numbers"], "address", &address("film"));
    assert_eq!((&film["label"], &film["n"]), (&json!("cabinet, film thickness"), &json!(2)));
    let shares = normal["shares"].to_string();
    assert!(shares.contains("cabinet, colour is even: yes"), "{shares}");
}

/// The thickness is worth 100 points over 0.2 mm, a quarter of the index: u = 0.01 mm is 1.25 points, and 90 % of a normal
/// law lie within 1.645 u of its middle. The guess of the coats and the slip of what was seen are drawn beside it.
#[test]
fn draws_move_own_findings_by_their_evidence() {
    let (bench, _) = filled();
    let set = |set: &[&str], more: &[&str]| {
        let mut arguments = vec!["what-if", FULL, "--band", BAND, "--weights", ALONE];
        for it in set {
            arguments.extend(["--set", it]);
        }
        let report = json_of(&bench, &[&arguments[..], more].concat());
        report["moved"][0]["after"].clone()
    };
    let width = |it: &Value| {
        let end = |of: &str| it["spread"][of].as_f64().unwrap();
        end("high") - end("low")
    };
    let film = |u: &str| format!("{}=0.15 mm ± {u}", address("film"));
    // Marked counts and words do not slip, so that the thickness alone moves.
    let still: Vec<String> = [("surface", "paint"), ("coats", "2"), ("even", "yes")]
        .iter()
        .map(|(name, value)| format!("{}={value}", address(name)))
        .collect();
    let with = |film: &str| {
        let mut all: Vec<&str> = still.iter().map(String::as_str).collect();
        all.push(film);
        width(&set(&all, &["--evidence", "marked"]))
    };
    let (narrow, wide) = (with(&film("10 µm")), with(&film("20 µm")));
    assert!((narrow / (2.0 * 1.645 * 1.25) - 1.0).abs() < 0.05, "{narrow}");
    assert!((wide / narrow - 2.0).abs() < 0.1, "{wide} {narrow}");

    let standing = found(&alone(&bench)["standings"], "product", FULL).clone();
    let doubts = standing["doubts"].as_array().unwrap();
    let labels: Vec<&str> = doubts.iter().map(|it| it["label"].as_str().unwrap()).collect();
    assert!(labels.contains(&"cabinet, film thickness"), "{labels:?}");
    assert!(labels.contains(&"cabinet, colour is even"), "{labels:?}");
    // One coat more or less is 6.25 points, and a guess is one off often enough to show in nine draws of ten.
    assert!(width(&standing) > narrow + 6.25, "{standing}");

    // And what if saves nothing.
    let before = bench.files();
    let veneer = format!("{}=veneer", address("surface"));
    near(&set(&[&veneer], &[])["index"]["value"], 75.0);
    assert!(bench.files() == before, "the catalogue was changed");
    let paper = format!("{}=paper", address("surface"));
    let refused =
        bench.run(&["what-if", FULL, "--band", BAND, "--set", &paper, "--json"]).refusals();
    assert_eq!(refused[0]["accepted"], SURFACES.join(", "));
}

#[test]
fn findings_of_a_plugin_that_is_not_trusted_are_kept_and_come_alive_again() {
    let (bench, library) = filled();
    let (sheet, report) = (json_of(&bench, &["show", FULL]), alone(&bench));
    revoke(&bench, &library);

    for name in ["film", "surface", "coats", "even"] {
        let it = finding(&bench, FULL, name);
        let before = found(&sheet["findings"], "address", &address(name));
        assert_eq!((&it["typed"], &it["si"]), (&before["typed"], &before["si"]));
        let why = "recorded for org.example.finish (Finish), which is not trusted here";
        assert_eq!(it["warning"], why);
    }
    let text = bench.run(&["show", FULL]).done();
    assert!(text.contains("which is not trusted here"), "{text}");
    let band = json_of(&bench, &["band", BAND]);
    assert_eq!(band["weights"]["finish"], Value::Null);
    assert_eq!(band["standings"].as_array().unwrap().len(), 3);
    assert!(!json_of(&bench, &["normal", BAND]).to_string().contains(ID));
    let (passed, detail) = doctor(&bench);
    assert!(passed && detail.contains("all but 9 findings, kept for plugins"), "{detail}");
    let refused = bench.run(&["import", bench.path("plain").to_str().unwrap(), "--json"]);
    assert_eq!(refused.status, 2);

    trust(&bench, &library);
    assert_eq!(json_of(&bench, &["show", FULL]), sheet);
    assert_eq!(alone(&bench), report);
}

#[test]
fn a_newer_version_replaces_the_older_and_keeps_what_no_longer_fits() {
    let (bench, library) = filled();
    let mut newer = manifest();
    newer["version"] = "2.0.0".into();
    let surfaces = json!(["bare", "covered"]);
    newer["findings"][1]["choices"] = surfaces.clone();
    newer["inputs"][1]["choices"] = surfaces;
    newer["criteria"][1]["range"] = json!([0, 1]);
    newer["criteria"][1]["utility"]["points"] = json!({"bare": 0, "covered": 100});
    newer["findings"][0]["unit"] = "g".into();
    newer["findings"][0]["label"] = "mass of the film".into();
    newer["inputs"][0]["unit"] = "kg".into();
    trust(&bench, &compile(&bench, &newer, "finish-2.so"));

    let plugins = json_of(&bench, &["plugin", "list"]);
    let of: Vec<&Value> =
        plugins["plugins"].as_array().unwrap().iter().filter(|it| it["id"] == ID).collect();
    assert_eq!(of.len(), 1, "{plugins}");
    assert_eq!(of[0]["version"], "2.0.0");
    let surface = finding(&bench, FULL, "surface");
    assert_eq!(surface["typed"], "paint");
    assert_eq!(
        surface["warning"],
        "recorded before org.example.finish 2.0.0, which asks for: bare, covered; record it anew"
    );
    // The number stands as it was typed and is not taken for a mass.
    let film = finding(&bench, FULL, "film");
    assert_eq!((&film["typed"], &film["si_unit"]), (&json!("0.15 mm"), &json!("")));
    assert!(film["warning"].as_str().unwrap().contains("a number with a unit: kg, g"), "{film}");
    let standing = json_of(&bench, &["show", FULL]);
    for (name, state) in [("film", "missing"), ("surface", "missing"), ("coats", "known")] {
        assert_eq!(found(&standing["scores"]["criteria"], "id", name)["state"], state, "{name}");
    }
    let (passed, detail) = doctor(&bench);
    assert!(!passed && detail.contains(&format!("{FULL}: {} recorded before", address("film"))));

    // Recorded anew at the same place it holds; the way back finds the old ones.
    let file = bench.path("plain").join(format!("products/{FULL}.toml"));
    let lines = [("film", "\"0.3 g\""), ("surface", "\"covered\"")];
    fs::write(&file, product(FULL, &lines)).unwrap();
    assert_eq!(json_of(&bench, &["import", file.to_str().unwrap()])["corrected"], 2);
    assert_eq!(finding(&bench, FULL, "film")["warning"], Value::Null);
    trust(&bench, &library);
    let film = finding(&bench, GAP, "film");
    assert_eq!((&film["typed"], &film["si_unit"]), (&json!("2 mm"), &json!("m")));
}

/// A second plugin reads what the first declares, a standard finding and a quantity.
#[test]
fn another_plugin_may_read_what_one_declares() {
    let bench = Bench::empty();
    let ours = |name: &str, id: &str, unit: &str| {
        let input = json!({"id": id, "kind": "number", "unit": unit});
        let criterion = json!({"id": name, "title": name, "unit": "1", "better": "higher", "range": [0, 1e9],
            "weight": 1, "inputs": [id], "utility": curve(0.0, 1.0), "doc": "A test.", "source": "editorial"});
        (input, criterion)
    };
    let film_address = address("film");
    let (inputs, criteria): (Vec<Value>, Vec<Value>) = [
        ours("film", &film_address, "m"),
        ours("height", "cabinet.outer_h", "m"),
        ours("load", "load.z_min_ohm", "ohm"),
    ]
    .into_iter()
    .unzip();
    let reader = json!({
        "abi": {"major": 1, "minor": 0}, "id": "org.example.reader", "subsystem": "reader", "version": "1.0.0",
        "name": "Reader", "vendor": "Example", "licence": "MIT", "rubric": "reader 1", "inputs": inputs,
        "criteria": criteria, "batch": "independent", "deterministic": true
    });
    let library = compile(&bench, &manifest(), "finish.so");
    trust(&bench, &library);
    trust(&bench, &compile(&bench, &reader, "reader.so"));
    import(&bench, &folder(&bench).0);
    let of = |name: &str| {
        let sheet = json_of(&bench, &["show", FULL]);
        let all = sheet["scores"]["criteria"].as_array().unwrap().clone();
        all.into_iter().find(|it| it["subsystem"] == "reader" && it["id"] == name).unwrap()
    };
    near(&of("film")["measure"], 0.15e-3);
    let sheet = json_of(&bench, &["show", FULL]);
    let height = found(&sheet["findings"], "address", "cabinet.outer_h");
    let load = found(&sheet["quantities"], "id", "load.z_min_ohm");
    near(&of("height")["measure"], height["si"].as_f64().unwrap());
    near(&of("load")["measure"], load["si"].as_f64().unwrap());

    revoke(&bench, &library);
    assert_eq!(of("film")["state"], "missing");
    let weights = "cabinet=0,driver=0,crossover=0,wiring=0,reader=1";
    let band = json_of(&bench, &["band", BAND, "--weights", weights]);
    let standing = found(&band["standings"], "product", FULL);
    assert_eq!(standing["missing"], json!([address("film")]));
}

#[test]
fn the_numbers_of_a_users_plugin_can_be_changed_as_those_of_this_build() {
    let (bench, _) = filled();
    let before = alone(&bench);
    let set = |address: &str, value: &str| {
        bench.run(&["rubric", "set", address, value, "--reason", "a test"]).done()
    };
    let _ = set("finish.criterion.surface.weight", "125");
    let after = alone(&bench);
    // (25·50 + 125·75 + 25·50 + 25·100) / 200
    near(&found(&after["standings"], "product", FULL)["index"]["value"], 71.875);
    let text = after["rubric"].as_str().unwrap();
    assert!(text.contains("finish 1 + 1 change"), "{text}");
    let history = json_of(&bench, &["rubric", "--history"]);
    assert_eq!(history["changes"][0]["value"], "125");
    let _ = set("subsystem.finish", "50");
    let band = json_of(&bench, &["band", BAND]);
    // 50 beside 25 + 35 + 30 + 10.
    near(&band["weights"]["finish"], 1.0 / 3.0);
    let _ = bench.run(&["rubric", "reset", "finish.criterion.surface.weight"]).done();
    let _ = bench.run(&["rubric", "reset", "subsystem.finish"]).done();
    assert_eq!(alone(&bench), before);
}

#[test]
fn a_manifest_that_cannot_be_had_is_refused_at_its_place() {
    let bench = Bench::seeded();
    let before = bench.files();
    let refused = |place: &str, manifest: &Value| {
        let library = compile(&bench, manifest, "bad.so");
        let errors =
            bench.run(&["plugin", "trust", "--json", library.to_str().unwrap()]).refusals();
        let message = errors[0]["message"].as_str().unwrap();
        assert!(message.contains(&format!("at `{place}`: ")), "{message}");
    };
    let mut part = manifest();
    part["findings"][0]["part"] = "lid".into();
    refused("findings[0].part", &part);
    let mut key = manifest();
    key["findings"][2]["key"] = "org.example.other.coats".into();
    refused("findings[2].key", &key);
    let mut unit = manifest();
    unit["inputs"][0]["unit"] = "mm".into();
    refused("inputs[0].unit", &unit);
    assert!(bench.files() == before, "the catalogue was changed");
}

/// The bench asks for them under the name of the plugin, and keeps what nobody can read any more from being typed over.
#[test]
fn the_bench_asks_for_them_under_the_plugins_name() {
    let (bench, library) = filled();
    let row = |product: &str, name: &str| -> Option<Value> {
        let report = json_of(&bench, &["bench", product]);
        let cabinet = found(&report["parts"], "part", "cabinet").clone();
        let mut rows = cabinet["rows"].as_array().unwrap().iter();
        rows.find(|it| it["address"] == address(name)).cloned()
    };
    let film = row(FULL, "film").unwrap();
    assert_eq!((&film["plugin"], &film["state"]), (&json!("Finish"), &json!("value")));
    assert_eq!((&film["typed"], &film["expected"]), (&json!("0.15 mm ± 0.01 mm"), &json!(true)));
    assert_eq!(row(GAP, "surface").unwrap()["state"], "could not tell");
    assert_eq!(row(SCANT, "surface").unwrap()["choices"], json!(SURFACES));
    revoke(&bench, &library);
    let film = row(FULL, "film").unwrap();
    assert!(film["locked"].as_str().unwrap().contains("not trusted here"), "{film}");
    assert_eq!(row(SCANT, "surface"), None);
}
