//! Why a calculation was refused, as the one object that goes to standard error.

use std::fmt;

use physics::PhysicsError;

use crate::value::{Value, joined};

/// The kind of a refusal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Code {
    /// A needed key is absent.
    Missing,
    /// A value has the wrong type, is no accepted word, or lies outside its range.
    OutOfDomain,
    /// Two or more values contradict or exclude each other.
    Inconsistent,
    /// A search ended without an answer.
    NotConverged,
    /// The question does not apply to this object.
    NotApplicable,
    /// A key is not among those of this calculation.
    UnknownKey,
    /// No calculation has this name.
    UnknownName,
    /// The input is no JSON object of finite numbers with each key once, or cannot be read.
    BadJson,
}

impl Code {
    /// The word in the error object.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Missing => "missing",
            Self::OutOfDomain => "out_of_domain",
            Self::Inconsistent => "inconsistent",
            Self::NotConverged => "not_converged",
            Self::NotApplicable => "not_applicable",
            Self::UnknownKey => "unknown_key",
            Self::UnknownName => "unknown_name",
            Self::BadJson => "bad_json",
        }
    }
}

/// A refusal: what kind, which value, and why in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The kind.
    pub code: Code,
    /// The value at fault as a path into the input, such as `terms[0].u`; a key of the output where
    /// a result left the range of numbers; empty where no single value is at fault.
    pub field: String,
    /// What is wrong and what is accepted.
    pub message: String,
}

impl Fault {
    /// A refusal.
    #[must_use]
    pub fn new(code: Code, field: impl Into<String>, message: impl Into<String>) -> Self {
        Self { code, field: field.into(), message: message.into() }
    }

    pub(crate) fn out_of_domain(field: impl Into<String>, message: impl Into<String>) -> Self {
        Self::new(Code::OutOfDomain, field, message)
    }

    pub(crate) fn inconsistent(field: impl Into<String>, message: impl Into<String>) -> Self {
        Self::new(Code::Inconsistent, field, message)
    }

    /// The same refusal, of a value inside the object at `path`.
    #[must_use]
    pub(crate) fn under(mut self, path: &str) -> Self {
        self.field = joined(path, &self.field);
        self
    }

    /// The same refusal, of the value at `path` where it names none.
    #[must_use]
    pub(crate) fn or_of(mut self, path: &str) -> Self {
        if self.field.is_empty() {
            path.clone_into(&mut self.field);
        }
        self
    }

    /// The error object, one line: `{"code", "field", "message"}`.
    #[must_use]
    pub fn to_json(&self) -> String {
        Value::Object(vec![
            ("code".to_owned(), self.code.word().into()),
            ("field".to_owned(), self.field.as_str().into()),
            ("message".to_owned(), self.message.as_str().into()),
        ])
        .to_line()
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, to: &mut fmt::Formatter) -> fmt::Result {
        write!(to, "{}: {}: {}", self.code.word(), self.field, self.message)
    }
}

impl std::error::Error for Fault {}

impl From<PhysicsError> for Fault {
    fn from(why: PhysicsError) -> Self {
        let message = why.to_string();
        match why {
            PhysicsError::Missing { field } => Self::new(Code::Missing, path(&field), message),
            PhysicsError::OutOfDomain { field, why } => {
                Self::out_of_domain(path(&field), format!("{}: {why}", path(&field)))
            }
            PhysicsError::Inconsistent { field, relation, .. } => {
                Self::inconsistent(path(&field), format!("{}: {relation}", path(&field)))
            }
            PhysicsError::NotConverged { .. } => Self::new(Code::NotConverged, "", message),
            PhysicsError::NotApplicable { .. } => Self::new(Code::NotApplicable, "", message),
        }
    }
}

/// Units that end a field's name in `physics`; here keys carry none. Longer ones stand before those
/// that end them.
const UNITS: &[&str] = &[
    "_pa_s_m2", "_kg_m3", "_kg_s", "_m2_s", "_m_s", "_m_n", "_ohm", "_nm2", "_hz", "_kg", "_m2",
    "_m3", "_nm", "_pa", "_tm", "_h", "_m",
];

/// The path of what `physics` calls `field`: [`key`] with the place in a list as it was.
fn path(field: &str) -> String {
    let (name, place) = field.split_at(field.find('[').unwrap_or(field.len()));
    format!("{}{place}", key(name))
}

/// The key of the input or output that `physics` calls `field`. Keys that end in `_db`, `_deg` or
/// `_c` are called the same there, except the levels.
fn key(field: &str) -> &str {
    match field {
        "f_hz" => "freq",
        "spl_1w_db" => "spl_1w",
        "spl_2v83_db" => "spl_2v83",
        "spl_peak_db" => "spl_peak",
        "spl_1m_db" => "spl_1m",
        "spl_db" => "spl",
        "power_acoustic_w" => "power_acoustic",
        _ => UNITS.iter().find_map(|unit| field.strip_suffix(unit)).unwrap_or(field),
    }
}
