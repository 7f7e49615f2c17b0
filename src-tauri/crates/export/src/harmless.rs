//! Making text from outside harmless for a terminal.

/// Replaces what could move the cursor, hide text or turn its direction: line breaks and tabs become blanks, other
/// control characters and direction marks become `U+FFFD`, so that a reader sees that something was there.
///
/// The direction marks are those of Unicode Standard Annex 9 (explicit formatting characters); the tag characters can
/// hide a whole text.
#[must_use]
pub fn harmless(text: &str) -> String {
    text.chars()
        .map(|it| match it {
            '\n' | '\r' | '\t' | '\u{2028}' | '\u{2029}' => ' ',
            it if is_harmful(it) => char::REPLACEMENT_CHARACTER,
            it => it,
        })
        .collect()
}

pub(crate) fn is_harmful(it: char) -> bool {
    it.is_control()
        || matches!(
            it,
            '\u{061C}'
                | '\u{200B}'
                | '\u{200E}'
                | '\u{200F}'
                | '\u{202A}'..='\u{202E}'
                | '\u{2060}'
                | '\u{2066}'..='\u{2069}'
                | '\u{FEFF}'
                | '\u{E0000}'..='\u{E007F}'
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn escape_sequences_lose_their_escape() {
        assert_eq!(harmless("a\u{1b}[2Jb"), "a\u{FFFD}[2Jb");
        assert_eq!(harmless("\u{9b}31m"), "\u{FFFD}31m");
        assert_eq!(harmless("bell\u{7}"), "bell\u{FFFD}");
    }

    #[test]
    fn a_cell_has_one_line() {
        assert_eq!(harmless("one\r\ntwo\tthree\u{2028}four"), "one  two three four");
    }

    /// The twelve explicit formatting characters: Unicode Standard Annex 9, section 2, tables of embeddings, overrides,
    /// isolates and marks.
    #[test]
    fn text_cannot_be_turned_around() {
        for mark in [
            '\u{202A}', '\u{202B}', '\u{202C}', '\u{202D}', '\u{202E}', '\u{2066}', '\u{2067}',
            '\u{2068}', '\u{2069}', '\u{200E}', '\u{200F}', '\u{061C}',
        ] {
            assert_eq!(harmless(&format!("a{mark}b")), "a\u{FFFD}b", "{mark:?}");
        }
    }

    #[test]
    fn words_of_any_language_stay() {
        for text in ["Größe 4,7 µF", "扬声器", "मेल", "e\u{301}", "Ω · m³ – ½"] {
            assert_eq!(harmless(text), text);
        }
    }
}
