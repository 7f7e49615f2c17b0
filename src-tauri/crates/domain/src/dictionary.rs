//! The findings dictionary: the one table that forms, importers, quantities and plugins read.
//!
//! The standard entries stand here; [`Dictionary`] adds those of plugins to them for one catalogue.
//!
//! Typical ranges are common practice for budget passive loudspeakers, no source; a value outside warns, it is never refused.

mod cabinet;
mod choices;
mod crossover;
mod driver;
pub mod element;
mod joined;
mod own;
mod whole;
mod wiring;

pub use choices::Choices;
pub use joined::{Dictionary, Taken};
pub use own::{Own, OwnKind};

use crate::{part::Role, reading, unit::Dimension};

/// What kind of value an entry takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind<'a> {
    /// A number of a dimension; the text is the unit in which typical values and screens are given.
    Number(Dimension, &'static str),
    /// Several numbers of a dimension, separated by semicolons.
    Numbers(Dimension, &'static str),
    /// One of a closed list of words.
    Choice(Choices<'a>),
    /// A whole number from 0.
    Count,
    /// `yes` or `no`.
    Flag,
    /// Free text.
    Text,
}

/// When a complete teardown is expected to hold the finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expected {
    /// For each product that has the part.
    Always,
    /// When `cabinet.box_type` is `vented`.
    Vented,
    /// When the product has three or more ways.
    ThreeWay,
    /// When `cabinet.brace_count` is not 0.
    Braced,
    /// When `cabinet.lining_material` is not `none`.
    Lined,
    /// When the crossover is a full network.
    FullNetwork,
    /// Never; recorded when it is worth a line.
    Optional,
}

/// A usual range in the entry's own unit; for drivers one for each role.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Typical {
    /// The role it is for; `None` for all roles of the entry.
    pub role: Option<Role>,
    /// Lowest usual value.
    pub low: f64,
    /// Highest usual value.
    pub high: f64,
}

/// One kind of finding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry<'a> {
    /// The key, unique within a role.
    pub key: &'a str,
    /// The roles that have it.
    pub roles: &'a [Role],
    /// The label on screens.
    pub label: &'a str,
    /// The kind of value.
    pub kind: Kind<'a>,
    /// Usual ranges.
    pub typical: &'a [Typical],
    /// When it is expected.
    pub expected: Expected,
    /// Why it matters, one clause; a plugin may leave it empty.
    pub why: &'a str,
}

impl Kind<'_> {
    /// The accepted form, for messages and forms.
    #[must_use]
    pub fn accepted(self) -> String {
        match self {
            Kind::Number(Dimension::One, _) => "a plain number".into(),
            Kind::Number(dimension, _) => format!("a number with a unit: {}", dimension.accepted()),
            Kind::Numbers(dimension, _) => {
                format!("numbers with a unit ({}), separated by semicolons", dimension.accepted())
            }
            Kind::Choice(choices) => choices.to_string(),
            Kind::Count => "a whole number from 0".into(),
            Kind::Flag => "yes, no".into(),
            Kind::Text => "plain text".into(),
        }
    }
}

impl Entry<'_> {
    /// The accepted form, for messages and forms.
    #[must_use]
    pub fn accepted(&self) -> String {
        self.kind.accepted()
    }

    /// A number or count outside the usual range of a role: the range and the value, both in the entry's own unit; `None`
    /// inside it, or where there is no range.
    #[must_use]
    pub fn unusual(&self, role: Role, si: f64) -> Option<(Typical, f64)> {
        let range = self.typical_for(role)?;
        let value = match self.kind {
            Kind::Number(dimension, unit) => reading::in_unit(si, dimension, unit)?,
            Kind::Count => si,
            _ => return None,
        };
        // A range that ends at the very value typed must not warn because of the last binary digit.
        let slack = 1e-9 * range.high.abs();
        let inside = value >= range.low - slack && value <= range.high + slack;
        (!inside).then_some((range, value))
    }

    /// The usual range for a role, in the entry's own unit.
    #[must_use]
    pub fn typical_for(&self, role: Role) -> Option<Typical> {
        self.typical.iter().copied().find(|it| it.role.is_none_or(|r| r == role))
    }
}

/// All standard entries, in the order in which a bench form shows them.
pub fn entries() -> impl Iterator<Item = &'static Entry<'static>> {
    [whole::ENTRIES, cabinet::ENTRIES, driver::ENTRIES, crossover::ENTRIES, wiring::ENTRIES]
        .into_iter()
        .flatten()
}

/// The standard entry of a role's key.
#[must_use]
pub fn find(role: Role, key: &str) -> Option<&'static Entry<'static>> {
    entries().find(|it| it.key == key && it.roles.contains(&role))
}

const fn number(
    key: &'static str,
    roles: &'static [Role],
    label: &'static str,
    dimension: Dimension,
    unit: &'static str,
) -> Entry<'static> {
    Entry {
        key,
        roles,
        label,
        kind: Kind::Number(dimension, unit),
        typical: &[],
        expected: Expected::Always,
        why: "",
    }
}

const fn choice(
    key: &'static str,
    roles: &'static [Role],
    label: &'static str,
    choices: &'static [&'static str],
) -> Entry<'static> {
    Entry {
        key,
        roles,
        label,
        kind: Kind::Choice(Choices::of(choices)),
        typical: &[],
        expected: Expected::Always,
        why: "",
    }
}

const fn flag(key: &'static str, roles: &'static [Role], label: &'static str) -> Entry<'static> {
    Entry { key, roles, label, kind: Kind::Flag, typical: &[], expected: Expected::Always, why: "" }
}

const fn count(key: &'static str, roles: &'static [Role], label: &'static str) -> Entry<'static> {
    Entry {
        key,
        roles,
        label,
        kind: Kind::Count,
        typical: &[],
        expected: Expected::Always,
        why: "",
    }
}

const fn text(key: &'static str, roles: &'static [Role], label: &'static str) -> Entry<'static> {
    Entry {
        key,
        roles,
        label,
        kind: Kind::Text,
        typical: &[],
        expected: Expected::Optional,
        why: "",
    }
}

const fn range(low: f64, high: f64) -> Typical {
    Typical { role: None, low, high }
}

const fn for_role(role: Role, low: f64, high: f64) -> Typical {
    Typical { role: Some(role), low, high }
}

impl Entry<'static> {
    const fn typical(self, typical: &'static [Typical]) -> Self {
        Entry { typical, ..self }
    }

    const fn expected(self, expected: Expected) -> Self {
        Entry { expected, ..self }
    }

    const fn why(self, why: &'static str) -> Self {
        Entry { why, ..self }
    }
}

#[cfg(test)]
mod tests;
