//! Product keys, and enums that are written as words in files and tables.

use std::fmt;

/// A word that is none of those accepted in its place.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text:?} is not {article} {what}; accepted: {accepted}", article = article(what))]
pub struct UnknownWord {
    /// The word as found.
    pub text: String,
    /// What was expected, as a noun.
    pub what: &'static str,
    /// The accepted words, comma separated.
    pub accepted: String,
}

fn article(noun: &str) -> &'static str {
    if noun.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// Declares a fieldless enum with one fixed word a variant, the words in files, tables and on screens.
macro_rules! word_enum {
    ($(#[$doc:meta])* pub enum $name:ident : $what:literal { $($(#[$vdoc:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vdoc])* $variant,)+ }

        impl $name {
            /// All variants, in order.
            pub const ALL: &'static [$name] = &[$($name::$variant,)+];

            /// The word for this variant.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word,)+ }
            }

            /// The variant for a word.
            ///
            /// # Errors
            /// [`UnknownWord`](crate::key::UnknownWord) with the accepted words.
            pub fn parse(text: &str) -> Result<Self, $crate::key::UnknownWord> {
                Self::ALL.iter().copied().find(|it| it.word() == text).ok_or_else(|| $crate::key::UnknownWord {
                    text: text.to_owned(),
                    what: $what,
                    accepted: Self::ALL.iter().map(|it| it.word()).collect::<Vec<_>>().join(", "),
                })
            }
        }
    };
}
pub(crate) use word_enum;

/// The known word that is nearest to a mistyped one, if one is near: at most two letters added, lost or changed.
#[must_use]
pub fn nearest_word<'a>(known: impl Iterator<Item = &'a str>, typed: &str) -> Option<&'a str> {
    known
        .map(|it| (edit_distance(it, typed), it))
        .min()
        .filter(|(distance, it)| *distance <= 2 && *distance < it.len())
        .map(|(_, it)| it)
}

/// Levenshtein distance in characters; what is much longer than a word is not compared to its end.
fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().take(40).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let above = row[j + 1];
            row[j + 1] = if x == *y { diagonal } else { 1 + diagonal.min(above).min(row[j]) };
            diagonal = above;
        }
    }
    row[b.len()]
}

/// A product's name for machines: `maker/model`, lower case, digits and dashes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ProductKey(String);

/// A text that is not a product key.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{text:?} is not a product key; write maker/model in lower case letters, digits and dashes"
)]
pub struct BadKey {
    /// The text as found.
    pub text: String,
}

impl ProductKey {
    /// Reads a key as written.
    ///
    /// # Errors
    /// [`BadKey`] unless the text is two non-empty slugs joined by one `/`, at most 160 bytes.
    pub fn parse(text: &str) -> Result<Self, BadKey> {
        let good = |it: &str| {
            !it.is_empty()
                && !it.starts_with('-')
                && !it.ends_with('-')
                && it.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
        };
        match text.split_once('/') {
            Some((maker, model)) if good(maker) && good(model) && text.len() <= 160 => {
                Ok(Self(text.to_owned()))
            }
            _ => Err(BadKey { text: text.to_owned() }),
        }
    }

    /// Makes the key of a maker and a model as printed: `Alder & Fen`, `Heron 5` gives `alder-fen/heron-5`.
    ///
    /// # Errors
    /// [`BadKey`] when either name holds no ASCII letter or digit.
    pub fn from_names(maker: &str, model: &str) -> Result<Self, BadKey> {
        Self::parse(&format!("{}/{}", slug(maker), slug(model)))
            .map_err(|_| BadKey { text: format!("{maker} / {model}") })
    }

    /// The key as text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for ProductKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

fn slug(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    for c in name.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c.to_ascii_lowercase());
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    out.truncate(out.trim_end_matches('-').len());
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_come_from_names_and_survive_reading() {
        let key = ProductKey::from_names("Alder & Fen", "Heron 5 (mk II)").unwrap();
        assert_eq!(key.as_str(), "alder-fen/heron-5-mk-ii");
        assert_eq!(ProductKey::parse(key.as_str()).unwrap(), key);
    }

    #[test]
    fn a_slip_of_the_fingers_is_recognised() {
        let near = |typed| nearest_word(["price", "specimen", "of"].into_iter(), typed);
        assert_eq!((near("prise"), near("speciman")), (Some("price"), Some("specimen")));
        // Two changed letters of a two-letter word leave nothing of it.
        assert_eq!((near("colour"), near("xy")), (None, None));
    }

    #[test]
    fn what_is_no_key_is_refused() {
        for bad in
            ["", "maker", "/", "Maker/model", "a/b/c", "a/-b", "a/b-", "a b/c", "../x/y", "é/ü"]
        {
            assert!(ProductKey::parse(bad).is_err(), "{bad} was accepted");
        }
        assert!(ProductKey::from_names("–", "Heron").is_err());
    }
}
