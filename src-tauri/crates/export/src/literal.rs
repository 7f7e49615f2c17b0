//! Text from outside in formats for reading: it comes out as it was written, and does nothing.
//!
//! A character that would turn, hide or move other text is shown by its number. Formats for machines keep every character
//! and need none of this.

use crate::harmless::is_harmful;

/// The text with line breaks as they are and each character that acts on others shown as `⟨U+202E⟩`.
#[must_use]
pub fn literal(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for it in text.chars() {
        match it {
            '\n' => out.push('\n'),
            '\r' => {}
            '\t' | '\u{2028}' | '\u{2029}' => out.push(' '),
            it if is_harmful(it) => out.push_str(&format!("⟨U+{:04X}⟩", u32::from(it))),
            it => out.push(it),
        }
    }
    out
}

/// The same in one line.
#[must_use]
pub fn literal_line(text: &str) -> String {
    literal(text).replace('\n', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_acts_on_text_is_shown_by_its_number() {
        assert_eq!(literal("a\u{202E}b\u{0}c"), "a⟨U+202E⟩b⟨U+0000⟩c");
        assert_eq!(literal("one\r\ntwo"), "one\ntwo");
        assert_eq!(literal_line("one\ntwo\tthree"), "one two three");
        assert_eq!(literal("Größe 4,7 µF שלום"), "Größe 4,7 µF שלום");
    }
}
