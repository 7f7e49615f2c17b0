//! The dictionary of one catalogue: the standard entries and those of the plugins that are trusted in it.
//!
//! It is a value that readers are given, so that two catalogues in one process know different findings.

use std::sync::Arc;

use super::{Entry, Own, entries, find};
use crate::{
    finding::{Answer, BadValue, Declared, read_value},
    key::nearest_word,
    part::{Part, Role},
};

/// The standard entries and own ones of plugins.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Dictionary {
    own: Vec<Arc<Own>>,
}

/// A key that somebody else declares already.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{key:?} is declared by {by} already")]
pub struct Taken {
    /// The key.
    pub key: String,
    /// By whom: the id of a plugin, or `the dictionary`.
    pub by: String,
}

impl Dictionary {
    /// The standard entries alone.
    #[must_use]
    pub fn standard() -> Self {
        Dictionary::default()
    }

    /// Adds an entry of a plugin.
    ///
    /// # Errors
    /// [`Taken`] when the key stands in the dictionary, of whatever part; the dictionary is then as before.
    pub fn add(&mut self, it: Own) -> Result<(), Taken> {
        let taken = |by: &str| Taken { key: it.key.clone(), by: by.to_owned() };
        if entries().any(|entry| entry.key == it.key) {
            return Err(taken("the dictionary"));
        }
        if let Some(other) = self.own.iter().find(|other| other.key == it.key) {
            return Err(taken(&other.plugin));
        }
        self.own.push(Arc::new(it));
        Ok(())
    }

    /// The same without what a plugin declares.
    #[must_use]
    pub fn without(&self, plugin: &str) -> Self {
        let others = self.own.iter().filter(|it| it.plugin != plugin);
        Dictionary { own: others.cloned().collect() }
    }

    /// All entries, in the order in which a bench form shows them: the standard ones, then those of each plugin.
    pub fn entries(&self) -> impl Iterator<Item = Entry<'_>> {
        let standard = entries().map(|it| Entry { ..*it });
        standard.chain(self.own.iter().map(|it| it.entry()))
    }

    /// The entries of a role, in that order.
    pub fn entries_of(&self, role: Role) -> impl Iterator<Item = Entry<'_>> {
        self.entries().filter(move |it| it.roles.contains(&role))
    }

    /// The entry of a role's key.
    #[must_use]
    pub fn find(&self, role: Role, key: &str) -> Option<Entry<'_>> {
        find(role, key).copied().or_else(|| self.own(role, key).map(|it| it.entry()))
    }

    /// The entry of a part's key.
    ///
    /// # Errors
    /// [`BadValue::UnknownKey`], with the nearest known key where one is near.
    pub fn entry_for(&self, part: Part, key: &str) -> Result<Entry<'_>, BadValue> {
        self.find(part.role, key).ok_or_else(|| BadValue::UnknownKey {
            part: part.to_string(),
            key: key.to_owned(),
            hint: self
                .nearest(part.role, key)
                .map(|it| format!("; did you mean {it:?}?"))
                .unwrap_or_default(),
        })
    }

    /// The known key of a role that is nearest to a mistyped one, if one is near.
    #[must_use]
    pub fn nearest(&self, role: Role, key: &str) -> Option<&str> {
        nearest_word(self.entries_of(role).map(|it| it.key), key)
    }

    /// The keys that plugins declare for a role.
    pub fn own_keys(&self, role: Role) -> impl Iterator<Item = &str> {
        self.own.iter().filter(move |it| it.role == role).map(|it| it.key.as_str())
    }

    /// Who says what a recorded finding means: nobody where no entry of this dictionary has the key, and where that of a
    /// plugin would read the text as something else than it was recorded as.
    #[must_use]
    pub fn declared(&self, part: Part, key: &str, typed: &str, answer: &Answer) -> Declared {
        if find(part.role, key).is_some() {
            return Declared::Standard;
        }
        match self.own(part.role, key) {
            Some(it) if fits(&it.entry(), typed, answer) => Declared::Own(Arc::clone(it)),
            _ => Declared::Nowhere,
        }
    }

    fn own(&self, role: Role, key: &str) -> Option<&Arc<Own>> {
        self.own.iter().find(|it| it.role == role && it.key == key)
    }
}

/// Whether an entry reads a text as what was recorded. A plugin's next version may ask for another kind or other words.
fn fits(entry: &Entry<'_>, typed: &str, answer: &Answer) -> bool {
    let Some(recorded) = answer.value() else { return true };
    read_value(entry, typed, None).is_ok_and(|it| it.value.is_same(recorded))
}

#[cfg(test)]
mod tests;
