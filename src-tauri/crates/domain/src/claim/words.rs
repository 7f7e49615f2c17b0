//! The words of a claim: the first alone, then `key=value`, a value with blanks between double quotes.

use super::{BadClaim, Key, Kind, SCOPE_KEYS, bad};
use crate::key::nearest_word;

/// The words of one claim.
pub(super) struct Words {
    first: String,
    pairs: Vec<(Key, String)>,
}

const FORM: &str = "a word such as best, then key=value; \"…\" around a value with blanks";

impl Words {
    pub(super) fn of(text: &str) -> Result<Self, BadClaim> {
        let mut split = split(text)?.into_iter();
        let first = split.next().ok_or_else(|| bad(text, "says nothing", FORM))?;
        let mut pairs: Vec<(Key, String)> = Vec::new();
        for word in split {
            let Some((key, value)) = word.split_once('=') else {
                return Err(bad(&word, "has no value", FORM));
            };
            let key = Key::parse(key).map_err(|why| {
                let near = nearest_word(Key::ALL.iter().map(|it| it.word()), key);
                let hint = near.map(|it| format!("; did you mean {it}")).unwrap_or_default();
                bad(key, format!("is no key of a claim{hint}"), why.accepted)
            })?;
            if value.trim().is_empty() {
                return Err(bad(&word, "has no value", FORM));
            }
            if pairs.iter().any(|(it, _)| *it == key) {
                return Err(bad(&word, "says a key twice", "each key once"));
            }
            pairs.push((key, value.trim().to_owned()));
        }
        Ok(Words { first, pairs })
    }

    pub(super) fn first(&self) -> &str {
        &self.first
    }

    pub(super) fn get(&self, key: Key) -> Option<&str> {
        self.pairs.iter().find(|(it, _)| *it == key).map(|(_, value)| value.as_str())
    }

    /// Whether the kind takes these keys and no needed one is missing.
    pub(super) fn check(&self, kind: Kind) -> Result<(), BadClaim> {
        let takes = || kind.keys().iter().map(|(key, _)| *key).chain(SCOPE_KEYS);
        let accepted = || takes().map(|it| it.word()).collect::<Vec<_>>().join(", ");
        if let Some((key, _)) = self.pairs.iter().find(|(key, _)| takes().all(|it| it != *key)) {
            return Err(bad(key.word(), format!("is no key of {}", kind.word()), accepted()));
        }
        match kind.keys().iter().find(|(key, needed)| *needed && self.get(*key).is_none()) {
            Some((key, _)) => Err(bad(kind.word(), format!("needs {}=…", key.word()), accepted())),
            None => Ok(()),
        }
    }
}

fn split(text: &str) -> Result<Vec<String>, BadClaim> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut inside = false;
    let mut letters = text.chars();
    while let Some(it) = letters.next() {
        match it {
            '"' => {
                inside = !inside;
                word.get_or_insert_default();
            }
            '\\' if inside => match letters.next() {
                Some(it @ ('"' | '\\')) => word.get_or_insert_default().push(it),
                _ => return Err(bad(text, "has a lone \\ between quotes", "\\\" or \\\\")),
            },
            it if it.is_whitespace() && !inside => words.extend(word.take()),
            it if it.is_control() => {
                return Err(bad(text, "has a control character", "one line of text"));
            }
            it => word.get_or_insert_default().push(it),
        }
    }
    if inside {
        return Err(bad(text, "has a quote that does not end", "\"…\""));
    }
    words.extend(word);
    Ok(words)
}

/// A value as it is written: between quotes where it must be.
pub(super) fn quoted(value: &str) -> String {
    if value.chars().any(|it| it.is_whitespace() || it == '"' || it == '\\') {
        format!("\"{}\"", value.replace('\\', "\\\\").replace('"', "\\\""))
    } else {
        value.to_owned()
    }
}
