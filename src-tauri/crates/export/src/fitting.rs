//! Widths in terminal columns: measuring, padding, cutting, wrapping.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use crate::{Align, harmless};

/// The terminal columns that a text takes.
#[must_use]
pub fn width_of(text: &str) -> usize {
    text.width()
}

/// The text itself if it fits, else its beginning and an ellipsis.
#[must_use]
pub fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let Some(room) = width.checked_sub(1) else { return String::new() };
    let mut kept = head(text, room).trim_end().to_owned();
    kept.push('…');
    kept
}

/// A text of several sentences in lines of at most `width` columns, made harmless.
#[must_use]
pub fn paragraph(text: &str, width: usize) -> String {
    wrap(&harmless(text), width).join("\n")
}

/// Lines of at most `width` columns, broken at blanks; a longer word is broken where the line ends. At least one line.
/// The blanks before the text stand before each line.
pub(crate) fn wrap(text: &str, width: usize) -> Vec<String> {
    let words = text.trim_start_matches(' ');
    let indent = &text[..text.len() - words.len()];
    if words.is_empty() || indent.is_empty() {
        return broken(words, width);
    }
    let lines = broken(words, width.saturating_sub(indent.len()));
    lines.into_iter().map(|it| format!("{indent}{it}")).collect()
}

fn broken(text: &str, width: usize) -> Vec<String> {
    let width = width.max(1);
    let mut lines = Vec::new();
    let mut line = String::new();
    for mut word in text.split(' ').filter(|it| !it.is_empty()) {
        if !line.is_empty() {
            if line.width() + 1 + word.width() <= width {
                line.push(' ');
                line.push_str(word);
                continue;
            }
            lines.push(std::mem::take(&mut line));
        }
        while word.width() > width {
            let head = head(word, width);
            // A character wider than the line stands alone, or the word would never end.
            let at = if head.is_empty() {
                word.chars().next().map_or(word.len(), char::len_utf8)
            } else {
                head.len()
            };
            lines.push(word[..at].to_owned());
            word = &word[at..];
        }
        line.push_str(word);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// Adds `text` and the blanks that fill `width`.
pub(crate) fn pad(line: &mut String, text: &str, width: usize, align: Align) {
    let blanks = width.saturating_sub(text.width());
    if align == Align::Right {
        line.extend(std::iter::repeat_n(' ', blanks));
    }
    line.push_str(text);
    if align == Align::Left {
        line.extend(std::iter::repeat_n(' ', blanks));
    }
}

/// The longest beginning of at most `width` columns. Combining marks stay with their letter.
fn head(text: &str, width: usize) -> &str {
    let mut used = 0;
    for (at, it) in text.char_indices() {
        used += it.width().unwrap_or(0);
        if used > width {
            return &text[..at];
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_that_fits_is_not_cut() {
        assert_eq!(cut("Heron 5", 7), "Heron 5");
        assert_eq!(cut("", 0), "");
    }

    #[test]
    fn a_cut_shows_and_keeps_the_width() {
        assert_eq!(cut("Heron 5", 6), "Heron…");
        assert_eq!(cut("Heron 5", 5), "Hero…");
        assert_eq!(cut("Heron 5", 1), "…");
        assert_eq!(cut("Heron 5", 0), "");
    }

    /// Chinese characters take two columns: Unicode Standard Annex 11 (east Asian width W).
    #[test]
    fn wide_characters_are_never_halved() {
        assert_eq!(width_of("扬声器"), 6);
        assert_eq!(cut("扬声器", 4), "扬…");
        assert_eq!(cut("扬声器", 5), "扬声…");
        assert_eq!(wrap("扬声器", 1), ["扬", "声", "器"]);
    }

    #[test]
    fn marks_stay_with_their_letter() {
        assert_eq!(cut("e\u{301}e\u{301}e\u{301}", 2), "e\u{301}…");
    }

    #[test]
    fn lines_break_at_blanks_and_long_words_where_the_line_ends() {
        assert_eq!(wrap("a box of ply", 6), ["a box", "of ply"]);
        assert_eq!(wrap("an unbreakable word", 6), ["an", "unbrea", "kable", "word"]);
        assert_eq!(wrap("   ", 6), [""]);
        assert_eq!(wrap("ab", 0), ["a", "b"]);
    }

    #[test]
    fn an_indent_stands_before_each_line() {
        assert_eq!(wrap("  a box of ply", 8), ["  a box", "  of ply"]);
        assert_eq!(wrap("  ab", 1), ["  a", "  b"]);
    }
}
