//! What the schema accepts and refuses, judged by a validator that is not ours.

use std::collections::BTreeSet;

use domain::dictionary::{self, Expected, Own, OwnKind, Typical};

use super::*;

use crate::plain::tests::GOOD;

fn validator() -> jsonschema::Validator {
    jsonschema::draft202012::new(&product_schema(&Dictionary::standard())).unwrap()
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
    jsonschema::draft202012::meta::validate(&product_schema(&Dictionary::standard())).unwrap();
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
    let schema = product_schema(&Dictionary::standard());
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
    let text = product_schema(&Dictionary::standard()).to_string();
    assert!(text.starts_with("{\"$defs\":{\"area\":{\"description\""), "{}", &text[..60]);
}

#[test]
fn findings_of_plugins_stand_beside_those_of_the_dictionary() {
    let mut dictionary = Dictionary::standard();
    let grilles = ["none", "cloth"].map(str::to_owned).to_vec();
    for (key, kind, why) in [
        ("film", OwnKind::Number(Dimension::Length, "mm"), "wear"),
        ("grille", OwnKind::Choice(grilles), ""),
    ] {
        let own = Own {
            plugin: "org.example.finish".into(),
            key: format!("org.example.finish.{key}"),
            role: Role::Cabinet,
            label: key.into(),
            kind,
            typical: Some(Typical { role: None, low: 0.1, high: 0.4 }),
            expected: Expected::Optional,
            why: why.into(),
        };
        dictionary.add(own).unwrap();
    }
    let schema = product_schema(&dictionary);
    let text = |key: &str| {
        let of = &schema["$defs"]["cabinet"]["properties"][format!("org.example.finish.{key}")];
        of["description"].as_str().unwrap().to_owned()
    };
    assert!(text("film").starts_with("film: wear. Accepted: a number with a unit: mm, "));
    assert!(text("film").ends_with(" Usual: 0.1 to 0.4 mm."), "{}", text("film"));
    assert!(text("grille").starts_with("grille. Accepted: none, cloth."), "{}", text("grille"));
    let validator = jsonschema::draft202012::new(&schema).unwrap();
    let cabinet = "[teardown.cabinet]\n";
    assert!(GOOD.contains(cabinet));
    for (line, fits) in [
        ("\"org.example.finish.film\" = \"0.2 mm\"", true),
        ("\"org.example.finish.film\" = { value = \"0.2 mm\", u = \"20 µm\" }", true),
        ("\"org.example.finish.grille\" = { state = \"not inspected\" }", true),
        ("\"org.example.finish.grille\" = \"wood\"", false),
        ("\"org.example.finish.gloss\" = \"high\"", false),
        ("org.example.finish.film = \"0.2 mm\"", false),
    ] {
        let file = GOOD.replacen(cabinet, &format!("{cabinet}{line}\n"), 1);
        assert_eq!(validator.is_valid(&as_json(&file)), fits, "{line}");
    }
    assert_eq!(
        objections(&GOOD.replacen(
            cabinet,
            &format!("{cabinet}\"org.example.finish.grille\" = \"cloth\"\n"),
            1
        )),
        ["/teardown/0/cabinet"]
    );
}
