//! How the values of a calculation are described: one table, from which the check of the input, the
//! JSON Schema and the explanation follow.

use crate::answer::Answer;
use crate::fault::Fault;
use crate::input::Input;

/// One calculation that can be called by its name.
pub(crate) struct Calculation {
    /// The name on the command line.
    pub(crate) name: &'static str,
    /// What it computes, in a few words.
    pub(crate) title: &'static str,
    pub(crate) input: Keys,
    /// The keys of the answer, in the order in which they are written.
    pub(crate) output: &'static [Field],
    pub(crate) formula: &'static str,
    /// Where the formula holds, beyond the range of each value.
    pub(crate) valid: &'static str,
    pub(crate) source: &'static str,
    /// An input, as JSON.
    pub(crate) example: &'static str,
    pub(crate) run: fn(&Input) -> Result<Answer, Fault>,
}

/// The keys of an object.
#[derive(Debug)]
pub(crate) struct Keys {
    pub(crate) fields: &'static [Field],
    /// Keys that stand for each other; a field named here is `Optional`.
    pub(crate) choices: &'static [Choice],
}

impl Keys {
    /// Keys that do not exclude each other.
    pub(crate) const fn plain(fields: &'static [Field]) -> Self {
        Self { fields, choices: &[] }
    }
}

/// Sets of keys of which one, and no more, is given as a whole.
#[derive(Debug)]
pub(crate) struct Choice {
    /// Whether a set must be given.
    pub(crate) required: bool,
    pub(crate) sets: &'static [&'static [&'static str]],
}

/// One key.
#[derive(Debug)]
pub(crate) struct Field {
    pub(crate) key: &'static str,
    pub(crate) shape: Shape,
    /// The unit; empty for a number without one and for what is no number.
    pub(crate) unit: &'static str,
    pub(crate) need: Need,
    pub(crate) doc: &'static str,
}

/// Whether a key must be there. In an output, `Optional` keys are left out where they do not apply.
#[derive(Debug)]
pub(crate) enum Need {
    Required,
    Optional,
    Default(Default),
}

/// What holds where a key is absent.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Default {
    Number(f64),
    Numbers(&'static [f64]),
    Words(&'static [&'static str]),
}

/// What a value may be.
#[derive(Debug)]
pub(crate) enum Shape {
    Number(Range),
    /// A whole number from low to high; 3.0 is one.
    Integer(i64, i64),
    Boolean,
    /// One of these words.
    Word(&'static [&'static str]),
    /// Any text of 1 to [`TEXT_MAX`] characters.
    Text,
    /// A month or a year of the calendar, `YYYY-MM` or `YYYY`, from 1950 to 2199.
    Month,
    List {
        of: &'static Shape,
        min: usize,
        max: usize,
    },
    /// An object whose keys are names that the user chose.
    Map(&'static Shape),
    Object(&'static Keys),
    /// An object whose keys follow from the word under `tag`.
    Tagged {
        tag: &'static str,
        cases: &'static [(&'static str, Keys)],
    },
    /// The shape, or null.
    Nullable(&'static Shape),
    /// One of several shapes; stands in outputs alone.
    Any(&'static [Shape]),
}

/// The longest text, characters.
pub(crate) const TEXT_MAX: usize = 200;
/// The most entries of a [`Shape::Map`].
pub(crate) const MAP_MAX: usize = 200;

/// Which numbers are accepted. All are finite.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Range {
    Any,
    Positive,
    NonNegative,
    /// Both ends included.
    Closed(f64, f64),
    /// The low end included, the high end not.
    HalfOpen(f64, f64),
}

impl Range {
    pub(crate) fn holds(self, number: f64) -> bool {
        number.is_finite()
            && match self {
                Self::Any => true,
                Self::Positive => number > 0.0,
                Self::NonNegative => number >= 0.0,
                Self::Closed(low, high) => (low..=high).contains(&number),
                Self::HalfOpen(low, high) => (low..high).contains(&number),
            }
    }

    /// What is accepted, in words.
    pub(crate) fn words(self) -> String {
        match self {
            Self::Any => "a number".to_owned(),
            Self::Positive => "a number greater than 0".to_owned(),
            Self::NonNegative => "a number from 0 up".to_owned(),
            Self::Closed(low, high) => format!("a number from {low} to {high}"),
            Self::HalfOpen(low, high) => {
                format!("a number from {low} up to but not including {high}")
            }
        }
    }
}

impl Shape {
    pub(crate) const ANY: Self = Self::Number(Range::Any);
    pub(crate) const POSITIVE: Self = Self::Number(Range::Positive);
    pub(crate) const NON_NEGATIVE: Self = Self::Number(Range::NonNegative);

    /// What is accepted, in words.
    pub(crate) fn words(&self) -> String {
        match self {
            Self::Number(range) => range.words(),
            Self::Integer(low, high) => format!("a whole number from {low} to {high}"),
            Self::Boolean => "true or false".to_owned(),
            Self::Word(words) => format!("one of {}", quoted(words)),
            Self::Text => format!("a text of 1 to {TEXT_MAX} characters"),
            Self::Month => "a month YYYY-MM or a year YYYY, from 1950 to 2199".to_owned(),
            Self::List { of, min, max } if min == max => {
                format!("a list of {min}, each {}", of.words())
            }
            Self::List { of, min, max: usize::MAX } => {
                format!("a list of {min} or more, each {}", of.words())
            }
            Self::List { of, min, max } => {
                format!("a list of {min} to {max}, each {}", of.words())
            }
            Self::Map(of) => format!("an object of names, each {}", of.words()),
            Self::Object(keys) => {
                format!("an object with {}", key_list(keys))
            }
            Self::Tagged { tag, cases } => {
                let words: Vec<_> = cases.iter().map(|(word, _)| *word).collect();
                format!("an object with {tag:?} as one of {}", quoted(&words))
            }
            Self::Nullable(of) => format!("{}, or null", of.words()),
            Self::Any(shapes) => shapes.iter().map(Self::words).collect::<Vec<_>>().join("; or "),
        }
    }
}

fn key_list(keys: &Keys) -> String {
    keys.fields.iter().map(|it| it.key).collect::<Vec<_>>().join(", ")
}

fn quoted(words: &[&str]) -> String {
    words.iter().map(|it| format!("{it:?}")).collect::<Vec<_>>().join(", ")
}

/// A key that must be there.
pub(crate) const fn needed(
    key: &'static str,
    shape: Shape,
    unit: &'static str,
    doc: &'static str,
) -> Field {
    Field { key, shape, unit, need: Need::Required, doc }
}

/// A key that may be absent.
pub(crate) const fn optional(
    key: &'static str,
    shape: Shape,
    unit: &'static str,
    doc: &'static str,
) -> Field {
    Field { key, shape, unit, need: Need::Optional, doc }
}

/// A number that holds `value` where the key is absent.
pub(crate) const fn defaulted(
    key: &'static str,
    shape: Shape,
    unit: &'static str,
    value: f64,
    doc: &'static str,
) -> Field {
    Field { key, shape, unit, need: Need::Default(Default::Number(value)), doc }
}

/// A number of the answer.
pub(crate) const fn gives(key: &'static str, unit: &'static str, doc: &'static str) -> Field {
    needed(key, Shape::ANY, unit, doc)
}

/// A number of the answer that is null where it does not apply.
pub(crate) const fn may_give(key: &'static str, unit: &'static str, doc: &'static str) -> Field {
    needed(key, Shape::Nullable(&Shape::ANY), unit, doc)
}
