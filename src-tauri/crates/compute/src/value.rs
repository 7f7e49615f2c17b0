//! A JSON value that keeps the order of its keys and sees a key that stands twice.
//!
//! `serde_json::Value` forgets both. To the calculations 3 and 3.0 are the same number.

use std::collections::HashSet;
use std::fmt;

use serde::de::{MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::fault::{Code, Fault};

/// The longest input that is read, bytes.
pub const INPUT_MAX: usize = 16 << 20;

/// A JSON value.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Null,
    Bool(bool),
    Number(f64),
    /// A number without a decimal point: a count, an index or an order of an answer, or as it was
    /// written in the input.
    Integer(i64),
    Text(String),
    List(Vec<Value>),
    Object(Vec<(String, Value)>),
}

impl Value {
    /// Reads one JSON object.
    ///
    /// # Errors
    /// `bad_json` for text that is not UTF-8 or no JSON, numbers beyond f64, nesting beyond 127
    /// levels, a key that stands twice in one object, or another value than an object.
    pub(crate) fn object_from(input: &[u8]) -> Result<Self, Fault> {
        if input.len() > INPUT_MAX {
            return Err(bad_json("", format!("the input is longer than {INPUT_MAX} bytes")));
        }
        let value: Value =
            serde_json::from_slice(input).map_err(|why| bad_json("", why.to_string()))?;
        if let Some(path) = value.key_twice() {
            return Err(bad_json(&path, "the key stands twice".to_owned()));
        }
        match value {
            Value::Object(_) => Ok(value),
            other => Err(bad_json(
                "",
                format!("{} stands where one JSON object is needed", other.kind()),
            )),
        }
    }

    /// One line of JSON.
    pub(crate) fn to_line(&self) -> String {
        // Strings, numbers and keys of text cannot fail to be written.
        serde_json::to_string(self).unwrap_or_default()
    }

    /// JSON over several lines, for people.
    pub(crate) fn to_lines(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }

    /// What kind of value this is, for messages.
    pub(crate) const fn kind(&self) -> &'static str {
        match self {
            Value::Null => "null",
            Value::Bool(_) => "a boolean",
            Value::Number(_) | Value::Integer(_) => "a number",
            Value::Text(_) => "a string",
            Value::List(_) => "a list",
            Value::Object(_) => "an object",
        }
    }

    /// A number, however it was written.
    #[expect(clippy::cast_precision_loss, reason = "numbers of the input are f64 by contract")]
    pub(crate) const fn number(&self) -> Option<f64> {
        match self {
            Value::Number(number) => Some(*number),
            Value::Integer(whole) => Some(*whole as f64),
            _ => None,
        }
    }

    /// The path of the first key that stands twice in its object.
    fn key_twice(&self) -> Option<String> {
        match self {
            Value::Object(entries) => {
                let mut seen = HashSet::with_capacity(entries.len());
                entries.iter().find_map(|(key, value)| {
                    if seen.insert(key.as_str()) {
                        value.key_twice().map(|below| joined(key, &below))
                    } else {
                        Some(key.clone())
                    }
                })
            }
            Value::List(items) => items.iter().enumerate().find_map(|(at, value)| {
                value.key_twice().map(|below| joined(&format!("[{at}]"), &below))
            }),
            _ => None,
        }
    }

    /// The path of the first number that JSON cannot hold.
    pub(crate) fn not_finite(&self) -> Option<String> {
        match self {
            Value::Number(number) => (!number.is_finite()).then(String::new),
            Value::Object(entries) => entries
                .iter()
                .find_map(|(key, value)| value.not_finite().map(|below| joined(key, &below))),
            Value::List(items) => items.iter().enumerate().find_map(|(at, value)| {
                value.not_finite().map(|below| joined(&format!("[{at}]"), &below))
            }),
            _ => None,
        }
    }
}

/// A path one level up: `a` before `b` is `a.b`, before `[2]` it is `a[2]`.
pub(crate) fn joined(above: &str, below: &str) -> String {
    if above.is_empty() || below.is_empty() || below.starts_with('[') {
        format!("{above}{below}")
    } else {
        format!("{above}.{below}")
    }
}

fn bad_json(field: &str, message: String) -> Fault {
    Fault::new(Code::BadJson, field, message)
}

impl From<f64> for Value {
    fn from(number: f64) -> Self {
        Value::Number(number)
    }
}

impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Value::Text(text.to_owned())
    }
}

impl From<String> for Value {
    fn from(text: String) -> Self {
        Value::Text(text)
    }
}

impl From<bool> for Value {
    fn from(is: bool) -> Self {
        Value::Bool(is)
    }
}

impl<T: Into<Value>> From<Option<T>> for Value {
    fn from(value: Option<T>) -> Self {
        value.map_or(Value::Null, Into::into)
    }
}

impl<T: Into<Value>> From<Vec<T>> for Value {
    fn from(items: Vec<T>) -> Self {
        Value::List(items.into_iter().map(Into::into).collect())
    }
}

impl Serialize for Value {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Value::Null => to.serialize_unit(),
            Value::Bool(is) => to.serialize_bool(*is),
            // Adding 0 turns −0 into 0.
            Value::Number(number) => to.serialize_f64(number + 0.0),
            Value::Integer(count) => to.serialize_i64(*count),
            Value::Text(text) => to.serialize_str(text),
            Value::List(items) => to.collect_seq(items),
            Value::Object(entries) => to.collect_map(entries.iter().map(|(key, it)| (key, it))),
        }
    }
}

impl<'de> Deserialize<'de> for Value {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Reader)
    }
}

struct Reader;

impl<'de> Visitor<'de> for Reader {
    type Value = Value;

    fn expecting(&self, to: &mut fmt::Formatter) -> fmt::Result {
        to.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, is: bool) -> Result<Value, E> {
        Ok(Value::Bool(is))
    }

    #[expect(clippy::cast_precision_loss, reason = "numbers of the input are f64 by contract")]
    fn visit_u64<E>(self, number: u64) -> Result<Value, E> {
        Ok(i64::try_from(number).map_or(Value::Number(number as f64), Value::Integer))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Value, E> {
        Ok(Value::Integer(number))
    }

    fn visit_f64<E>(self, number: f64) -> Result<Value, E> {
        Ok(Value::Number(number))
    }

    fn visit_str<E>(self, text: &str) -> Result<Value, E> {
        Ok(Value::Text(text.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<Value, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = from.next_element()? {
            items.push(item);
        }
        Ok(Value::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<Value, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = from.next_entry()? {
            entries.push(entry);
        }
        Ok(Value::Object(entries))
    }
}
