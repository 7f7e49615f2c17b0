//! The typeface that pictures and PDF are set in. It ships with the program, so that text never depends on what a
//! computer has installed. Its figures are tabular.
//!
//! It is a part of Noto Sans 2.004 (Debian's `fonts-noto-core` 20201225) under the SIL Open Font License 1.1
//! (`fonts/OFL.txt`), with a name of its own as a changed font: Latin, Greek and Cyrillic letters, figures and signs, without
//! hints and layout tables. The minus sign is drawn from the bar of the plus sign; `≈ ≤ ≥ → ⟨ ⟩` are from Noto Sans Math.

use std::{collections::BTreeMap, sync::OnceLock};

use skrifa::{
    FontRef, MetadataProvider,
    instance::{LocationRef, Size},
};

use crate::{
    chart::Mark,
    literal,
    report::{Block, Report},
};

pub(crate) const REGULAR: &[u8] = include_bytes!("../fonts/BoxworthSans-Regular.ttf");
pub(crate) const BOLD: &[u8] = include_bytes!("../fonts/BoxworthSans-Bold.ttf");

/// A character of a report that the typeface has not; pictures and PDF show a replacement character for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unwritable {
    /// The character.
    pub character: char,
    /// A text that it stands in.
    pub text: String,
}

/// Glyph and width of characters, for one weight.
#[derive(Debug)]
pub(crate) struct Metrics {
    glyphs: BTreeMap<char, (u32, f32)>,
    replacement: (u32, f32),
}

impl Metrics {
    pub(crate) fn regular() -> &'static Metrics {
        static IT: OnceLock<Metrics> = OnceLock::new();
        IT.get_or_init(|| Metrics::of(REGULAR))
    }

    pub(crate) fn bold() -> &'static Metrics {
        static IT: OnceLock<Metrics> = OnceLock::new();
        IT.get_or_init(|| Metrics::of(BOLD))
    }

    fn of(bytes: &[u8]) -> Metrics {
        // The file is compiled in and a test reads it, so that a font that cannot be read is a font without glyphs.
        let Ok(font) = FontRef::new(bytes) else {
            return Metrics { glyphs: BTreeMap::new(), replacement: (0, 0.6) };
        };
        let widths = font.glyph_metrics(Size::new(1.0), LocationRef::default());
        let glyphs: BTreeMap<char, (u32, f32)> = font
            .charmap()
            .mappings()
            .filter_map(|(it, glyph)| {
                Some((char::from_u32(it)?, (glyph.to_u32(), widths.advance_width(glyph)?)))
            })
            .collect();
        let replacement = glyphs.get(&char::REPLACEMENT_CHARACTER).copied().unwrap_or((0, 0.6));
        Metrics { glyphs, replacement }
    }

    /// Glyph and width at size 1.
    pub(crate) fn glyph(&self, it: char) -> (u32, f32) {
        self.glyphs.get(&it).copied().unwrap_or(self.replacement)
    }

    pub(crate) fn has(&self, it: char) -> bool {
        self.glyphs.contains_key(&it)
    }

    pub(crate) fn width(&self, text: &str, size: f32) -> f32 {
        text.chars().map(|it| self.glyph(it).1).sum::<f32>() * size
    }
}

/// How wide a text is in pictures and PDF, in points.
#[must_use]
pub fn printed_width(text: &str, size: f64) -> f64 {
    text.chars().map(|it| f64::from(Metrics::regular().glyph(it).1)).sum::<f64>() * size
}

/// The text with a replacement character for each that the typeface has not, so that none vanishes.
pub(crate) fn writable(text: &str) -> String {
    let font = Metrics::regular();
    let one = |it: char| if font.has(it) || it == '\n' { it } else { char::REPLACEMENT_CHARACTER };
    literal(text).chars().map(one).collect()
}

/// The characters that pictures and PDF cannot show, each once.
#[must_use]
pub fn unwritable(report: &Report) -> Vec<Unwritable> {
    let mut found: BTreeMap<char, String> = BTreeMap::new();
    let mut look = |text: &str| {
        for it in literal(text).chars() {
            if !Metrics::regular().has(it) && it != '\n' {
                found.entry(it).or_insert_with(|| text.to_owned());
            }
        }
    };
    for text in [&report.title, &report.subtitle, &report.author] {
        look(text);
    }
    for block in &report.blocks {
        match block {
            Block::Heading { text, .. } | Block::Text { text } => look(text),
            Block::List { items } | Block::Caution { items } => {
                items.iter().for_each(|it| look(it))
            }
            Block::Terms { terms } => terms.iter().for_each(|(name, text)| {
                look(name);
                look(text);
            }),
            Block::Table(table) => {
                look(&table.title);
                table.notes.iter().for_each(|it| look(it));
                table.columns.iter().for_each(|it| look(&it.heading()));
                for row in &table.rows {
                    for (column, cell) in table.columns.iter().zip(row) {
                        look(&cell.shown(column.what));
                    }
                }
            }
            Block::Chart(chart) => {
                look(&chart.title);
                for mark in &chart.marks {
                    if let Mark::Words { text, .. } = mark {
                        look(text);
                    }
                }
            }
        }
    }
    found.into_iter().map(|(character, text)| Unwritable { character, text }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fonts_are_there_and_their_figures_are_tabular() {
        for font in [Metrics::regular(), Metrics::bold()] {
            assert!(font.glyphs.len() > 1_500);
            for it in "0123456789".chars() {
                assert!((font.glyph(it).1 - font.glyph('0').1).abs() < 1e-6, "{it}");
            }
            for it in "–−±×≈≤≥→⟨⟩Ωµ³½…·€\u{A0}ÄßñşŁЖΔ".chars() {
                assert!(font.has(it), "{it} is not there");
            }
        }
    }

    #[test]
    fn what_the_typeface_has_not_is_replaced_and_never_dropped() {
        assert_eq!(writable("a扬b"), "a\u{FFFD}b");
        assert_eq!(writable("Größe"), "Größe");
    }
}
