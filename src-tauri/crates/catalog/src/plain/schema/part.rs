//! The findings of a part, from the dictionary.

use domain::{
    dictionary::{Dictionary, Entry, Kind},
    part::Role,
};
use serde_json::{Value, json};

use super::{described, pattern, reference, table};

/// The findings of a role; dotted keys nest as TOML nests them, those of plugins stand as they are.
pub(super) fn part(dictionary: &Dictionary, role: Role) -> Value {
    let mut schema = table(&[], &[], false);
    for entry in dictionary.entries_of(role) {
        let is_own = dictionary.own_keys(role).any(|it| it == entry.key);
        let mut keys: Vec<&str> =
            if is_own { vec![entry.key] } else { entry.key.split('.').collect() };
        let last = keys.pop().unwrap_or_default();
        let mut place = &mut schema;
        for key in keys {
            let below = &mut place["properties"][key];
            if below.is_null() {
                *below = table(&[], &[], false);
            }
            place = below;
        }
        place["properties"][last] = finding(&entry, role);
    }
    schema
}

/// A finding in its short or long form.
fn finding(entry: &Entry<'_>, role: Role) -> Value {
    let value = match entry.kind {
        Kind::Number(dimension, _) => reference(dimension.name()),
        Kind::Numbers(dimension, _) => {
            json!({ "type": "string", "pattern": pattern::list(dimension) })
        }
        Kind::Choice(choices) => json!({ "enum": choices.iter().collect::<Vec<_>>() }),
        Kind::Count => json!({ "type": "string", "pattern": "^ *[0-9]{1,10} *$" }),
        Kind::Flag => json!({ "enum": ["yes", "no"] }),
        Kind::Text => reference("note"),
    };
    let mut long = table(
        &[],
        &[
            ("value", value.clone()),
            ("evidence", reference("evidence")),
            ("note", reference("note")),
            ("state", reference("state")),
        ],
        false,
    );
    if let Kind::Number(dimension, _) = entry.kind {
        long["properties"]["u"] =
            described("Standard uncertainty (k = 1), with a unit.", reference(dimension.name()));
        long["dependentRequired"] = json!({ "u": ["value"] });
    }
    long["oneOf"] = json!([{ "required": ["value"] }, { "required": ["state"] }]);
    let usual = entry.typical_for(role).map(|it| {
        let unit = match entry.kind {
            Kind::Number(_, unit) | Kind::Numbers(_, unit) if !unit.is_empty() => {
                format!(" {unit}")
            }
            _ => String::new(),
        };
        format!(" Usual: {} to {}{unit}.", it.low, it.high)
    });
    let why = entry.why.trim_end_matches('.');
    let why = if why.is_empty() { String::new() } else { format!(": {why}") };
    json!({
        "title": entry.label,
        "description": format!(
            "{}{why}. Accepted: {}.{}", entry.label, entry.accepted(), usual.unwrap_or_default()
        ),
        "anyOf": [value, long],
    })
}
