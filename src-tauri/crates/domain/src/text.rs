//! The rules for names and notes, wherever they are written: in a file, at the command line, in the window.

use crate::{finding::MAX_TEXT, reading::ReadingError};

/// The longest name, in characters.
const LONGEST_NAME: usize = 80;

/// The accepted form of a name.
pub const NAME: &str = "a name of 1 to 80 characters on one line";

/// A text that cannot stand in its place.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}; accepted: {accepted}")]
pub struct BadText {
    /// What is wrong.
    pub message: String,
    /// What would be right.
    pub accepted: String,
}

impl BadText {
    /// With the message and the accepted form.
    #[must_use]
    pub fn new(message: impl Into<String>, accepted: impl Into<String>) -> Self {
        BadText { message: message.into(), accepted: accepted.into() }
    }
}

impl From<ReadingError> for BadText {
    fn from(it: ReadingError) -> Self {
        BadText::new(format!("cannot read {:?}: {}", it.text, it.why), it.accepted)
    }
}

/// Whether a character turns the direction of writing without being seen.
#[must_use]
pub fn turns_direction(c: char) -> bool {
    matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A name as printed.
///
/// Marks that turn the direction of writing are refused: they make one name look like another.
///
/// # Errors
/// [`BadText`] for an empty or overlong name, and for one with characters that are not seen.
pub fn name(text: &str) -> Result<String, BadText> {
    let why = if text.trim().is_empty() {
        "is empty"
    } else if text.chars().nth(LONGEST_NAME).is_some() {
        "is too long"
    } else if text.chars().any(char::is_control) {
        "holds a control character, such as a tab or a line break"
    } else if text.chars().any(turns_direction) {
        "holds a mark that turns the direction of writing"
    } else if text.trim() != text {
        "starts or ends with a space"
    } else {
        return Ok(text.to_owned());
    };
    Err(BadText::new(format!("{:?} {why}", shortened(text, LONGEST_NAME)), NAME))
}

/// A remark; line breaks and tabs are fine.
///
/// # Errors
/// [`BadText`] for more than [`MAX_TEXT`] bytes and for control characters.
pub fn note(text: &str) -> Result<String, BadText> {
    let accepted = format!("plain text of at most {MAX_TEXT} bytes");
    if text.len() > MAX_TEXT {
        return Err(BadText::new(format!("the text takes {} bytes", text.len()), accepted));
    }
    match text.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\t')) {
        Some(c) => {
            Err(BadText::new(format!("the text holds the control character {c:?}"), accepted))
        }
        None => Ok(text.to_owned()),
    }
}

/// A text cut to a number of characters, with a sign that it was cut.
#[must_use]
pub fn shortened(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_can_deceive_are_refused() {
        let why = |text: &str| name(text).unwrap_err().message;
        assert_eq!(why(""), "\"\" is empty");
        assert_eq!(why("  "), "\"  \" is empty");
        assert_eq!(why("Heron "), "\"Heron \" starts or ends with a space");
        assert_eq!(
            why("He\tron"),
            "\"He\\tron\" holds a control character, such as a tab or a line break"
        );
        assert_eq!(
            why("Heron \u{202e}5"),
            "\"Heron \\u{202e}5\" holds a mark that turns the direction of writing"
        );
        assert!(why(&"é".repeat(81)).ends_with("is too long"));
        for good in ["Alder & Fen", "Øre 5", "5", &"é".repeat(80)] {
            assert_eq!(name(good).unwrap(), good);
        }
    }

    #[test]
    fn notes_keep_their_lines() {
        assert_eq!(note("a\n\tb \u{202e}").unwrap(), "a\n\tb \u{202e}");
        assert_eq!(
            note("a\u{7}").unwrap_err().message,
            "the text holds the control character '\\u{7}'"
        );
        assert_eq!(note(&"x".repeat(2001)).unwrap_err().message, "the text takes 2001 bytes");
    }
}
