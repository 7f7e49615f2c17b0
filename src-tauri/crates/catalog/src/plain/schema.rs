//! The JSON Schema of a product file, made from the findings dictionary.
//!
//! It is for editors. What depends on several places at once (paths, unique labels, networks) only the import checks.

mod part;
mod pattern;

use domain::{
    dictionary::{
        Dictionary, Kind,
        element::{self, ElementEntry},
    },
    evidence::Evidence,
    finding::{Gap, MAX_TEXT},
    money::Currency,
    network::ElementKind,
    part::Role,
    price::{PriceKind, Seller},
    product::{Acquired, ProductKind},
    unit::Dimension,
};
use serde_json::{Map, Value, json};

/// The dialect.
const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";

/// All control characters.
const CONTROL: &str = r"\u0000-\u001f\u007f-\u009f";

/// Control characters but tab and line break.
const CONTROL_IN_TEXT: &str = r"\u0000-\u0008\u000b-\u001f\u007f-\u009f";

/// Marks that turn the direction of writing.
const TURNING: &str = r"\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069";

/// The JSON Schema (draft 2020-12) of a product file with the findings of a dictionary. Keys come out sorted, so that two runs give one text.
#[must_use]
pub fn product_schema(dictionary: &Dictionary) -> Value {
    let schema = json!({
        "$schema": DIALECT,
        "title": "Product file of a plain loudspeaker catalogue, format 1",
        "description": "Made from the findings dictionary; do not edit. The import checks more than this schema can.",
        "type": "object",
        "additionalProperties": false,
        "required": ["maker", "model", "kind", "ways", "year"],
        "properties": {
            "maker": described("The maker's name as printed.", reference("name")),
            "model": described("The model's name as printed.", reference("name")),
            "kind": words("How the speaker stands.", ProductKind::ALL.iter().map(|it| it.word())),
            "ways": whole("The number of ways.", 1, 4),
            "powered": described("Whether it has an amplifier of its own; listed then, never scored.", json!({ "type": "boolean" })),
            "year": whole("The year it came out.", 1950, 2199),
            "note": described("A remark.", reference("note")),
            "price": list("A price as a shop shows it.", "price"),
            "specimen": list("A unit that was opened.", "specimen"),
            "stated": described("What the maker says; the evidence is always claimed.", reference("stated")),
            "teardown": list("A bench job on one specimen.", "teardown"),
        },
        "$defs": definitions(dictionary),
    });
    sorted(schema)
}

fn definitions(dictionary: &Dictionary) -> Value {
    let mut defs = Map::new();
    let mut define = |name: &str, schema: Value| defs.insert(name.to_owned(), schema);
    define(
        "name",
        json!({
            "type": "string", "minLength": 1, "maxLength": 80, "pattern": format!("^[^{CONTROL}{TURNING}]+$"),
        }),
    );
    define(
        "note",
        json!({ "type": "string", "maxLength": MAX_TEXT, "pattern": format!("^[^{CONTROL_IN_TEXT}]*$") }),
    );
    define(
        "day",
        json!({
            "type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$", "description": "A full day, YYYY-MM-DD.",
        }),
    );
    define("evidence", words("How it is known.", Evidence::ALL.iter().map(|it| it.word())));
    define(
        "state",
        words(
            "Why there is no value; none of these means absent.",
            Gap::ALL.iter().map(|it| it.word()),
        ),
    );
    for dimension in Dimension::ALL {
        define(
            dimension.name(),
            json!({
                "type": "string",
                "description": format!("A {} as text with a unit: {}.", dimension.name(), dimension.accepted()),
                "pattern": pattern::reading(*dimension),
                "maxLength": 64,
            }),
        );
    }
    for role in Role::ALL {
        define(role.word(), part::part(dictionary, *role));
    }
    define("stated", table(&["date"], &[("date", reference("day"))], true));
    define(
        "teardown",
        table(
            &["specimen", "date"],
            &[
                ("specimen", described("The label of a [[specimen]].", reference("name"))),
                ("date", reference("day")),
                ("note", described("A remark.", reference("note"))),
                ("element", list("An element of the network, in the order traced.", "element")),
                ("sweep", list("An impedance sweep.", "sweep")),
            ],
            true,
        ),
    );
    define("price", price());
    define(
        "specimen",
        table(
            &["label", "acquired"],
            &[
                (
                    "label",
                    described("Your own label, unique within the product.", reference("name")),
                ),
                (
                    "acquired",
                    words("How it was come by.", Acquired::ALL.iter().map(|it| it.word())),
                ),
                ("serial", described("The serial number.", reference("name"))),
            ],
            false,
        ),
    );
    define(
        "sweep",
        table(
            &["part", "file"],
            &[
                (
                    "part",
                    json!({
                        "type": "string",
                        "pattern": "^(?:whole|(?:woofer|midrange|tweeter)[2-9]?)$",
                        "description": "whole: at the terminals of the finished speaker; a driver: in free air.",
                    }),
                ),
                (
                    "file",
                    json!({
                        "type": "string",
                        "pattern": r"^(?!/)(?!.*\\)(?!(?:.*/)?\.\.?(?:/|$)).+$",
                        "description": "The file of columns, from the folder of catalogue.toml, with forward slashes.",
                    }),
                ),
                ("note", described("A remark.", reference("note"))),
            ],
            false,
        ),
    );
    define("element", element());
    Value::Object(defs)
}

fn price() -> Value {
    let mut schema = table(
        &["amount", "basis", "date", "kind", "seller"],
        &[
            (
                "amount",
                json!({
                    "type": "string",
                    "pattern": r"^[0-9]{1,7}(?:\.[0-9]{1,2})?$",
                    "description": "Digits with at most two decimals, as text.",
                }),
            ),
            (
                "currency",
                words(
                    "The catalogue's currency by default.",
                    Currency::ALL.iter().map(|it| it.word()),
                ),
            ),
            ("basis", words("What the amount buys.", ["each", "pair", "set"].into_iter())),
            ("count", whole("How many speakers are in the set.", 1, 99)),
            (
                "date",
                json!({
                    "type": "string",
                    "pattern": "^[0-9]{4}(?:-[0-9]{2}(?:-[0-9]{2})?)?$",
                    "description": "YYYY-MM-DD, YYYY-MM or YYYY.",
                }),
            ),
            (
                "kind",
                words("What kind of price it was.", PriceKind::ALL.iter().map(|it| it.word())),
            ),
            ("seller", words("Who asked it.", Seller::ALL.iter().map(|it| it.word()))),
            (
                "shop",
                described(
                    "Tells several prices of one day, kind and seller apart.",
                    reference("name"),
                ),
            ),
            ("note", described("A remark.", reference("note"))),
        ],
        false,
    );
    schema["if"] = json!({ "required": ["basis"], "properties": { "basis": { "const": "set" } } });
    schema["then"] = json!({ "required": ["count"] });
    schema["else"] = json!({ "properties": { "count": false } });
    schema
}

fn element() -> Value {
    let keys = element::keys();
    let properties: Vec<(&str, Value)> = keys.iter().map(|key| (*key, element_key(key))).collect();
    let mut schema = table(&["name", "kind", "nodes"], &properties, false);
    // What may stand beside the kind depends on it.
    let case = |kind: &ElementKind| {
        let mut then = json!({ "properties": {} });
        for key in &keys {
            match element::find(*kind, key) {
                None => then["properties"][*key] = Value::Bool(false),
                Some(it) if it.kinds.len() < ElementKind::ALL.len() && *key != "part" => {
                    then["properties"][*key] = element_value(it);
                }
                Some(_) => {}
            }
        }
        let needed = if *kind == ElementKind::Driver { "part" } else { "value" };
        then["required"] = json!([needed]);
        json!({
            "if": { "required": ["kind"], "properties": { "kind": { "const": kind.word() } } },
            "then": then,
        })
    };
    schema["allOf"] = ElementKind::ALL.iter().map(case).collect();
    schema
}

/// What a key of an element may hold before its kind is known.
fn element_key(key: &str) -> Value {
    let entries: Vec<_> = element::entries().filter(|it| it.key == key).collect();
    let mut schema = match (key, entries.as_slice()) {
        ("name", _) => reference("name"),
        ("nodes", _) => json!({
            "type": "array", "items": reference("name"), "minItems": 2, "maxItems": 2, "uniqueItems": true,
        }),
        ("part", _) => {
            json!({ "type": "string", "pattern": "^(?:woofer|midrange|tweeter)[2-9]?$" })
        }
        (_, [only]) => element_value(only),
        _ => json!({ "type": "string" }),
    };
    let forms: Vec<String> = entries
        .iter()
        .map(|it| {
            let kinds: Vec<&str> = it.kinds.iter().map(|it| it.word()).collect();
            let accepted = match key {
                "nodes" => element::NODES.to_owned(),
                "part" => "woofer, midrange, tweeter; 2 to 9 behind it for further ones".to_owned(),
                _ => it.kind.accepted(),
            };
            let usual = match (it.typical, it.kind) {
                (Some(usual), Kind::Number(_, unit)) => {
                    format!(" Usual: {} to {} {unit}.", usual.low, usual.high)
                }
                _ => String::new(),
            };
            let of = if it.kinds == ElementKind::ALL {
                String::new()
            } else {
                format!("Of {}: ", kinds.join(", "))
            };
            format!("{of}{}: {}. Accepted: {accepted}.{usual}", it.label, it.why)
        })
        .collect();
    schema["description"] = forms.join(" ").into();
    schema
}

fn element_value(entry: &ElementEntry) -> Value {
    match entry.kind {
        Kind::Number(dimension, _) => reference(dimension.name()),
        Kind::Choice(words) => json!({ "enum": words.iter().collect::<Vec<_>>() }),
        _ => reference("note"),
    }
}

/// A table of known keys, with or without a table for each part.
fn table(required: &[&str], properties: &[(&str, Value)], has_parts: bool) -> Value {
    let mut known: Map<String, Value> =
        properties.iter().map(|(key, it)| ((*key).to_owned(), it.clone())).collect();
    let mut schema = json!({ "type": "object", "additionalProperties": false });
    if has_parts {
        for role in Role::ALL {
            known.insert(role.word().to_owned(), reference(role.word()));
            if role.is_driver() {
                schema["patternProperties"][format!("^{}[2-9]$", role.word())] =
                    reference(role.word());
            }
        }
    }
    schema["properties"] = Value::Object(known);
    if !required.is_empty() {
        schema["required"] = json!(required);
    }
    schema
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/$defs/{}", name.replace(' ', "%20")) })
}

fn described(description: &str, mut schema: Value) -> Value {
    schema["description"] = description.into();
    schema
}

fn list(description: &str, item: &str) -> Value {
    json!({ "type": "array", "description": description, "items": reference(item) })
}

fn words<'a>(description: &str, words: impl Iterator<Item = &'a str>) -> Value {
    json!({ "description": description, "enum": words.collect::<Vec<_>>() })
}

fn whole(description: &str, low: i64, high: i64) -> Value {
    json!({ "type": "integer", "minimum": low, "maximum": high, "description": description })
}

/// Sorts the keys of all objects, whichever order the JSON library was built to keep.
fn sorted(value: Value) -> Value {
    match value {
        Value::Object(map) => {
            let ordered: std::collections::BTreeMap<String, Value> =
                map.into_iter().map(|(key, it)| (key, sorted(it))).collect();
            Value::Object(ordered.into_iter().collect())
        }
        Value::Array(list) => Value::Array(list.into_iter().map(sorted).collect()),
        other => other,
    }
}

#[cfg(test)]
mod tests;
