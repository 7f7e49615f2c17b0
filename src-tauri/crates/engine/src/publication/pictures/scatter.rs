//! Price against index on paper.

use export::{Anchor, Chart, Edge, Fill, Mark, Tone};

use super::{
    FINE, WIDTH, bar, edge, key,
    labels::{Room, place},
    line, point, solid, title, tone, words,
};
use crate::dto::{Scatter, ScatterMark};

/// Where a mark stands.
struct Stand<'a> {
    mark: &'a ScatterMark,
    x: f64,
    upper: f64,
    lower: f64,
}

pub(super) fn scatter(plot: &Scatter) -> Chart {
    let (left, top, right, bottom) = (28.0, 36.0, WIDTH - 8.0, 336.0);
    let at = |x: f64, y: f64| (left + x * (right - left), top + y * (bottom - top));
    let mut marks = vec![title(&plot.title)];
    marks.push(words(0.0, top - 10.0, &plot.y.title, Anchor::Start, Tone::Soft));
    for it in &plot.y.ticks {
        let (_, y) = at(0.0, it.at);
        marks.push(line(&[(left, y), (right, y)], Tone::Faint, 0.5));
        marks.push(words(left - 6.0, y + 2.7, &it.label, Anchor::End, Tone::Soft));
    }
    for it in &plot.x.ticks {
        let (x, _) = at(it.at, 0.0);
        marks.push(line(&[(x, bottom), (x, bottom + 3.5)], Tone::Ink, 0.7));
        marks.push(words(x, bottom + 13.0, &it.label, Anchor::Middle, Tone::Soft));
    }
    marks.push(line(&[(left, bottom), (right, bottom)], Tone::Ink, 0.7));
    marks.push(words(right, bottom + 25.0, &plot.x.title, Anchor::End, Tone::Soft));
    let band: Vec<(f64, f64)> = plot.expected_band.iter().map(|it| at(it.x, it.y)).collect();
    if band.len() > 2 {
        let edge = Some(Edge { tone: Tone::Faint, width: 0.5 });
        marks.push(Mark::Shape { points: band, fill: solid(Tone::Wash), edge });
    }
    marks.extend(floor(plot, &at, right));
    let expected: Vec<(f64, f64)> = plot.expected.iter().map(|it| at(it.x, it.y)).collect();
    if expected.len() > 1 {
        marks.push(line(&expected, Tone::Ink, 1.0));
    }
    let stands: Vec<Stand<'_>> = plot
        .marks
        .iter()
        .map(|mark| {
            let (x, upper) = at(mark.x, mark.y.unwrap_or(mark.y_high));
            let (_, lower) = at(mark.x, mark.y.unwrap_or(mark.y_low));
            Stand { mark, x, upper, lower }
        })
        .collect();
    for it in &stands {
        glyph(&mut marks, it);
    }
    names(&mut marks, &stands, Room { left: left + 1.0, right: WIDTH, top, bottom });
    let height = legend(&mut marks, plot, bottom + 42.0);
    Chart {
        id: "price".into(),
        title: plot.title.clone(),
        description: plot.description.clone(),
        width: WIDTH,
        height,
        marks,
    }
}

/// Steps of the best index that is sure at each price.
fn floor(plot: &Scatter, at: &impl Fn(f64, f64) -> (f64, f64), right: f64) -> Option<Mark> {
    let mut points: Vec<(f64, f64)> = Vec::new();
    for it in &plot.floor {
        let (x, y) = at(it.x, it.y);
        if let Some((_, before)) = points.last().copied() {
            points.push((x, before));
        }
        points.push((x, y));
    }
    let (_, last) = points.last().copied()?;
    points.push((right, last));
    Some(Mark::Line { points, tone: Tone::Soft, width: 0.9, dashed: true })
}

fn glyph(marks: &mut Vec<Mark>, it: &Stand<'_>) {
    let unbeaten = it.mark.on_frontier;
    if it.mark.y.is_some() {
        marks.push(point(it.x, it.upper, 3.6, unbeaten));
    } else {
        let height = (it.lower - it.upper).max(1.5);
        marks.push(bar(it.x - 1.9, it.upper, 3.8, height, unbeaten));
    }
    sign(marks, &it.mark.word, it.x, it.upper, it.lower);
}

/// The sign of a verdict at a mark: a ring for unbeaten, an arrow up for good value, one down for overpriced.
fn sign(marks: &mut Vec<Mark>, word: &str, x: f64, upper: f64, lower: f64) {
    match word {
        "unbeaten" => marks.push(Mark::Area {
            x: x - 6.5,
            y: upper - 6.5,
            width: 13.0,
            height: (lower - upper).max(0.0) + 13.0,
            round: 6.5,
            fill: None,
            edge: edge(Tone::Blue),
        }),
        "good value" => marks.push(Mark::Shape {
            points: vec![(x, upper - 11.0), (x + 3.4, upper - 6.2), (x - 3.4, upper - 6.2)],
            fill: Some(Fill { tone: Tone::Blue, density: 1.0 }),
            edge: None,
        }),
        "overpriced" => marks.push(Mark::Shape {
            points: vec![(x, upper - 6.2), (x + 3.4, upper - 11.0), (x - 3.4, upper - 11.0)],
            fill: solid(Tone::Paper),
            edge: edge(tone(false)),
        }),
        _ => {}
    }
}

/// Names go first to what the data say something of, then to what nothing surely beats.
fn names(marks: &mut Vec<Mark>, stands: &[Stand<'_>], inside: Room) {
    let weight = |it: &ScatterMark| {
        let word = match it.word.as_str() {
            "unbeaten" => 3,
            "good value" => 2,
            "overpriced" => 1,
            _ => 0,
        };
        word * 2 + i32::from(it.on_frontier)
    };
    let mut order: Vec<&Stand<'_>> = stands.iter().collect();
    order.sort_by_key(|it| -weight(it.mark));
    let wanted: Vec<(Vec<String>, Room)> = order
        .iter()
        .map(|it| {
            let (name, word) = (it.mark.label.clone(), it.mark.word.clone());
            let texts = if word.is_empty() {
                vec![name]
            } else {
                vec![format!("{name}, {word}"), name, word.clone()]
            };
            let (side, above, below) = match word.as_str() {
                "unbeaten" => (7.0, 7.0, 7.0),
                "" => (3.6, 3.6, 3.6),
                _ => (3.6, 11.5, 3.6),
            };
            let room = Room {
                left: it.x - side,
                right: it.x + side,
                top: it.upper - above,
                bottom: it.lower + below,
            };
            (texts, room)
        })
        .collect();
    for it in place(&wanted, inside, FINE, &[]).into_iter().flatten() {
        let (x, y, anchor) = (it.x, it.y, it.anchor);
        marks.push(Mark::Words {
            x,
            y,
            text: it.text,
            anchor,
            size: FINE,
            tone: Tone::Ink,
            bold: false,
        });
    }
}

/// What the signs mean; the height of the whole chart.
fn legend(marks: &mut Vec<Mark>, plot: &Scatter, mut y: f64) -> f64 {
    const TEXT: f64 = 30.0;
    marks.push(bar(2.0, y - 4.5, 20.0, 3.8, true));
    let x = key(marks, TEXT, y, "nothing in the band surely beats it");
    marks.push(bar(x, y - 4.5, 20.0, 3.8, false));
    let x = key(marks, x + 28.0, y, "surely beaten");
    let _ = key(marks, x, y, "a bar: what missing findings leave open");
    if !plot.floor.is_empty() {
        y += 12.0;
        let points = vec![(1.0, y - 1.0), (11.0, y - 1.0), (11.0, y - 5.0), (22.0, y - 5.0)];
        marks.push(Mark::Line { points, tone: Tone::Soft, width: 0.9, dashed: true });
        let _ =
            key(marks, TEXT, y, "best index that is sure at a price: what ends below it is beaten");
    }
    if !plot.expected.is_empty() {
        y += 12.0;
        marks.push(line(&[(1.0, y - 0.5), (22.0, y - 5.0)], Tone::Ink, 1.0));
        let text = "index that a price usually buys; shaded, where it lies in 90 % of resamples of the products";
        let _ = key(marks, TEXT, y, text);
    }
    let said = |word: &str| plot.marks.iter().any(|it| it.word == word);
    let words: Vec<&str> =
        ["unbeaten", "good value", "overpriced"].into_iter().filter(|it| said(it)).collect();
    if !words.is_empty() {
        y += 19.0;
        let mut x = TEXT;
        for word in words {
            sign(marks, word, x - 18.0, y - 3.0, y - 3.0);
            marks.push(point(x - 18.0, y - 3.0, 3.2, word != "overpriced"));
            x = key(marks, x, y, &format!("{word}: supported by the data")) + 20.0;
        }
    }
    y + 8.0
}
