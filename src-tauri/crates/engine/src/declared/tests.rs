//! Manifests of invented plugins become entries, or are refused at their place.

use domain::{
    Date,
    dictionary::{Expected, Kind},
    evidence::Evidence,
    finding::{Answer, Value},
    part::{Part, Role},
    unit::Dimension,
};
use serde_json::{Value as Json, json};

use super::*;

const ID: &str = "org.example.finish";

fn manifest(version: &str, findings: &Json, inputs: &Json) -> Json {
    json!({
        "abi": {"major": 1, "minor": 0}, "id": ID, "subsystem": "finish", "version": version, "name": "Finish",
        "vendor": "Example", "licence": "MIT", "rubric": "finish 1", "inputs": inputs, "findings": findings,
        "criteria": [{"id": "own", "title": "Own", "unit": "1", "better": "higher", "range": [0, 100], "weight": 1,
                      "inputs": [inputs[0]["id"]], "doc": "d", "source": "editorial"}],
        "batch": "independent", "deterministic": true
    })
}

fn film() -> Json {
    json!({"key": "org.example.finish.film", "label": "film", "kind": "number", "unit": "mm", "part": "cabinet",
           "typical": [0.1, 0.4], "why": "wear"})
}

fn grille(words: &[&str]) -> Json {
    json!({"key": "org.example.finish.grille", "label": "grille", "kind": "choice", "choices": words,
           "part": "cabinet"})
}

fn reads(id: &str) -> Json {
    json!([{"id": id, "kind": "number", "unit": "m", "required": true}])
}

fn known(sha256: &str, manifest: &Json, is_trusted: bool) -> KnownManifest {
    KnownManifest { sha256: sha256.repeat(64), manifest: manifest.to_string(), is_trusted }
}

#[test]
fn a_manifest_becomes_entries() {
    let text = manifest(
        "1.0.0",
        &json!([
            film(),
            grille(&["none", "cloth"]),
            {"key": "org.example.finish.coats", "label": "coats", "kind": "count", "part": "cabinet", "typical": [1, 3]},
            {"key": "org.example.finish.scratched", "label": "scratched", "kind": "bool"}
        ]),
        &reads("cabinet.org.example.finish.film"),
    );
    let it = Declarations::of(&[known("a", &text, true)], &[]);
    assert_eq!(it.faults, [""; 0]);
    let find = |role, key: &str| it.dictionary.find(role, &format!("{ID}.{key}"));
    let film = find(Role::Cabinet, "film").unwrap();
    assert_eq!(film.kind, Kind::Number(Dimension::Length, "mm"));
    assert_eq!((film.label, film.why, film.expected), ("film", "wear", Expected::Always));
    // 1 mm lies outside the usual 0.1 to 0.4 mm.
    assert!(film.unusual(Role::Cabinet, 1e-3).is_some());
    let grille = find(Role::Cabinet, "grille").unwrap();
    assert_eq!((grille.accepted().as_str(), grille.expected), ("none, cloth", Expected::Optional));
    assert_eq!(find(Role::Cabinet, "coats").unwrap().kind, Kind::Count);
    assert_eq!(find(Role::Whole, "scratched").unwrap().kind, Kind::Flag);
    assert_eq!(Declarations::of(&[known("a", &text, false)], &[]).dictionary, Default::default());
}

#[test]
fn each_refusal_names_its_place_in_the_manifest() {
    let film_at = |pointer: &str, value: Json| {
        let mut it = film();
        it[pointer] = value;
        json!([it])
    };
    let own = "cabinet.org.example.finish.film";
    let cases = [
        (film_at("part", "grille".into()), reads(own), "findings[0].part"),
        (film_at("part", "woofer2".into()), reads(own), "findings[0].part"),
        (film_at("unit", "furlong".into()), reads(own), "findings[0].unit"),
        (film_at("kind", "curve".into()), reads(own), "findings[0].kind"),
        (film_at("kind", "bool".into()), reads(own), "findings[0].typical"),
        (json!([grille(&["not inspected"])]), reads("x"), "findings[0].choices[0]"),
        (json!([film()]), reads("whole.org.example.finish.film"), "inputs[0].id"),
        (json!([film()]), reads("cabinet.org.example.finish.flim"), "inputs[0].id"),
        (film_at("unit", "kg".into()), reads(own), "inputs[0].unit"),
        (json!([grille(&["none"])]), reads("cabinet.org.example.finish.grille"), "inputs[0].kind"),
        (json!([]), reads("cabinet.panel_material"), "inputs[0].kind"),
        (json!([]), reads("system.f3_hz"), "inputs[0].unit"),
        (json!([]), json!([{"id": "system.f3_hz", "kind": "count"}]), "inputs[0].kind"),
        (
            json!([]),
            json!([{"id": "cabinet.gasket", "kind": "choice", "choices": ["none", "foam"]}]),
            "inputs[0].choices",
        ),
    ];
    for (findings, inputs, place) in cases {
        let text = manifest("1.0.0", &findings, &inputs).to_string();
        let manifest = Manifest::parse(&text).unwrap();
        let why = check(&manifest, &Dictionary::standard()).unwrap_err().to_string();
        assert!(why.starts_with(&format!("manifest, at `{place}`: ")), "{why}");
    }
    for inputs in [
        reads(own),
        reads("cabinet.outer_h"),
        // Of a plugin that is not trusted yet.
        reads("cabinet.org.example.varnish.film"),
        json!([{"id": "cabinet.brace_count", "kind": "number"}]),
        json!([{"id": "cabinet.gasket", "kind": "choice", "choices": ["caulk", "foam", "none", "other"]}]),
    ] {
        let text = manifest("1.0.0", &json!([film()]), &inputs).to_string();
        let manifest = Manifest::parse(&text).unwrap();
        assert_eq!(check(&manifest, &Dictionary::standard()), Ok(()), "{inputs}");
    }
}

#[test]
fn a_key_belongs_to_one_plugin() {
    let theirs = manifest("1.0.0", &json!([film()]), &reads("cabinet.org.example.finish.film"));
    let now = Declarations::of(&[known("a", &theirs, true)], &[]).dictionary;
    let mut ours = theirs.clone();
    ours["id"] = "org.example".into();
    let of = |it: &Json| check(&Manifest::parse(&it.to_string()).unwrap(), &now);
    assert_eq!(
        of(&ours).unwrap_err().to_string(),
        "manifest, at `findings[0].key`: \"org.example.finish.film\" is declared by org.example.finish already"
    );
    // The next version of the same plugin declares it again.
    assert_eq!(of(&theirs), Ok(()));
    // Should a file hold both all the same, the first has it and the other is told.
    let both = Declarations::of(&[known("a", &theirs, true), known("b", &ours, true)], &[]);
    assert_eq!(both.faults.len(), 1, "{:?}", both.faults);
    assert_eq!(both.dictionary, now);
}

fn cloth(declarations: &Declarations) -> Finding {
    let (part, key) = (Part::first(Role::Cabinet), format!("{ID}.grille"));
    let answer = Answer::Value(Value::Choice("cloth".into()));
    Finding {
        part,
        declared: declarations.dictionary.declared(part, &key, "cloth", &answer),
        key,
        typed: "cloth".into(),
        unit: String::new(),
        answer,
        evidence: Evidence::Inspected,
        note: String::new(),
        date: "2026-06-02".parse::<Date>().unwrap(),
    }
}

#[test]
fn what_is_not_read_is_explained() {
    let of = |version: &str, findings: Json, is_trusted| {
        known("a", &manifest(version, &findings, &reads("cabinet.outer_h")), is_trusted)
    };
    let first = || json!([grille(&["none", "cloth"])]);
    let cases = [
        (vec![of("1.0.0", first(), true)], None, false),
        (
            vec![of("1.0.0", first(), false)],
            Some("recorded for org.example.finish (Finish), which is not trusted here"),
            true,
        ),
        (vec![], Some("recorded for org.example.finish, which is not trusted here"), true),
        (
            vec![
                of("2.0.0", json!([grille(&["open", "closed"])]), true),
                of("1.0.0", first(), false),
            ],
            Some(
                "recorded before org.example.finish 2.0.0, which asks for: open, closed; record it anew",
            ),
            false,
        ),
        (
            vec![of("2.0.0", json!([]), true), of("1.0.0", first(), false)],
            Some("recorded for org.example.finish, whose version 2.0.0 has no such finding"),
            false,
        ),
    ];
    for (manifests, why, waits) in cases {
        let it = Declarations::of(&manifests, &[]);
        let finding = cloth(&it);
        assert_eq!(it.unread(&finding).as_deref(), why);
        assert_eq!(it.waits(&finding), waits, "{why:?}");
    }
}

#[test]
fn a_manifest_that_cannot_be_read_is_told_and_costs_no_other() {
    let good = manifest("1.0.0", &json!([film()]), &reads("cabinet.outer_h"));
    let it =
        Declarations::of(&[known("b", &json!({"abi": 7}), true), known("a", &good, true)], &[]);
    assert_eq!(it.faults.len(), 1, "{:?}", it.faults);
    assert!(
        it.faults[0].starts_with("the plugin file bbbbbbbbbbbb: manifest, at "),
        "{:?}",
        it.faults
    );
    assert!(it.dictionary.find(Role::Cabinet, "org.example.finish.film").is_some());
}

#[test]
fn a_trusted_file_without_its_manifest_is_told() {
    let manifest = manifest("1.0.0", &json!([film()]), &reads("cabinet.outer_h"));
    let file = |digit: &str| Trusted { sha256: digit.repeat(64), path: format!("/p/{digit}.so") };
    let it = Declarations::of(&[known("a", &manifest, true)], &[file("a"), file("b")]);
    assert_eq!(it.faults.len(), 1, "{:?}", it.faults);
    assert!(it.faults[0].starts_with("/p/b.so was trusted before manifests"), "{:?}", it.faults);
}
