//! A finding that a plugin brings: what an entry is, owned.

use super::{Choices, Entry, Expected, Kind, Typical};
use crate::{part::Role, unit::Dimension};

/// An entry that a plugin declares, under its reversed-domain id.
#[derive(Debug, Clone, PartialEq)]
pub struct Own {
    /// The id of the plugin.
    pub plugin: String,
    /// The key, which starts with the plugin's id and a dot.
    pub key: String,
    /// The role that has it.
    pub role: Role,
    /// The label on screens.
    pub label: String,
    /// The kind of value.
    pub kind: OwnKind,
    /// The usual range.
    pub typical: Option<Typical>,
    /// When a complete teardown holds it.
    pub expected: Expected,
    /// Why it matters; may be empty.
    pub why: String,
}

/// What kind of value an own entry takes: those that reach a plugin as one number.
#[derive(Debug, Clone, PartialEq)]
pub enum OwnKind {
    /// A number of a dimension, with the unit of screens and usual ranges.
    Number(Dimension, &'static str),
    /// One of a closed list of words.
    Choice(Vec<String>),
    /// A whole number from 0.
    Count,
    /// `yes` or `no`.
    Flag,
}

impl Own {
    /// The same as an entry.
    #[must_use]
    pub fn entry(&self) -> Entry<'_> {
        Entry {
            key: &self.key,
            roles: std::slice::from_ref(&self.role),
            label: &self.label,
            kind: match &self.kind {
                OwnKind::Number(dimension, unit) => Kind::Number(*dimension, unit),
                OwnKind::Choice(words) => Kind::Choice(Choices::owned(words)),
                OwnKind::Count => Kind::Count,
                OwnKind::Flag => Kind::Flag,
            },
            typical: self.typical.as_slice(),
            expected: self.expected,
            why: &self.why,
        }
    }
}
