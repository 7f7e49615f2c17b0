//! The report as PDF on A4: pages of marks, set in the typeface that ships with the program.

mod page;
mod table;

use krilla::{
    Document,
    color::rgb,
    destination::XyzDestination,
    geom::{PathBuilder, Point, Rect},
    metadata::{DateTime, Metadata},
    num::NormalizedF32,
    outline::{Outline, OutlineNode},
    page::PageSettings,
    paint::{Fill as PdfFill, Stroke, StrokeDash},
    surface::Surface,
    text::{Font, GlyphId, KrillaGlyph},
};

use crate::{
    chart::{Anchor, Edge, Fill, Mark, Tone},
    report::Report,
    typeface::{BOLD, Metrics, REGULAR},
};
use page::{HEIGHT, WIDTH};

/// The document; the same report gives the same bytes.
///
/// # Errors
/// When the document cannot be put together, which no text causes.
pub fn to_pdf(report: &Report) -> Result<Vec<u8>, String> {
    let (pages, places) = page::pages(report);
    let font = |bytes: &'static [u8]| {
        Font::new(bytes.to_vec().into(), 0).ok_or_else(|| "the typeface cannot be read".to_owned())
    };
    let fonts = [font(REGULAR)?, font(BOLD)?];
    let mut document = Document::new();
    for marks in &pages {
        let settings = PageSettings::from_wh(WIDTH, HEIGHT).ok_or("a page has no extent")?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        for mark in marks {
            draw(&mut surface, mark, &fonts);
        }
        surface.finish();
        page.finish();
    }
    let mut outline = Outline::new();
    for it in places {
        let there = XyzDestination::new(it.page, Point::from_xy(0.0, it.y));
        outline.push_child(OutlineNode::new(it.text, there));
    }
    document.set_outline(outline);
    document.set_metadata(metadata(report));
    document.finish().map_err(|why| format!("{why:?}"))
}

fn metadata(report: &Report) -> Metadata {
    let mut it = Metadata::new()
        .title(report.title.clone())
        .language("en".to_owned())
        .creator("Boxworth".to_owned())
        .document_id(format!("{} {}", report.title, report.dateline()));
    if !report.subtitle.is_empty() {
        it = it.description(report.subtitle.clone());
    }
    if !report.author.is_empty() {
        it = it.authors(vec![report.author.clone()]);
    }
    let mut day = report.date.splitn(3, '-');
    let (year, month, date) = (day.next(), day.next(), day.next());
    if let (Some(Ok(year)), Some(Ok(month)), Some(Ok(date))) =
        (year.map(str::parse), month.map(str::parse), date.map(str::parse))
    {
        it = it.creation_date(DateTime::new(year).month(month).day(date));
    }
    it
}

fn fill(tone: Tone, density: f64) -> PdfFill {
    let (r, g, b) = tone.rgb();
    PdfFill {
        paint: rgb::Color::new(r, g, b).into(),
        opacity: NormalizedF32::new(small(density)).unwrap_or(NormalizedF32::ONE),
        ..PdfFill::default()
    }
}

fn stroke(tone: Tone, width: f64, dashed: bool) -> Stroke {
    let (r, g, b) = tone.rgb();
    Stroke {
        paint: rgb::Color::new(r, g, b).into(),
        width: small(width),
        dash: dashed.then(|| StrokeDash { array: vec![4.0, 3.0], offset: 0.0 }),
        ..Stroke::default()
    }
}

#[expect(clippy::cast_possible_truncation, reason = "places on a page need no more than f32 holds")]
fn small(value: f64) -> f32 {
    value as f32
}

fn draw(on: &mut Surface<'_>, mark: &Mark, fonts: &[Font; 2]) {
    match mark {
        Mark::Line { points, tone, width, dashed } => {
            paint(on, path(points), None, Some(stroke(*tone, *width, *dashed)));
        }
        Mark::Area { x, y, width, height, round, fill, edge } => {
            let path = area(small(*x), small(*y), small(*width), small(*height), small(*round));
            paint(on, path, fill.map(filled), edge.map(edged));
        }
        Mark::Shape { points, fill, edge } => {
            let mut path = path(points);
            path.close();
            paint(on, path, fill.map(filled), edge.map(edged));
        }
        Mark::Words { x, y, text, anchor, size, tone, bold } => {
            let metrics = if *bold { Metrics::bold() } else { Metrics::regular() };
            let size = small(*size);
            let text = crate::typeface::writable(text);
            let left = match anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => metrics.width(&text, size) / 2.0,
                Anchor::End => metrics.width(&text, size),
            };
            let glyphs: Vec<KrillaGlyph> = text
                .char_indices()
                .map(|(at, it)| {
                    let (glyph, advance) = metrics.glyph(it);
                    let range = at..at + it.len_utf8();
                    KrillaGlyph::new(GlyphId::new(glyph), advance, 0.0, 0.0, 0.0, range, None)
                })
                .collect();
            on.set_stroke(None);
            on.set_fill(Some(fill(*tone, 1.0)));
            let start = Point::from_xy(small(*x) - left, small(*y));
            on.draw_glyphs(start, &glyphs, fonts[usize::from(*bold)].clone(), &text, size, false);
        }
    }
}

fn paint(on: &mut Surface<'_>, path: PathBuilder, fill: Option<PdfFill>, stroke: Option<Stroke>) {
    if let Some(path) = path.finish() {
        on.set_fill(fill);
        on.set_stroke(stroke);
        on.draw_path(&path);
    }
}

fn filled(it: Fill) -> PdfFill {
    fill(it.tone, it.density)
}

fn edged(it: Edge) -> Stroke {
    stroke(it.tone, it.width, false)
}

fn path(points: &[(f64, f64)]) -> PathBuilder {
    let mut path = PathBuilder::new();
    for (at, (x, y)) in points.iter().enumerate() {
        if at == 0 {
            path.move_to(small(*x), small(*y));
        } else {
            path.line_to(small(*x), small(*y));
        }
    }
    path
}

/// A rectangle whose corners are cubic arcs; the factor is 4/3 (√2 − 1).
fn area(x: f32, y: f32, width: f32, height: f32, round: f32) -> PathBuilder {
    let mut path = PathBuilder::new();
    let r = round.min(width / 2.0).min(height / 2.0);
    if r <= 0.0 {
        if let Some(it) = Rect::from_xywh(x, y, width, height) {
            path.push_rect(it);
        }
        return path;
    }
    let (right, bottom, k) = (x + width, y + height, r * (1.0 - 0.552_284_8));
    path.move_to(x + r, y);
    path.line_to(right - r, y);
    path.cubic_to(right - k, y, right, y + k, right, y + r);
    path.line_to(right, bottom - r);
    path.cubic_to(right, bottom - k, right - k, bottom, right - r, bottom);
    path.line_to(x + r, bottom);
    path.cubic_to(x + k, bottom, x, bottom - k, x, bottom - r);
    path.line_to(x, y + r);
    path.cubic_to(x, y + k, x + k, y, x + r, y);
    path.close();
    path
}
