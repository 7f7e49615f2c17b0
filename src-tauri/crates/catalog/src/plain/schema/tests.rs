//! What the schema accepts and refuses, judged by a validator that is not ours.

use std::collections::BTreeSet;

use domain::dictionary;

use super::*;

use crate::plain::tests::GOOD;

fn validator() -> jsonschema::Validator {
    jsonschema::draft202012::new(&product_schema()).unwrap()
}

fn as_json(text: &str) -> Value {
    toml::from_str(text).unwrap()
}

/// The places that the validator objects to.
fn objections(text: &str) -> Vec<String> {
    validator().iter_errors(&as_json(text)).map(|it| it.instance_path().to_string()).collect()
}

#[test]
fn the_schema_is_one() {
    jsonschema::draft202012::meta::validate(&product_schema()).unwrap();
}

#[test]
fn a_good_file_passes() {
    assert_eq!(objections(GOOD), [""; 0]);
}

#[test]
fn what_the_import_refuses_is_refused_here_too() {
    for (good, bad, place) in [
        ("kind = \"stand-mount\"", "kind = \"shelf\"", "/kind"),
        ("ways = 2", "ways = 5", "/ways"),
        ("year = 2021", "", ""),
        ("powered = false", "colour = \"red\"", ""),
        ("maker = \"Alder & Fen\"", "maker = \"Alder\\u202e\"", "/maker"),
        ("amount = \"249.00\"", "amount = 249.0", "/price/0/amount"),
        ("basis = \"pair\"", "basis = \"set\"", "/price/0"),
        ("basis = \"pair\"", "basis = \"pair\"\ncount = 2", "/price/0/count"),
        ("acquired = \"retail\"", "acquired = \"bought\"", "/specimen/0/acquired"),
        ("date = \"2026-06-02\"", "date = \"2026-06\"", "/teardown/0/date"),
        ("outer_h = \"312 mm\"", "outer_h = \"312\"", "/teardown/0/cabinet/outer_h"),
        ("outer_h = \"312 mm\"", "outer_hh = \"312 mm\"", "/teardown/0/cabinet"),
        ("panel_thick.front", "panel_thick.frnt", "/teardown/0/cabinet/panel_thick"),
        ("leak_found = \"no\"", "leak_found = \"false\"", "/teardown/0/cabinet/leak_found"),
        ("value = \"mdf\"", "value = \"wood\"", "/teardown/0/cabinet/panel_material"),
        ("state = \"not inspected\"", "state = \"absent\"", "/teardown/0/cabinet/lining_thick"),
        (
            "state = \"not inspected\"",
            "state = \"not inspected\", value = \"1 mm\"",
            "/teardown/0/cabinet/lining_thick",
        ),
        ("[teardown.wiring]", "[teardown.cables]", "/teardown/0"),
        ("value = \"5.6 µF\"", "value = \"5.6 mH\"", "/teardown/0/element/0/value"),
        ("construction = \"poly", "construction = \"Poly", "/teardown/0/element/0/construction"),
        ("rating = \"250 V\"", "rating = \"250 W\"", "/teardown/0/element/0/rating"),
        (
            "part = \"tweeter\"",
            "part = \"tweeter\"\nrating = \"5 W\"",
            "/teardown/0/element/1/rating",
        ),
        ("part = \"tweeter\"", "part = \"cabinet\"", "/teardown/0/element/1/part"),
        ("nodes = [\"a\", \"0\"]", "nodes = [\"a\", \"a\"]", "/teardown/0/element/1/nodes"),
        ("file = \"sweeps/", "file = \"../sweeps/", "/teardown/0/sweep/0/file"),
    ] {
        assert!(GOOD.contains(good), "{good}");
        let places = objections(&GOOD.replacen(good, bad, 1));
        assert_eq!(places, [place], "{bad}");
    }
}

#[test]
fn each_dictionary_entry_stands_under_each_of_its_roles() {
    let schema = product_schema();
    let mut in_dictionary = BTreeSet::new();
    for entry in dictionary::entries() {
        for role in entry.roles {
            in_dictionary.insert(format!("{}.{}", role.word(), entry.key));
            let path = entry.key.replace('.', "/properties/");
            let found = schema
                .pointer(&format!("/$defs/{}/properties/{path}/description", role.word()))
                .and_then(Value::as_str)
                .unwrap_or_default();
            assert!(
                found.starts_with(&format!("{}: {}.", entry.label, entry.why))
                    && found.contains(&entry.accepted()),
                "{}.{}: {found:?}",
                role.word(),
                entry.key
            );
        }
    }
    let mut in_schema = BTreeSet::new();
    for role in Role::ALL {
        collect(&schema["$defs"][role.word()], role.word(), &mut in_schema);
    }
    assert_eq!(in_schema, in_dictionary);
}

/// The addresses of all findings under a part.
fn collect(schema: &Value, path: &str, into: &mut BTreeSet<String>) {
    for (key, it) in schema["properties"].as_object().unwrap() {
        let path = format!("{path}.{key}");
        if it.get("anyOf").is_some() {
            into.insert(path);
        } else {
            collect(it, &path, into);
        }
    }
}

#[test]
fn keys_are_sorted() {
    let text = product_schema().to_string();
    assert!(text.starts_with("{\"$defs\":{\"area\":{\"description\""), "{}", &text[..60]);
}
