//! What is wrong with a plain catalogue, and where.

use std::fmt;

use domain::{
    finding::BadValue,
    key::UnknownWord,
    money::BadAmount,
    price::BadDate,
    reading::ReadingError,
    text::{BadText, shortened, turns_direction},
};

/// The most faults that a refusal lists.
pub const MAX_FAULTS: usize = 200;

/// The most faults that are held before sorting; further ones are counted.
const MOST_HELD: usize = 10 * MAX_FAULTS;

/// The longest message, in characters; a text from a file is cut to fit.
const LONGEST: usize = 400;

/// One fault of one file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// The file, relative to the folder given, with forward slashes.
    pub file: String,
    /// The line, from 1, where there is one.
    pub line: Option<u32>,
    /// The key, such as `teardown[1].woofer.re`; tables of a list are counted from 1.
    /// For a sweep the column. Empty for a fault of the file as a whole.
    pub key: String,
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub accepted: String,
}

impl fmt::Display for Fault {
    /// `products/a/b.toml:12: price[1].amount: the key is missing; accepted: …`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
        }
        if !self.key.is_empty() {
            write!(f, ": {}", self.key)?;
        }
        write!(f, ": {}", self.message)?;
        if self.accepted.is_empty() { Ok(()) } else { write!(f, "; accepted: {}", self.accepted) }
    }
}

/// Something about a file that is no fault: what was assumed or converted, and what is probably a slip.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Note {
    /// The file, relative to the folder given, with forward slashes.
    pub file: String,
    /// The line, from 1, where there is one.
    pub line: Option<u32>,
    /// What there is to say.
    pub text: String,
}

/// What is wrong with one value, before its place is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Refusal {
    pub(super) message: String,
    pub(super) accepted: String,
}

impl Refusal {
    pub(super) fn new(message: impl Into<String>, accepted: impl Into<String>) -> Self {
        Refusal { message: message.into(), accepted: accepted.into() }
    }

    /// Takes the accepted form off the end of an error that says both in one sentence.
    fn parted(full: &str, joint: &str, accepted: &str) -> Self {
        let message = full.strip_suffix(accepted).and_then(|it| it.strip_suffix(joint));
        Refusal::new(message.unwrap_or(full), accepted)
    }
}

impl From<BadText> for Refusal {
    fn from(why: BadText) -> Self {
        Refusal::new(why.message, why.accepted)
    }
}

impl From<UnknownWord> for Refusal {
    fn from(why: UnknownWord) -> Self {
        Refusal::parted(&why.to_string(), "; accepted: ", &why.accepted)
    }
}

impl From<ReadingError> for Refusal {
    fn from(why: ReadingError) -> Self {
        Refusal::parted(&why.to_string(), "; accepted: ", &why.accepted)
    }
}

impl From<BadValue> for Refusal {
    fn from(why: BadValue) -> Self {
        match why {
            BadValue::Reading(why) => why.into(),
            BadValue::Choice(why) => why.into(),
            BadValue::Shape { ref accepted, .. } => {
                Refusal::parted(&why.to_string(), "; accepted: ", accepted)
            }
            other => Refusal::new(other.to_string(), ""),
        }
    }
}

impl From<BadAmount> for Refusal {
    fn from(why: BadAmount) -> Self {
        written(&why.to_string())
    }
}

impl From<BadDate> for Refusal {
    fn from(why: BadDate) -> Self {
        written(&why.to_string())
    }
}

/// Parts a sentence that ends in `; write …`.
fn written(full: &str) -> Refusal {
    let (message, accepted) = full.rsplit_once("; write ").unwrap_or((full, ""));
    Refusal::new(message, accepted)
}

/// The faults found so far, and the notes.
#[derive(Debug, Default)]
pub(super) struct Faults {
    held: Vec<Fault>,
    dropped: usize,
    notes: Vec<Note>,
}

impl Faults {
    /// Whether further faults are only counted, so that what they would say need not be worked out.
    pub(super) fn is_full(&self) -> bool {
        self.held.len() >= MOST_HELD
    }

    pub(super) fn add(&mut self, file: &str, line: Option<u32>, key: &str, why: Refusal) {
        if self.is_full() {
            self.dropped += 1;
            return;
        }
        self.held.push(Fault {
            file: printable(file),
            line,
            key: printable(key),
            message: printable(&shortened(&why.message, LONGEST)),
            accepted: printable(&shortened(&why.accepted, 2 * LONGEST)),
        });
    }

    /// Adds what is no fault.
    pub(super) fn note(&mut self, file: &str, line: Option<u32>, text: &str) {
        let text = printable(&shortened(text, LONGEST));
        self.notes.push(Note { file: printable(file), line, text });
    }

    /// The notes by file and line.
    ///
    /// # Errors
    /// The faults by file and line, if there are any; past [`MAX_FAULTS`], the last says how many are left out.
    pub(super) fn finish(mut self) -> Result<Vec<Note>, Vec<Fault>> {
        self.held.sort_unstable();
        self.held.dedup();
        if self.held.len() > MAX_FAULTS {
            let more = self.held.len() + self.dropped - (MAX_FAULTS - 1);
            self.held.truncate(MAX_FAULTS);
            if let Some(last) = self.held.last_mut() {
                last.line = None;
                last.key.clear();
                last.message = format!("{more} more faults, the first of them in this file");
                last.accepted.clear();
            }
        }
        self.notes.sort_unstable();
        if self.held.is_empty() { Ok(self.notes) } else { Err(self.held) }
    }
}

/// The text with what would move a cursor or turn the line written out: keys and file names are chosen by strangers.
fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_control() || turns_direction(c) {
            out.extend(c.escape_unicode())
        } else {
            out.push(c)
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::{evidence::Evidence, money::Currency, money::Money, price::PriceDate};

    fn add(faults: &mut Faults, file: &str, line: u32) {
        faults.add(file, Some(line), "k", Refusal::new("m", "a"));
    }

    #[test]
    fn faults_come_out_by_file_and_line_as_numbers() {
        let mut faults = Faults::default();
        for (file, line) in [("b", 1), ("a", 10), ("a", 9)] {
            add(&mut faults, file, line);
        }
        let shown: Vec<String> =
            faults.finish().unwrap_err().iter().map(ToString::to_string).collect();
        assert_eq!(
            shown,
            ["a:9: k: m; accepted: a", "a:10: k: m; accepted: a", "b:1: k: m; accepted: a"]
        );
    }

    #[test]
    fn the_last_of_too_many_says_how_many_more() {
        for (count, last) in [
            (200, "f:200: k: m; accepted: a"),
            (201, "f: 2 more faults, the first of them in this file"),
            (25_000, "f: 24801 more faults, the first of them in this file"),
        ] {
            let mut faults = Faults::default();
            for line in 1..=count {
                add(&mut faults, "f", line);
            }
            let all = faults.finish().unwrap_err();
            assert_eq!((all.len(), all[199].to_string().as_str()), (200, last));
        }
    }

    #[test]
    fn nothing_that_a_stranger_wrote_moves_the_cursor() {
        let mut faults = Faults::default();
        faults.add("a\u{1b}[2J.toml", None, "k\n", Refusal::new("m\r", "\u{202e}x µ"));
        let shown = faults.finish().unwrap_err()[0].to_string();
        assert_eq!(shown, "a\\u{1b}[2J.toml: k\\u{a}: m\\u{d}; accepted: \\u{202e}x µ");
    }

    #[test]
    fn the_accepted_form_leaves_the_message() {
        let word: Refusal = Evidence::parse("x; accepted: y").unwrap_err().into();
        assert_eq!(word.message, "\"x; accepted: y\" is not an evidence grade");
        assert_eq!(word.accepted, "measured, inspected, marked, claimed, inferred");
        let amount: Refusal = Money::parse("1,299", Currency::Usd).unwrap_err().into();
        assert_eq!(amount.message, "\"1,299\" is not an amount");
        assert!(amount.accepted.starts_with("digits with at most two decimals"), "{amount:?}");
        let date: Refusal = "June; write 5".parse::<PriceDate>().unwrap_err().into();
        assert_eq!(date.message, "\"June; write 5\" is not a date");
        assert_eq!(date.accepted, "YYYY-MM-DD, YYYY-MM or YYYY from 1950 to 2199");
    }
}
