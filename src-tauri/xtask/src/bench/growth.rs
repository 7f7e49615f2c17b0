//! How times grow with the size of a catalogue: a table with factors, and a picture with logarithmic axes.
//!
//! It is made of the figures that say their size, `open, 10000 products`.

use super::figures::{Bench, Time, three};

/// One thing measured at several sizes.
#[derive(Debug, PartialEq)]
struct Line {
    what: String,
    /// Sizes and times, by size.
    at: Vec<(u32, Time)>,
}

impl Line {
    /// By what a time grows when the catalogue grows tenfold, between the two largest sizes.
    fn tenfold(&self) -> Option<f64> {
        let [.., (small, before), (large, after)] = self.at[..] else { return None };
        Some((after.0 / before.0).powf(1.0 / (f64::from(large) / f64::from(small)).log10()))
    }
}

/// The figures of a bench that say their size, as lines in the order in which they came.
fn lines(bench: &Bench) -> Vec<Line> {
    let mut lines: Vec<Line> = Vec::new();
    for it in &bench.figures {
        let sized = it.what.strip_suffix(" products").and_then(|it| it.rsplit_once(", "));
        let Some((what, size)) = sized.and_then(|(what, n)| Some((what, n.parse().ok()?))) else {
            continue;
        };
        match lines.iter_mut().find(|it| it.what == what) {
            Some(line) => line.at.push((size, it.ours)),
            None => lines.push(Line { what: what.to_owned(), at: vec![(size, it.ours)] }),
        }
    }
    lines.retain(|it| it.at.len() > 1);
    lines.iter_mut().for_each(|it| it.at.sort_by_key(|it| it.0));
    lines
}

/// The table, with the picture of that address above it; empty for a bench that has no sizes.
pub(super) fn markdown(bench: &Bench, picture: &str) -> String {
    let lines = lines(bench);
    let Some(first) = lines.first() else { return String::new() };
    let mut text = format!(
        "\n### {}, by size\n\n![Times by number of products, both axes logarithmic]({picture})\n\n\
         The last column is by how much a time grows when the catalogue grows tenfold, between the two largest: 10 is \
         linear, 1 does not grow.\n\n| products |",
        bench.name
    );
    for (size, _) in &first.at {
        text.push_str(&format!(" {size} |"));
    }
    text.push_str(" tenfold |\n|---|");
    text.push_str(&"--:|".repeat(first.at.len() + 1));
    for it in &lines {
        text.push_str(&format!("\n| {} |", it.what));
        for (size, _) in &first.at {
            let time = it.at.iter().find(|(at, _)| at == size);
            text.push_str(&time.map_or(" |".into(), |(_, time)| format!(" {} |", time.shown())));
        }
        text.push_str(&it.tenfold().map_or(" |".into(), |it| format!(" {} |", three(it))));
    }
    text.push('\n');
    text
}

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 520.0;
/// Where the plot lies; to its right stand the names.
const LEFT: f64 = 70.0;
const RIGHT: f64 = 520.0;
const TOP: f64 = 20.0;
const BOTTOM: f64 = 470.0;
/// The least distance of two names.
const LEADING: f64 = 17.0;
/// Readable on light and on dark paper.
const INK: &str = "#6b7280";
const STROKES: [&str; 4] = ["none", "6 3", "2 3", "9 3 2 3"];

/// The picture; `None` for a bench that has no sizes.
pub(super) fn picture(bench: &Bench) -> Option<String> {
    let lines = lines(bench);
    let points = || lines.iter().flat_map(|it| &it.at);
    let ends = |of: &dyn Fn(&(u32, Time)) -> f64| {
        let low = points().map(of).fold(f64::INFINITY, f64::min).log10();
        let high = points().map(of).fold(f64::NEG_INFINITY, f64::max).log10();
        (low, high.max(low + 1.0))
    };
    points().next()?;
    let (from, to) = ends(&|it| f64::from(it.0));
    let (low, high) = ends(&|it| it.1.0);
    let (low, high) = (low.floor(), high.ceil());
    let x = |size: u32| LEFT + (f64::from(size).log10() - from) / (to - from) * (RIGHT - LEFT);
    let y = |time: f64| BOTTOM - (time.log10() - low) / (high - low) * (BOTTOM - TOP);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" font-family=\"sans-serif\" \
         font-size=\"13\" fill=\"{INK}\">\n<title>Times by number of products</title>\n"
    );
    let mut decade = low;
    while decade <= high {
        let (at, time) = (y(10_f64.powf(decade)), Time(10_f64.powf(decade) * (1.0 + 1e-9)));
        svg.push_str(&format!(
            "<path d=\"M{LEFT} {at:.1}H{RIGHT}\" stroke=\"{INK}\" stroke-opacity=\"0.3\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>\n",
            LEFT - 8.0,
            at + 4.0,
            round(time)
        ));
        decade += 1.0;
    }
    for (size, _) in &lines[0].at {
        svg.push_str(&format!(
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{size}</text>\n",
            x(*size),
            BOTTOM + 22.0
        ));
    }
    svg.push_str(&format!(
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">products in the catalogue</text>\n",
        f64::midpoint(LEFT, RIGHT),
        BOTTOM + 42.0
    ));
    let mut named: Vec<(f64, f64, &str)> = Vec::new();
    for (line, stroke) in lines.iter().zip(STROKES.iter().cycle()) {
        let path: Vec<String> = line
            .at
            .iter()
            .map(|(size, time)| format!("{:.1},{:.1}", x(*size), y(time.0)))
            .collect();
        svg.push_str(&format!(
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.6\" stroke-dasharray=\"{stroke}\"/>\n",
            path.join(" ")
        ));
        if let Some((size, time)) = line.at.last() {
            named.push((x(*size), y(time.0), &line.what));
        }
    }
    for (end, at, place, what) in apart(named) {
        svg.push_str(&format!(
            "<path d=\"M{:.1} {at:.1}L{:.1} {place:.1}\" fill=\"none\" stroke=\"{INK}\" stroke-opacity=\"0.5\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\">{}</text>\n",
            end + 3.0,
            end + 18.0,
            end + 22.0,
            place + 4.0,
            what.replace('&', "&amp;").replace('<', "&lt;")
        ));
    }
    svg.push_str("</svg>\n");
    Some(svg)
}

/// A power of ten with its unit, without what follows the point.
fn round(time: Time) -> String {
    time.shown().replace(".00", "").replace(".0", "")
}

/// Names at the ends of their lines, moved so far that none lies on another: end, height, where the name goes, the name.
fn apart(mut named: Vec<(f64, f64, &str)>) -> Vec<(f64, f64, f64, &str)> {
    named.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut places: Vec<f64> = named.iter().map(|it| it.1).collect();
    for at in 1..places.len() {
        places[at] = places[at].max(places[at - 1] + LEADING);
    }
    // What was pushed out below goes up again, and pushes the others.
    let mut floor = BOTTOM;
    for place in places.iter_mut().rev() {
        *place = place.min(floor);
        floor = *place - LEADING;
    }
    named.into_iter().zip(places).map(|((end, at, what), place)| (end, at, place, what)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::figures;

    /// Invented times: one grows as its catalogue, one not at all.
    const PRINTED: &str = "figures\tscale\nfigure\tlist, 100 products\t1 ms\nfigure\tband, 100 products\t5 ms\n\
                           figure\tlist, 10000 products\t100 ms\nfigure\tband, 10000 products\t5 ms\n\
                           figure\tsomething else\t1 s\n";

    fn bench() -> Bench {
        figures::read(PRINTED).expect("read").remove(0)
    }

    #[test]
    fn each_line_has_its_times_and_its_growth() {
        let text = markdown(&bench(), "a.svg");
        let rows: Vec<&str> = text.lines().filter(|it| it.starts_with("| ")).collect();
        assert_eq!(
            rows,
            [
                "| products | 100 | 10000 | tenfold |",
                "| list | 1.00 ms | 100 ms | 10.0 |",
                "| band | 5.00 ms | 5.00 ms | 1.00 |",
            ]
        );
        let other = figures::read("figures\tother\nfigure\tthis\t1 s\n").expect("read").remove(0);
        assert_eq!((markdown(&other, "a.svg"), picture(&other)), (String::new(), None));
    }

    #[test]
    fn names_in_the_picture_lie_apart_and_inside() {
        let named = vec![(0.0, BOTTOM, "a"), (0.0, BOTTOM, "b"), (0.0, TOP, "c"), (0.0, TOP, "d")];
        let places: Vec<f64> = apart(named).iter().map(|it| it.2).collect();
        assert!(places.windows(2).all(|it| it[1] - it[0] >= LEADING - 1e-9), "{places:?}");
        assert!(places.iter().all(|it| (TOP..=BOTTOM).contains(it)), "{places:?}");
        let svg = picture(&bench()).expect("sizes");
        assert_eq!(svg.matches("<polyline").count(), 2);
        // Equal times lie on one height.
        assert!(svg.contains("M70 ") && svg.contains("10 ms") && svg.contains("band</text>"));
    }
}
