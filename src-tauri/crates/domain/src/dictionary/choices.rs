//! The words of a finding that is a choice.

use std::fmt;

/// A closed list of words, those of a standard entry or of a plugin's.
#[derive(Debug, Clone, Copy)]
pub struct Choices<'a>(List<'a>);

#[derive(Debug, Clone, Copy)]
enum List<'a> {
    Standard(&'a [&'a str]),
    Own(&'a [String]),
}

impl<'a> Choices<'a> {
    pub(super) const fn of(words: &'a [&'a str]) -> Self {
        Choices(List::Standard(words))
    }

    pub(super) const fn owned(words: &'a [String]) -> Self {
        Choices(List::Own(words))
    }

    /// The words, in their order.
    pub fn iter(self) -> impl Iterator<Item = &'a str> {
        (0..self.len()).filter_map(move |place| self.get(place))
    }

    /// The word at a place from 0.
    #[must_use]
    pub fn get(self, place: usize) -> Option<&'a str> {
        match self.0 {
            List::Standard(words) => words.get(place).copied(),
            List::Own(words) => words.get(place).map(String::as_str),
        }
    }

    /// The place of a word, from 0.
    #[must_use]
    pub fn position(self, word: &str) -> Option<usize> {
        self.iter().position(|it| it == word)
    }

    fn len(self) -> usize {
        match self.0 {
            List::Standard(words) => words.len(),
            List::Own(words) => words.len(),
        }
    }
}

impl PartialEq for Choices<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.iter().eq(other.iter())
    }
}

/// The words in a row, for messages: `mdf, particle, ply`.
impl fmt::Display for Choices<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.iter().collect::<Vec<_>>().join(", "))
    }
}
