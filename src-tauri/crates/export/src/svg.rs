//! Charts as SVG 1.1 with presentation attributes only, so that browsers, editors and renderers draw the same.

use crate::{
    chart::{Anchor, Chart, Edge, Fill, Mark, Tone},
    literal_line,
};

/// The fonts that are asked for: the first is what the one of this crate is a part of.
const FONTS: &str = "Noto Sans, Helvetica Neue, Arial, DejaVu Sans, sans-serif";

/// A file.
#[must_use]
pub fn to_svg(chart: &Chart) -> String {
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    out.push_str(&inline(chart));
    out.push('\n');
    out
}

/// The element alone, to stand in a page.
pub(crate) fn inline(chart: &Chart) -> String {
    let (width, height) = (number(chart.width), number(chart.height));
    let id = &chart.id;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}pt\" height=\"{height}pt\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" aria-labelledby=\"{id}-title {id}-desc\" font-family=\"{FONTS}\">\n\
         <title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-desc\">{}</desc>\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n",
        escaped(&chart.title),
        escaped(&chart.description),
    );
    for mark in &chart.marks {
        one(&mut out, mark);
    }
    out.push_str("</svg>");
    out
}

fn one(out: &mut String, mark: &Mark) {
    let line = match mark {
        Mark::Line { points, tone, width, dashed } => {
            let dash = if *dashed { " stroke-dasharray=\"4 3\"" } else { "" };
            format!(
                "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{dash}/>",
                places(points),
                hex(*tone),
                number(*width)
            )
        }
        Mark::Area { x, y, width, height, round, fill, edge } => {
            let round =
                if *round > 0.0 { format!(" rx=\"{}\"", number(*round)) } else { String::new() };
            format!(
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{round}{}/>",
                number(*x),
                number(*y),
                number(*width),
                number(*height),
                paint(*fill, *edge)
            )
        }
        Mark::Shape { points, fill, edge } => {
            format!("<polygon points=\"{}\"{}/>", places(points), paint(*fill, *edge))
        }
        Mark::Words { x, y, text, anchor, size, tone, bold } => {
            let anchor = match anchor {
                Anchor::Start => "",
                Anchor::Middle => " text-anchor=\"middle\"",
                Anchor::End => " text-anchor=\"end\"",
            };
            let weight = if *bold { " font-weight=\"700\"" } else { "" };
            format!(
                "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{}\"{anchor}{weight}>{}</text>",
                number(*x),
                number(*y),
                number(*size),
                hex(*tone),
                escaped(text)
            )
        }
    };
    out.push_str(&line);
    out.push('\n');
}

fn places(points: &[(f64, f64)]) -> String {
    points
        .iter()
        .map(|(x, y)| format!("{},{}", number(*x), number(*y)))
        .collect::<Vec<_>>()
        .join(" ")
}

fn paint(fill: Option<Fill>, edge: Option<Edge>) -> String {
    let mut text = match fill {
        None => " fill=\"none\"".to_owned(),
        Some(it) if it.density < 1.0 => {
            format!(" fill=\"{}\" fill-opacity=\"{}\"", hex(it.tone), number(it.density))
        }
        Some(it) => format!(" fill=\"{}\"", hex(it.tone)),
    };
    if let Some(it) = edge {
        text.push_str(&format!(
            " stroke=\"{}\" stroke-width=\"{}\"",
            hex(it.tone),
            number(it.width)
        ));
    }
    text
}

fn hex(tone: Tone) -> String {
    let (r, g, b) = tone.rgb();
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Two decimals at most, so that the same chart has the same bytes.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for it in literal_line(text).chars() {
        match it {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // XML 1.0 has no place for these two, not even as entities.
            '\u{FFFE}' | '\u{FFFF}' => out.push(char::REPLACEMENT_CHARACTER),
            it => out.push(it),
        }
    }
    out
}
