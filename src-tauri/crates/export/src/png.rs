//! Charts as pictures of pixels: the SVG, drawn with the typeface of this crate and no other.

use std::sync::{Arc, OnceLock};

use resvg::{
    tiny_skia::{Pixmap, Transform},
    usvg::{Options, Tree, fontdb::Database},
};

use crate::{
    chart::{Chart, Mark},
    svg::to_svg,
    typeface::{BOLD, REGULAR, writable},
};

/// Pixels for each point: 192 for an inch, sharp on paper and on a dense screen.
const SCALE: f32 = 192.0 / 72.0;

fn fonts() -> Arc<Database> {
    static FONTS: OnceLock<Arc<Database>> = OnceLock::new();
    Arc::clone(FONTS.get_or_init(|| {
        let mut fonts = Database::new();
        fonts.load_font_data(REGULAR.to_vec());
        fonts.load_font_data(BOLD.to_vec());
        // A family that is asked for and not there would take all its text with it.
        fonts.set_sans_serif_family("Boxworth Sans");
        Arc::new(fonts)
    }))
}

/// No side has more pixels than this, so that a picture of many products can be opened by what people have.
const LONGEST: f32 = 16_000.0;

/// The chart as PNG; `None` for one that has no extent. A very tall one has fewer pixels for each point.
#[must_use]
pub fn to_png(chart: &Chart) -> Option<Vec<u8>> {
    let chart = Chart {
        marks: chart
            .marks
            .iter()
            .cloned()
            .map(|it| match it {
                Mark::Words { x, y, text, anchor, size, tone, bold } => {
                    Mark::Words { x, y, text: writable(&text), anchor, size, tone, bold }
                }
                other => other,
            })
            .collect(),
        ..chart.clone()
    };
    let options = Options {
        font_family: "Boxworth Sans".into(),
        fontdb: fonts(),
        dpi: 72.0,
        ..Options::default()
    };
    let tree = Tree::from_str(&to_svg(&chart), &options).ok()?;
    let scale = SCALE.min(LONGEST / tree.size().width().max(tree.size().height()));
    let size = tree.size().to_int_size().scale_by(scale)?;
    let mut pixels = Pixmap::new(size.width(), size.height())?;
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut pixels.as_mut());
    pixels.encode_png().ok()
}

#[cfg(test)]
mod tests {
    use resvg::tiny_skia::Pixmap;

    use super::to_png;
    use crate::{Anchor, Chart, Mark, Tone};

    fn words(text: &str, bold: bool) -> Chart {
        let words = Mark::Words {
            x: 10.0,
            y: 30.0,
            text: text.into(),
            anchor: Anchor::Start,
            size: 12.0,
            tone: Tone::Ink,
            bold,
        };
        Chart {
            id: "words".into(),
            title: "Words".into(),
            description: "words alone".into(),
            width: 200.0,
            height: 50.0,
            marks: vec![words],
        }
    }

    #[test]
    fn a_picture_of_thousands_of_products_has_bounds() {
        let tall = Chart { height: 40_000.0, ..words("many", false) };
        let pixels = Pixmap::decode_png(&to_png(&tall).unwrap()).unwrap();
        assert!(pixels.height() <= 16_000, "{} pixels high", pixels.height());
    }

    fn ink(chart: &Chart) -> usize {
        let pixels = Pixmap::decode_png(&to_png(chart).unwrap()).unwrap();
        pixels.pixels().iter().filter(|it| it.red() < 128).count()
    }

    /// A renderer that finds no font leaves the text out and says nothing.
    #[test]
    fn text_leaves_ink_in_every_weight_and_script() {
        assert_eq!(ink(&words("", false)), 0);
        for text in ["Stile 5", "Größe", "扬声器", "שלום", "\u{202E}x"] {
            for bold in [false, true] {
                assert!(ink(&words(text, bold)) > 100, "{text:?} vanished");
            }
        }
        assert!(ink(&words("Stile 5", true)) > ink(&words("Stile 5", false)));
    }
}
