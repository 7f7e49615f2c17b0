//! The whole history as lines of JSON, and an empty catalogue made the same from them.
//!
//! The first line says what the text is, the last one how many there are; between them each line is a row with its table.
//! Rows come in the order in which things happened: products and days of work, facts from before there was a journal, then
//! action by action what it wrote, then what has a log of its own (rubric, plugins, claims, editions). Photos are files
//! beside the catalogue and are not in it.
//!
//! Going through it again is more than copying rows: what an undo or redo wrote is not believed but done anew and compared,
//! and each change must fit what held before it. So a history that was cut, reordered or edited is refused with its line.

mod heard;
mod told;

use std::collections::BTreeMap;

use rusqlite::types::{Value, ValueRef};
use serde::{Deserialize, Serialize};
use serde_json::Value as Json;

/// The version of the text.
const VERSION: u32 = 1;

/// What facts hang on, in the order in which it can be put in.
const GROUND: [(&str, &str); 4] =
    [("info", "key"), ("product", "id"), ("specimen", "id"), ("teardown", "id")];

/// Tables of facts.
const FACTS: [&str; 5] = ["finding", "price", "network", "sweep", "photo"];

/// What has a log of its own, with the order of its rows.
const LOGS: [(&str, &str); 10] = [
    ("rubric_change", "id"),
    ("plugin_manifest", "sha256"),
    ("plugin_trust", "sha256"),
    ("plugin_fault", "id"),
    ("plugin_release", "id"),
    ("claim", "id"),
    ("claim_verdict", "id"),
    ("claim_withdrawn", "claim_id"),
    ("edition", "number"),
    ("edition_file", "edition, position"),
];

/// What a history holds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Chronicle {
    /// Actions of the journal.
    pub actions: usize,
    /// Rows in all.
    pub rows: usize,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct First {
    boxworth_history: u32,
    format: i32,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Last {
    rows: usize,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    table: String,
    row: BTreeMap<String, Json>,
}

/// A cell as JSON; bytes as hexadecimal digits in an object of their own.
fn told(cell: ValueRef<'_>) -> Option<Json> {
    Some(match cell {
        ValueRef::Null => Json::Null,
        ValueRef::Integer(it) => it.into(),
        ValueRef::Real(it) => serde_json::Number::from_f64(it)?.into(),
        ValueRef::Text(it) => std::str::from_utf8(it).ok()?.into(),
        ValueRef::Blob(it) => {
            let digits: String = it.iter().map(|byte| format!("{byte:02x}")).collect();
            serde_json::json!({ "hex": digits })
        }
    })
}

/// The way back.
fn heard(cell: &Json) -> Option<Value> {
    Some(match cell {
        Json::Null => Value::Null,
        Json::Number(it) => match it.as_i64() {
            Some(whole) => Value::Integer(whole),
            None => Value::Real(it.as_f64()?),
        },
        Json::String(it) => Value::Text(it.clone()),
        Json::Object(it) if it.len() == 1 => Value::Blob(bytes(it.get("hex")?.as_str()?)?),
        _ => return None,
    })
}

fn bytes(digits: &str) -> Option<Vec<u8>> {
    let digit = |it: u8| char::from(it).to_digit(16).and_then(|it| u8::try_from(it).ok());
    if !digits.len().is_multiple_of(2) {
        return None;
    }
    digits
        .as_bytes()
        .chunks_exact(2)
        .map(|two| Some(digit(two[0])? << 4 | digit(two[1])?))
        .collect()
}

#[cfg(test)]
mod tests;
