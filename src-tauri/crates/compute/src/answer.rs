//! The answer of a calculation, put in the order of its description.

use crate::fault::Fault;
use crate::shape::{Field, Need};
use crate::value::Value;

/// The key of the remarks that any answer may carry.
pub(crate) const FLAGS: &str = "flags";

/// Values by key, with remarks.
#[derive(Debug, Default)]
pub(crate) struct Answer {
    entries: Vec<(&'static str, Value)>,
    flags: Vec<String>,
}

impl Answer {
    pub(crate) fn new() -> Self {
        Self::default()
    }

    /// Adds a value.
    #[must_use]
    pub(crate) fn with(mut self, key: &'static str, value: impl Into<Value>) -> Self {
        self.entries.push((key, value.into()));
        self
    }

    /// Adds a count, an index or an order.
    #[must_use]
    pub(crate) fn with_integer(self, key: &'static str, count: impl Into<i64>) -> Self {
        self.with(key, Value::Integer(count.into()))
    }

    /// Adds a remark.
    #[must_use]
    pub(crate) fn flag(mut self, text: impl Into<String>) -> Self {
        self.flags.push(text.into());
        self
    }

    /// Adds a remark where it applies.
    #[must_use]
    pub(crate) fn flag_if(self, applies: bool, text: &str) -> Self {
        if applies { self.flag(text) } else { self }
    }

    /// The object to print.
    ///
    /// # Errors
    /// `out_of_domain` naming a result that is beyond the range of numbers.
    pub(crate) fn into_object(self, output: &[Field]) -> Result<Value, Fault> {
        let Self { mut entries, flags } = self;
        let mut ordered = Vec::with_capacity(output.len() + 1);
        for field in output {
            match entries.iter().position(|(key, _)| *key == field.key) {
                Some(at) => {
                    let (key, value) = entries.swap_remove(at);
                    ordered.push((key.to_owned(), value));
                }
                None if matches!(field.need, Need::Required) => {
                    ordered.push((field.key.to_owned(), Value::Null));
                }
                None => {}
            }
        }
        if !flags.is_empty() {
            ordered.push((FLAGS.to_owned(), flags.into()));
        }
        let object = Value::Object(ordered);
        match object.not_finite() {
            Some(path) => Err(Fault::out_of_domain(
                path,
                "the inputs are so far apart that the result is beyond the range of numbers",
            )),
            None => Ok(object),
        }
    }
}
