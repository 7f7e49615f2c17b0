//! One recorded fact about one part of one product.

use std::sync::Arc;

use crate::{
    Date,
    dictionary::{self, Entry, Kind, Own},
    evidence::Evidence,
    key::{UnknownWord, word_enum},
    part::Part,
    reading::{self, ReadingError},
    unit::AWG,
};

word_enum! {
    /// Why a finding has no value. None of these means "absent": a box without braces has the count 0.
    pub enum Gap: "state" {
        /// Nobody looked.
        NotInspected = "not inspected",
        /// Somebody looked and could not tell.
        CouldNotTell = "could not tell",
        /// The question makes no sense for this product.
        NotApplicable = "not applicable",
    }
}

/// The value of a finding, in SI where it is a number.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number in the SI unit of the entry's dimension, with its standard uncertainty where one was given.
    Number {
        /// The value, SI.
        si: f64,
        /// Standard uncertainty (k = 1), SI.
        std_uncertainty: Option<f64>,
    },
    /// Several numbers, SI, in the order typed.
    Numbers(Vec<f64>),
    /// One of the entry's choices.
    Choice(String),
    /// How many.
    Count(u32),
    /// Yes or no.
    Flag(bool),
    /// Free text.
    Text(String),
}

impl Value {
    /// Whether two values say the same, whatever their uncertainties; numbers to nine digits.
    #[must_use]
    pub fn is_same(&self, other: &Value) -> bool {
        match (self, other) {
            (Value::Number { si, .. }, Value::Number { si: other, .. }) => {
                (si - other).abs() <= 1e-9 * other.abs()
            }
            _ => self == other,
        }
    }
}

/// What a finding says: a value, or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// A value.
    Value(Value),
    /// No value, and why.
    Gap(Gap),
}

impl Answer {
    /// The value, if there is one.
    #[must_use]
    pub fn value(&self) -> Option<&Value> {
        match self {
            Answer::Value(it) => Some(it),
            Answer::Gap(_) => None,
        }
    }
}

/// Who says what the key of a finding means.
#[derive(Debug, Clone, PartialEq)]
pub enum Declared {
    /// The standard dictionary.
    Standard,
    /// A plugin, with this entry.
    Own(Arc<Own>),
    /// Nobody: the plugin that declared it is not trusted any more, or declares something else since. The finding is kept
    /// and shown, and nothing is computed from it.
    Nowhere,
}

/// One fact: what it is about, what was typed, what that means in SI, how it is known and since when.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The part.
    pub part: Part,
    /// The dictionary key.
    pub key: String,
    /// The text as typed.
    pub typed: String,
    /// The unit as typed, empty where there is none.
    pub unit: String,
    /// What it means.
    pub answer: Answer,
    /// How it is known.
    pub evidence: Evidence,
    /// A remark of the writer, empty where there is none.
    pub note: String,
    /// The day it was found (or stated).
    pub date: Date,
    /// Who says what it means.
    pub declared: Declared,
}

impl Finding {
    /// `part.key`, by which plugins and messages name a finding.
    #[must_use]
    pub fn address(&self) -> String {
        format!("{}.{}", self.part, self.key)
    }

    /// Its dictionary entry; `None` where nobody declares it.
    #[must_use]
    pub fn entry(&self) -> Option<Entry<'_>> {
        match &self.declared {
            Declared::Standard => dictionary::find(self.part.role, &self.key).copied(),
            Declared::Own(it) => Some(it.entry()),
            Declared::Nowhere => None,
        }
    }
}

/// A text that cannot be the value of a finding.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BadValue {
    /// The dictionary has no such key for the part.
    #[error("{part} has no finding {key:?}{hint}")]
    UnknownKey {
        /// The part.
        part: String,
        /// The key as found.
        key: String,
        /// A suggestion, or empty.
        hint: String,
    },
    /// A number, list or count that cannot be read.
    #[error(transparent)]
    Reading(#[from] ReadingError),
    /// A word that is none of the choices.
    #[error(transparent)]
    Choice(#[from] UnknownWord),
    /// Text of the wrong shape.
    #[error("{text:?} {why}; accepted: {accepted}")]
    Shape {
        /// The text as found.
        text: String,
        /// What is wrong.
        why: &'static str,
        /// What would be right.
        accepted: String,
    },
}

/// A typed text, read by the rules of a dictionary entry.
#[derive(Debug, Clone, PartialEq)]
pub struct TypedValue {
    /// The value.
    pub value: Value,
    /// The unit as typed, empty where there is none.
    pub unit: String,
}

/// The longest text finding, in bytes.
pub const MAX_TEXT: usize = 2000;

/// Reads `typed` as the value of `entry`, with an optional standard uncertainty typed in the same way.
///
/// # Errors
/// [`BadValue`] naming the text and the accepted form.
pub fn read_value(
    entry: &Entry<'_>,
    typed: &str,
    uncertainty: Option<&str>,
) -> Result<TypedValue, BadValue> {
    if let (Some(u), false) = (uncertainty, matches!(entry.kind, Kind::Number(..))) {
        return Err(BadValue::Shape {
            text: u.to_owned(),
            why: "is an uncertainty, which only a number can have",
            accepted: entry.accepted(),
        });
    }
    let plain = |value| Ok(TypedValue { value, unit: String::new() });
    match entry.kind {
        Kind::Number(dimension, _) => {
            let it = reading::parse(typed, dimension)?;
            let std_uncertainty = match uncertainty {
                // A gauge is a size, not a spread.
                Some(u) => match reading::parse(u, dimension)? {
                    it if it.unit == AWG => {
                        return Err(BadValue::Shape {
                            text: u.to_owned(),
                            why: "is a gauge, which cannot be an uncertainty",
                            accepted: "mm²".into(),
                        });
                    }
                    it => Some(it.si.abs()),
                },
                None => None,
            };
            Ok(TypedValue { value: Value::Number { si: it.si, std_uncertainty }, unit: it.unit })
        }
        Kind::Numbers(dimension, _) => {
            let list = reading::parse_list(typed, dimension)?;
            let unit = list.first().map(|it| it.unit.clone()).unwrap_or_default();
            Ok(TypedValue { value: Value::Numbers(list.iter().map(|it| it.si).collect()), unit })
        }
        Kind::Choice(choices) => match choices.iter().find(|it| *it == typed) {
            Some(it) => plain(Value::Choice(it.to_owned())),
            None => Err(UnknownWord {
                text: typed.to_owned(),
                what: "choice here",
                accepted: choices.to_string(),
            }
            .into()),
        },
        Kind::Count => plain(Value::Count(reading::parse_count(typed)?)),
        Kind::Flag => match typed {
            "yes" => plain(Value::Flag(true)),
            "no" => plain(Value::Flag(false)),
            _ => Err(BadValue::Shape {
                text: typed.to_owned(),
                why: "is neither",
                accepted: "yes, no".into(),
            }),
        },
        Kind::Text => {
            if typed.len() > MAX_TEXT
                || typed.chars().any(|c| c.is_control() && c != '\n' && c != '\t')
            {
                return Err(BadValue::Shape {
                    text: typed.chars().filter(|c| !c.is_control()).take(40).collect(),
                    why: "is too long or holds control characters",
                    accepted: format!("plain text of at most {MAX_TEXT} bytes"),
                });
            }
            plain(Value::Text(typed.to_owned()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{dictionary::Dictionary, part::Role};

    fn read(role: Role, key: &str, typed: &str) -> Result<TypedValue, BadValue> {
        read_value(&Dictionary::standard().entry_for(Part::first(role), key)?, typed, None)
    }

    #[test]
    fn each_kind_reads_its_own_texts() {
        let mass = read(Role::Woofer, "driver_mass", "1 lb 6 oz").unwrap();
        assert_eq!(mass.unit, "lb oz");
        assert!(
            matches!(mass.value, Value::Number { si, .. } if (si - 0.623_689_508_75).abs() < 1e-15)
        );
        assert_eq!(
            read(Role::Cabinet, "panel_material", "mdf").unwrap().value,
            Value::Choice("mdf".into())
        );
        assert_eq!(read(Role::Cabinet, "brace_count", "2").unwrap().value, Value::Count(2));
        assert_eq!(read(Role::Cabinet, "leak_found", "no").unwrap().value, Value::Flag(false));
        assert_eq!(
            read(Role::Cabinet, "brace_pos", "100 mm; 20 cm").unwrap().value,
            Value::Numbers(vec![0.1, 0.2])
        );
    }

    #[test]
    fn refusals_name_the_text_and_what_is_accepted() {
        let of = |role, key, typed| read(role, key, typed).unwrap_err().to_string();
        assert_eq!(
            of(Role::Cabinet, "panel_materal", "mdf"),
            "cabinet has no finding \"panel_materal\"; did you mean \"panel_material\"?"
        );
        assert_eq!(
            of(Role::Cabinet, "panel_material", "wood"),
            "\"wood\" is not a choice here; accepted: mdf, particle, ply, moulded, other"
        );
        assert_eq!(
            of(Role::Cabinet, "leak_found", "true"),
            "\"true\" is neither; accepted: yes, no"
        );
        assert!(of(Role::Cabinet, "finish_note", "a\u{7}b").contains("control characters"));
    }

    #[test]
    fn only_numbers_have_an_uncertainty() {
        let entry = dictionary::find(Role::Cabinet, "brace_count").unwrap();
        let why = read_value(entry, "2", Some("1")).unwrap_err().to_string();
        assert!(why.contains("only a number"), "{why}");
    }
}
