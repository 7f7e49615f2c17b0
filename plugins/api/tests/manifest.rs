//! Tests of the manifest: what is refused is refused at its path, and the schema file says the same as the types.

#![expect(clippy::unwrap_used, reason = "helpers of tests fail like tests")]

use std::{fs, path::Path};

use bw_sdk::manifest::{Better, MAX_BYTES, Manifest, ManifestError, Utility, render};
use jsonschema::Validator;
use serde_json::{Value, json};

/// A manifest that uses every key.
fn full() -> Value {
    json!({
        "abi": {"major": 1, "minor": 0}, "id": "org.example.wall", "subsystem": "wall", "version": "1.0.0",
        "name": "Wall", "vendor": "Example", "licence": "MIT", "rubric": "wall 1",
        "inputs": [
            {"id": "cabinet.wall", "kind": "number", "unit": "m", "required": true},
            {"id": "cabinet.material", "kind": "choice", "unit": "1", "choices": ["mdf", "ply"]},
            {"id": "impedance", "kind": "curve", "unit": "ohm", "x_unit": "Hz"},
        ],
        "params": [{"id": "limit", "unit": "mm", "default": 12, "min": 1, "max": 50, "doc": "Thin below this.",
                    "source": "editorial"}],
        "criteria": [
            {"id": "thickness", "title": "Wall thickness", "unit": "mm", "better": "higher", "range": [0, null],
             "weight": 2, "inputs": ["cabinet.wall", "impedance"], "doc": "Thicker walls bend less.",
             "source": "editorial", "utility": {"scale": "log", "points": [[9, 0], [25, 100]]},
             "bonus": {"points": 10, "inputs": ["cabinet.wall"]}},
            {"id": "board", "title": "Board", "unit": "1", "better": "target", "range": [0, 100],
             "weight": 0.5, "inputs": ["cabinet.material"], "doc": "Board by kind.", "source": "editorial"},
            {"id": "kind", "title": "Kind of board", "unit": "1", "better": "higher", "range": [0, 1], "weight": 1,
             "inputs": ["cabinet.wall", "cabinet.material"], "doc": "Board by kind.", "source": "editorial",
             "utility": {"scale": "choice", "points": {"mdf": 40, "ply": 90}, "input": "cabinet.material"}},
        ],
        "remarks": [{"code": "thin", "severity": "caution", "text": "wall of {0:.1} mm",
                     "cap": 60, "args": [{"id": "wall", "unit": "mm"}]}],
        "findings": [{"key": "org.example.wall.knock", "label": "Knock", "kind": "choice", "unit": "1",
                      "choices": ["dull", "bright"], "part": "cabinet", "why": "Quick to do."},
                     {"key": "org.example.wall.mass", "label": "Mass", "kind": "number", "unit": "kg",
                      "typical": [1, 30]}],
        "batch": "independent", "deterministic": true, "x-unknown": [1, 2],
    })
}

fn parse(value: &Value) -> Result<Manifest, ManifestError> {
    Manifest::parse(&value.to_string())
}

fn schema() -> Value {
    serde_json::from_str(include_str!("../manifest.schema.json")).unwrap()
}

fn validator() -> Validator {
    jsonschema::draft202012::new(&schema()).unwrap()
}

/// The full manifest with the value at a JSON pointer replaced.
fn with(pointer: &str, value: Value) -> Value {
    let mut whole = full();
    *whole.pointer_mut(pointer).expect("the pointer leads somewhere") = value;
    whole
}

/// Faults that a schema cannot state: one value against another, ids that are unique or must exist, placeholders.
const BEYOND_SCHEMA: &[(&str, &str)] = &[
    ("/inputs/1/id", "inputs[0]"),
    ("/params/0/default", "outside 1..50"),
    ("/params/0/max", "below min"),
    ("/criteria/0/range", "not above"),
    ("/criteria/0/inputs/1", "not an input"),
    ("/criteria/0/utility/points/1/0", "not above 9"),
    ("/criteria/0/bonus/inputs/0", "not an input of the criterion"),
    ("/criteria/0/bonus/inputs/0", "neither a number"),
    ("/criteria/2/utility/input", "not an input"),
    ("/criteria/2/utility/input", "not a choice"),
    ("/criteria/2/inputs", "not an input"),
    ("/criteria/2/utility", "no points"),
    ("/criteria/2/utility/points", "accepted: mdf, ply"),
    ("/criteria/2/range", "[0, 1]"),
    ("/criteria/1/id", "criteria[0]"),
    ("/remarks/0/text", "args has 1"),
    ("/remarks/0/text", "never closed"),
    ("/remarks/0/text", "never opened"),
    ("/remarks/0/text", "placeholder"),
    ("/findings/0/key", "org.example.wall."),
    ("/findings/1/typical", "not above"),
];

#[test]
fn full_manifest_is_read() {
    let manifest = parse(&full()).unwrap();
    assert_eq!(manifest.criteria[0].better, Better::Higher);
    assert_eq!(manifest.criteria[0].range, [Some(0.0), None]);
    assert!(matches!(manifest.criteria[0].utility, Some(Utility::Log { .. })));
    assert_eq!(manifest.words(&manifest.criteria[2]).unwrap(), ["mdf", "ply"]);
    assert_eq!(manifest.words(&manifest.criteria[0]), None);
    assert_eq!(manifest.input_index("impedance"), Some(2));
    assert_eq!(manifest.default_params(), [12.0]);
    let again = serde_json::to_string(&manifest).unwrap();
    assert_eq!(Manifest::parse(&again).unwrap(), manifest);
}

#[test]
fn faults_are_refused_at_their_path() {
    // JSON pointer, what is put there, path and a part of the text expected.
    let cases = [
        ("/abi/major", json!(2), "abi.major", "speaks 1"),
        ("/abi/minor", json!(-1), "abi.minor", "invalid value"),
        ("/id", json!("wall"), "id", "reversed domain"),
        ("/id", json!("org..wall"), "id", "reversed domain"),
        ("/id", json!("Org.Wall"), "id", "not an id"),
        ("/subsystem", json!("a.b"), "subsystem", "one word"),
        ("/name", json!("  "), "name", "empty"),
        ("/name", json!("a\u{7}"), "name", "control character"),
        ("/vendor", json!("v".repeat(5000)), "vendor", "4096"),
        ("/inputs", json!({}), "inputs", "invalid type"),
        ("/inputs/0/kind", json!("text"), "inputs[0].kind", "unknown variant"),
        ("/inputs/0/unit", json!("m s"), "inputs[0].unit", "not a unit"),
        ("/inputs/1/id", json!("cabinet.wall"), "inputs[1].id", "inputs[0]"),
        ("/inputs/1/choices", json!([]), "inputs[1].choices", "lists its values"),
        ("/inputs/1/choices", json!(["a", "a"]), "inputs[1].choices[1]", "twice"),
        ("/inputs/1/kind", json!("count"), "inputs[1].choices", "only a choice"),
        ("/inputs/2/x_unit", json!(null), "inputs[2].x_unit", "states the unit"),
        ("/inputs/2/kind", json!("number"), "inputs[2].x_unit", "only a curve"),
        ("/params/0/default", json!(51), "params[0].default", "outside 1..50"),
        ("/params/0/max", json!(0), "params[0].max", "below min"),
        ("/criteria", json!([]), "criteria", "at least one"),
        ("/criteria/0/weight", json!(0), "criteria[0].weight", "above 0"),
        ("/criteria/0/better", json!("more"), "criteria[0].better", "unknown variant"),
        ("/criteria/0/range", json!([5, 5]), "criteria[0].range", "not above"),
        ("/criteria/0/range", json!([0]), "criteria[0].range", "length"),
        ("/criteria/0/inputs", json!([]), "criteria[0].inputs", "at least one"),
        ("/criteria/0/inputs/1", json!("cabinet.depth"), "criteria[0].inputs[1]", "not an input"),
        ("/criteria/0/utility/points", json!([[1, 0]]), "criteria[0].utility.points", "two points"),
        (
            "/criteria/0/utility/points/1/0",
            json!(9),
            "criteria[0].utility.points[1][0]",
            "not above 9",
        ),
        (
            "/criteria/0/utility/points/1/1",
            json!(101),
            "criteria[0].utility.points[1][1]",
            "0..100",
        ),
        (
            "/criteria/0/utility/points/0/0",
            json!(0),
            "criteria[0].utility.points[0][0]",
            "log scale",
        ),
        (
            "/criteria/0/utility/scale",
            json!("cubic"),
            "criteria[0].utility.scale",
            "unknown variant",
        ),
        ("/criteria/0/bonus/points", json!(0), "criteria[0].bonus.points", "above 0"),
        ("/criteria/0/bonus/inputs", json!([]), "criteria[0].bonus.inputs", "for an input"),
        (
            "/criteria/0/bonus/inputs/0",
            json!("cabinet.material"),
            "criteria[0].bonus.inputs[0]",
            "not an input of the criterion",
        ),
        (
            "/criteria/0/bonus/inputs/0",
            json!("impedance"),
            "criteria[0].bonus.inputs[0]",
            "neither a number",
        ),
        (
            "/criteria/2/utility/input",
            json!("impedance"),
            "criteria[2].utility.input",
            "not an input",
        ),
        (
            "/criteria/2/utility/input",
            json!("cabinet.wall"),
            "criteria[2].utility.input",
            "not a choice",
        ),
        (
            "/criteria/2/inputs",
            json!(["cabinet.wall"]),
            "criteria[2].utility.input",
            "not an input",
        ),
        (
            "/criteria/2/utility",
            json!({"scale": "choice", "points": {"mdf": 40}}),
            "criteria[2].utility.points.ply",
            "no points",
        ),
        (
            "/criteria/2/utility/points",
            json!({"mdf": 40, "ply": 90, "oak": 100}),
            "criteria[2].utility.points.oak",
            "accepted: mdf, ply",
        ),
        ("/criteria/2/utility/points/ply", json!(101), "criteria[2].utility.points.ply", "0..100"),
        ("/criteria/2/range", json!([0, 2]), "criteria[2].range", "[0, 1]"),
        ("/criteria/1/id", json!("thickness"), "criteria[1].id", "criteria[0]"),
        ("/criteria/1/range", json!([0, 10]), "criteria[1].range", "[0, 100]"),
        ("/remarks/0/severity", json!("fatal"), "remarks[0].severity", "unknown variant"),
        ("/remarks/0/cap", json!(101), "remarks[0].cap", "outside 0..100"),
        ("/remarks/0/cap", json!(40.5), "remarks[0].cap", "invalid type"),
        ("/remarks/0/text", json!("{1}"), "remarks[0].text", "args has 1"),
        ("/remarks/0/text", json!("{0"), "remarks[0].text", "never closed"),
        ("/remarks/0/text", json!("0}"), "remarks[0].text", "never opened"),
        ("/remarks/0/text", json!("{0:x}"), "remarks[0].text", "placeholder"),
        ("/remarks/0/args/0/unit", json!(""), "remarks[0].args[0].unit", "not a unit"),
        ("/findings/0/key", json!("knock"), "findings[0].key", "org.example.wall."),
        ("/findings/1/typical", json!([30, 1]), "findings[1].typical", "not above"),
        ("/findings/0/choices", json!([]), "findings[0].choices", "lists its values"),
        ("/findings/0/kind", json!("bool"), "findings[0].choices", "only a choice"),
        ("/findings/1/unit", json!("k g"), "findings[1].unit", "not a unit"),
        ("/batch", json!("whole"), "batch", "unknown variant"),
        ("/deterministic", json!("yes"), "deterministic", "invalid type"),
    ];
    let schema = validator();
    for (pointer, value, path, text) in cases {
        let manifest = with(pointer, value);
        let error = parse(&manifest).expect_err(pointer);
        assert_eq!(error.path(), Some(path), "{pointer}: {error}");
        assert!(error.to_string().contains(text), "{pointer}: {error}");
        let is_silent = BEYOND_SCHEMA.contains(&(pointer, text));
        assert_eq!(schema.is_valid(&manifest), is_silent, "{pointer}: {text}");
    }
}

#[test]
fn without_a_name_the_first_choice_is_the_one() {
    let table = json!({"scale": "choice", "points": {"mdf": 40, "ply": 90}});
    let manifest = parse(&with("/criteria/2/utility", table.clone())).unwrap();
    assert_eq!(manifest.words(&manifest.criteria[2]).unwrap(), ["mdf", "ply"]);
    let error = parse(&with("/criteria/0/utility", table)).unwrap_err();
    assert_eq!(error.path(), Some("criteria[0].utility"), "{error}");
    assert!(error.to_string().contains("is a choice"), "{error}");
}

#[test]
fn text_that_is_not_json_is_refused_with_its_position() {
    let error = Manifest::parse("{\n  \"abi\": ?").unwrap_err();
    assert!(error.to_string().contains("line 2, column 10"), "{error}");
    let error = Manifest::parse(&format!("{} x", full())).unwrap_err();
    assert!(error.to_string().contains("trailing characters"), "{error}");
    let padded = format!("{}{}", " ".repeat(MAX_BYTES), full());
    assert!(matches!(Manifest::parse(&padded), Err(ManifestError::TooLong { .. })));
}

/// The schema's required keys are those that [`Manifest::parse`] wants, and its properties are those the types know.
#[test]
fn schema_and_types_agree() {
    let (schema, validator) = (schema(), validator());
    let known = serde_json::to_value(parse(&full()).unwrap()).unwrap();
    for (pointer, part) in [
        ("", schema.clone()),
        ("/abi", schema["properties"]["abi"].clone()),
        ("/inputs/2", schema["$defs"]["input"].clone()),
        ("/params/0", schema["$defs"]["param"].clone()),
        ("/criteria/0", schema["$defs"]["criterion"].clone()),
        ("/criteria/0/bonus", schema["$defs"]["criterion"]["properties"]["bonus"].clone()),
        ("/criteria/0/utility", schema["$defs"]["curve"].clone()),
        ("/criteria/2/utility", schema["$defs"]["table"].clone()),
        ("/remarks/0", schema["$defs"]["remark"].clone()),
        ("/remarks/0/args/0", schema["$defs"]["remark"]["properties"]["args"]["items"].clone()),
        ("/findings/1", schema["$defs"]["finding"].clone()),
    ] {
        let required: Vec<&str> =
            part["required"].as_array().unwrap().iter().map(|it| it.as_str().unwrap()).collect();
        let properties = part["properties"].as_object().unwrap();
        let written = known.pointer(pointer).unwrap().as_object().unwrap();
        for key in written.keys() {
            assert!(properties.contains_key(key), "schema lacks {pointer}/{key}");
        }
        for key in properties.keys() {
            let mut without = full();
            let object = without.pointer_mut(pointer).unwrap().as_object_mut().unwrap();
            if object.remove(key).is_none() {
                continue;
            }
            let missing =
                parse(&without).err().is_some_and(|it| it.to_string().contains("missing field"));
            assert_eq!(missing, required.contains(&key.as_str()), "{pointer}/{key}");
            if missing || parse(&without).is_ok() {
                assert_eq!(validator.is_valid(&without), !missing, "{pointer}/{key}");
            }
        }
    }
}

/// Every key says what it means, so that an editor can.
#[test]
fn each_property_of_the_schema_is_described() {
    let schema = schema();
    let mut pending = vec![(String::new(), &schema)];
    let mut n_properties = 0;
    while let Some((path, part)) = pending.pop() {
        // A condition names properties that are described where they are declared.
        let Value::Object(part) = part else { continue };
        for (key, inner) in
            part.iter().filter(|(key, _)| !["if", "then", "else"].contains(&key.as_str()))
        {
            let at = format!("{path}/{key}");
            if key == "properties" {
                for (name, property) in inner.as_object().unwrap() {
                    n_properties += 1;
                    let of = property["$ref"]
                        .as_str()
                        .map_or(property, |it| schema.pointer(it.trim_start_matches('#')).unwrap());
                    let said = property["description"].as_str().or(of["description"].as_str());
                    assert!(said.is_some_and(|it| it.len() > 4), "{at}/{name} is not described");
                }
            }
            pending.push((at, inner));
        }
    }
    assert!(n_properties > 60, "{n_properties}");
}

/// The manifests of this repository are good by both.
#[test]
fn schema_and_types_take_the_same_good_manifests() {
    let plugins = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let validator = validator();
    for name in ["cabinet", "crossover", "driver", "wiring", "examples/rust"] {
        let text = fs::read_to_string(plugins.join(name).join("manifest.json")).unwrap();
        let value: Value = serde_json::from_str(&text).unwrap();
        if let Err(why) = validator.validate(&value) {
            panic!("{name}: {} {why}", why.instance_path());
        }
        assert!(Manifest::parse(&text).is_ok(), "{name}");
    }
    assert!(validator.is_valid(&full()));
}

#[test]
fn scores_outside_the_range_are_not_accepted() {
    let manifest = parse(&full()).unwrap();
    let open = &manifest.criteria[0];
    for score in [0.0, 1e300, f64::NAN, f64::NEG_INFINITY] {
        assert!(open.accepts(score), "{score}");
    }
    for score in [-1e-9, f64::INFINITY] {
        assert!(!open.accepts(score), "{score}");
    }
    assert!(!manifest.criteria[1].accepts(100.5));
    let choice = &manifest.criteria[2];
    assert!(choice.accepts(1.0) && choice.accepts(f64::NAN) && choice.accepts(f64::NEG_INFINITY));
    assert!(!choice.accepts(0.5) && !choice.accepts(2.0));
}

#[test]
fn numbers_are_put_into_texts() {
    assert_eq!(render("{0} and {1:.2}", &[3.0, 2.0]), "3 and 2.00");
    assert_eq!(render("{{{0:.0}}}", &[7.6]), "{8}");
    assert_eq!(render("{0} {1}", &[f64::NAN]), "unknown unknown");
    assert_eq!(render("{0:.1} {1}", &[-0.04, -0.0]), "0.0 0");
    assert_eq!(render("{0:.1}", &[-0.06]), "-0.1");
    assert_eq!(render("no } pair", &[1.0]), "no } pair");
}
