//! A checked input: what the calculations read their values from.
//!
//! The check has seen every value before, so a reading fails only when a calculation asks for a key
//! that its description lacks; that is a fault of the table, and reported as one.

use crate::fault::{Code, Fault};
use crate::shape::{Default, Field, Keys, Need};
use crate::value::{Value, joined};

/// An object of the input with its description and its place.
#[derive(Debug, Clone)]
pub(crate) struct Input<'a> {
    entries: &'a [(String, Value)],
    fields: &'static [Field],
    path: String,
}

impl<'a> Input<'a> {
    pub(crate) fn new(entries: &'a [(String, Value)], keys: &'static Keys) -> Self {
        Self { entries, fields: keys.fields, path: String::new() }
    }

    /// Where this object stands in the input; empty for the whole.
    pub(crate) fn path(&self) -> &str {
        &self.path
    }

    /// The path of one of its keys.
    pub(crate) fn path_of(&self, key: &str) -> String {
        joined(&self.path, key)
    }

    /// Whether the user gave this key.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.given(key).is_some()
    }

    /// Whether the user gave this key with null.
    pub(crate) fn is_null(&self, key: &str) -> bool {
        matches!(self.given(key), Some(Value::Null))
    }

    fn given(&self, key: &str) -> Option<&'a Value> {
        self.entries.iter().find(|(it, _)| it == key).map(|(_, value)| value)
    }

    fn default(&self, key: &str) -> Option<Default> {
        match self.fields.iter().find(|it| it.key == key)?.need {
            Need::Default(value) => Some(value),
            Need::Required | Need::Optional => None,
        }
    }

    fn absent(&self, key: &str) -> Fault {
        let field = self.path_of(key);
        Fault::new(Code::Missing, &field, format!("{field} is missing"))
    }

    /// A number, or its default.
    pub(crate) fn number(&self, key: &str) -> Result<f64, Fault> {
        let number = match (self.given(key), self.default(key)) {
            (Some(value), _) => value.number(),
            (None, Some(Default::Number(number))) => Some(number),
            (None, _) => None,
        };
        number.ok_or_else(|| self.absent(key))
    }

    /// A number, where it was given.
    pub(crate) fn number_if_given(&self, key: &str) -> Option<f64> {
        self.given(key)?.number()
    }

    /// A whole number. The check has held it against limits that fit.
    pub(crate) fn integer<T: TryFrom<i64>>(&self, key: &str) -> Result<T, Fault> {
        #[expect(clippy::cast_possible_truncation, reason = "whole, and within the limits checked")]
        let whole = self.number(key)? as i64;
        T::try_from(whole).map_err(|_| {
            Fault::out_of_domain(self.path_of(key), format!("{whole} is beyond this calculation"))
        })
    }

    /// A word or a name.
    pub(crate) fn text(&self, key: &str) -> Result<&'a str, Fault> {
        match self.given(key) {
            Some(Value::Text(text)) => Ok(text),
            _ => Err(self.absent(key)),
        }
    }

    /// A list of numbers, or its default; empty where an optional one is absent.
    pub(crate) fn numbers(&self, key: &str) -> Result<Vec<f64>, Fault> {
        match (self.given(key), self.default(key)) {
            (Some(Value::List(items)), _) => self.all_numbers(key, items),
            (None, Some(Default::Numbers(numbers))) => Ok(numbers.to_vec()),
            (None, _) => Ok(Vec::new()),
            _ => Err(self.absent(key)),
        }
    }

    fn all_numbers(&self, key: &str, items: &[Value]) -> Result<Vec<f64>, Fault> {
        items.iter().map(|item| item.number().ok_or_else(|| self.absent(key))).collect()
    }

    /// A list of numbers with gaps.
    pub(crate) fn numbers_or_null(&self, key: &str) -> Result<Vec<Option<f64>>, Fault> {
        match self.given(key) {
            Some(Value::List(items)) => Ok(items.iter().map(Value::number).collect()),
            _ => Err(self.absent(key)),
        }
    }

    /// A list of words, or its default.
    pub(crate) fn words(&self, key: &str) -> Result<Vec<&'a str>, Fault> {
        match (self.given(key), self.default(key)) {
            (Some(Value::List(items)), _) => items
                .iter()
                .map(|item| match item {
                    Value::Text(text) => Ok(text.as_str()),
                    _ => Err(self.absent(key)),
                })
                .collect(),
            (None, Some(Default::Words(words))) => Ok(words.to_vec()),
            _ => Err(self.absent(key)),
        }
    }

    /// A list of rows of numbers.
    pub(crate) fn rows(&self, key: &str) -> Result<Vec<Vec<f64>>, Fault> {
        let Some(Value::List(rows)) = self.given(key) else {
            return Err(self.absent(key));
        };
        rows.iter()
            .map(|row| match row {
                Value::List(items) => self.all_numbers(key, items),
                _ => Err(self.absent(key)),
            })
            .collect()
    }

    /// An object with a description.
    pub(crate) fn object(&self, key: &str, keys: &'static Keys) -> Result<Input<'a>, Fault> {
        match self.given(key) {
            Some(Value::Object(entries)) => {
                Ok(Input { entries, fields: keys.fields, path: self.path_of(key) })
            }
            _ => Err(self.absent(key)),
        }
    }

    /// A list of objects. Defaults of tagged objects are not looked up here.
    pub(crate) fn objects(&self, key: &str) -> Result<Vec<Input<'a>>, Fault> {
        let Some(Value::List(items)) = self.given(key) else {
            return Err(self.absent(key));
        };
        items
            .iter()
            .enumerate()
            .map(|(at, item)| match item {
                Value::Object(entries) => {
                    Ok(Input { entries, fields: &[], path: format!("{}[{at}]", self.path_of(key)) })
                }
                _ => Err(self.absent(key)),
            })
            .collect()
    }

    /// An object of numbers under names that the user chose; empty where it is absent.
    pub(crate) fn numbers_by_name(&self, key: &str) -> Result<Vec<(&'a str, f64)>, Fault> {
        let entries = match self.given(key) {
            Some(Value::Object(entries)) => entries,
            None => return Ok(Vec::new()),
            _ => return Err(self.absent(key)),
        };
        entries
            .iter()
            .map(|(name, value)| {
                value.number().map(|it| (name.as_str(), it)).ok_or_else(|| self.absent(key))
            })
            .collect()
    }
}
