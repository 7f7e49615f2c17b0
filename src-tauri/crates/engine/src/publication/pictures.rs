//! The window's charts as marks on paper: places, tones and shapes are those of the window, so that print and window agree.
//! What nothing surely beats is solid, round and blue; what is surely beaten is hollow, square and vermillion.

mod labels;
mod scatter;

use std::collections::BTreeSet;

use export::{Anchor, Chart, Edge, Fill, Mark, Tone};

use crate::dto::{BandView, DotPlot, DotRow, Panel, RankStrip};

const WIDTH: f64 = 500.0;
const ROW: f64 = 16.0;
const SIZE: f64 = 8.5;
/// The words of axes and keys.
const FINE: f64 = 7.5;

fn words(x: f64, y: f64, text: impl Into<String>, anchor: Anchor, tone: Tone) -> Mark {
    let size = if tone == Tone::Soft { FINE } else { SIZE };
    Mark::Words { x, y, text: text.into(), anchor, size, tone, bold: false }
}

fn title(text: &str) -> Mark {
    Mark::Words {
        x: 0.0,
        y: 11.0,
        text: text.to_owned(),
        anchor: Anchor::Start,
        size: 10.0,
        tone: Tone::Ink,
        bold: true,
    }
}

fn line(points: &[(f64, f64)], tone: Tone, width: f64) -> Mark {
    Mark::Line { points: points.to_vec(), tone, width, dashed: false }
}

fn solid(tone: Tone) -> Option<Fill> {
    Some(Fill { tone, density: 1.0 })
}

fn edge(tone: Tone) -> Option<Edge> {
    Some(Edge { tone, width: 1.0 })
}

/// How many, as a length in rows.
fn rows(count: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "a few hundred rows")]
    let rows = count as f64;
    rows
}

/// All charts of a band.
pub(super) fn pictures(view: &BandView) -> Vec<Chart> {
    let unbeaten: BTreeSet<&str> =
        view.dots.rows.iter().filter(|it| it.on_frontier).map(|it| it.product.as_str()).collect();
    let mut list = vec![dots(&view.dots), scatter::scatter(&view.scatter)];
    if crate::text::has_ranks(&view.report) {
        list.push(strip(&view.strip));
    }
    list.extend(subsystems(&view.dots, &view.multiples, &unbeaten));
    list
}

fn tone(unbeaten: bool) -> Tone {
    if unbeaten { Tone::Blue } else { Tone::Vermillion }
}

/// Solid in blue, or paper with an edge in vermillion.
fn paint(unbeaten: bool) -> (Option<Fill>, Option<Edge>) {
    if unbeaten { (solid(Tone::Blue), None) } else { (solid(Tone::Paper), edge(Tone::Vermillion)) }
}

fn bar(x: f64, y: f64, width: f64, height: f64, unbeaten: bool) -> Mark {
    let (fill, edge) = paint(unbeaten);
    Mark::Area { x, y, width, height, round: 0.0, fill, edge }
}

/// A point: round or square.
fn point(x: f64, y: f64, radius: f64, unbeaten: bool) -> Mark {
    let (fill, edge) = paint(unbeaten);
    if unbeaten {
        // A seam of paper parts it from its bar.
        return Mark::circle(x, y, radius, fill, Some(Edge { tone: Tone::Paper, width: 0.9 }));
    }
    let half = radius * 0.84;
    let (x, y, width) = (x - half, y - half, 2.0 * half);
    Mark::Area { x, y, width, height: width, round: 0.0, fill, edge }
}

/// Thin, what missing findings leave open; thick, 90 % of the draws; the point, half of them.
fn drawn(marks: &mut Vec<Mark>, ends: [f64; 2], spread: [f64; 3], y: f64, unbeaten: bool) {
    const THICK: f64 = 3.8;
    let [low, high] = ends;
    if high - low >= 1.0 {
        let tone = tone(unbeaten);
        marks.push(line(&[(low, y), (high, y)], tone, 0.8));
        for end in ends {
            marks.push(line(&[(end, y - 2.6), (end, y + 2.6)], tone, 0.8));
        }
    }
    let [drawn_low, median, drawn_high] = spread;
    let length = (drawn_high - drawn_low).max(1.5);
    marks.push(bar(drawn_low, y - THICK / 2.0, length, THICK, unbeaten));
    marks.push(point(median, y, 3.9, unbeaten));
}

/// A sentence of the key; returns where the next one stands.
fn key(marks: &mut Vec<Mark>, x: f64, y: f64, text: &str) -> f64 {
    marks.push(words(x, y, text, Anchor::Start, Tone::Soft));
    x + export::printed_width(text, FINE) + 18.0
}

fn dots(plot: &DotPlot) -> Chart {
    let ranked = !plot.groups.is_empty();
    let rank_width = plot.rows.iter().map(|it| it.rank.len()).max().unwrap_or(0).max(4);
    let rank_end = if ranked { 14.0 + rows(rank_width) * 4.6 } else { 0.0 };
    let name = rank_end + if ranked { 8.0 } else { 0.0 };
    let longest = plot.rows.iter().map(|it| export::printed_width(&it.label, SIZE));
    let left = (name + longest.fold(0.0, f64::max) + 12.0).min(WIDTH * 0.5);
    let right = WIDTH - if ranked { 44.0 } else { 8.0 };
    let top = 42.0;
    let mut places = Vec::new();
    let mut parted = 0.0;
    for at in 0..plot.rows.len() {
        if at > 0 && plot.groups.iter().any(|it| usize::try_from(it.first) == Ok(at)) {
            parted += 7.0;
        }
        places.push(top + 2.0 + ROW * (rows(at) + 0.5) + parted);
    }
    let bottom = places.last().map_or(top, |it| it + ROW * 0.5) + 2.0;
    let across = |place: f64| left + place * (right - left);
    let mut marks = vec![title(&plot.title)];
    for it in &plot.x.ticks {
        marks.push(line(&[(across(it.at), top), (across(it.at), bottom)], Tone::Faint, 0.5));
        marks.push(words(across(it.at), top - 5.0, &it.label, Anchor::Middle, Tone::Soft));
    }
    marks.push(line(&[(left, top), (right, top)], Tone::Ink, 0.7));
    if ranked {
        marks.push(words(rank_end, top - 5.0, "rank", Anchor::End, Tone::Soft));
        marks.push(words(WIDTH, top - 14.0, "rank, all", Anchor::End, Tone::Soft));
        marks.push(words(WIDTH, top - 5.0, "alike", Anchor::End, Tone::Soft));
    }
    brackets(&mut marks, plot, &places);
    for (row, y) in plot.rows.iter().zip(&places) {
        if ranked {
            marks.push(words(rank_end, y + 2.7, &row.rank, Anchor::End, Tone::Soft));
            marks.push(words(WIDTH, y + 2.7, &row.rank_equal, Anchor::End, Tone::Soft));
        }
        marks.push(words(name, y + 3.0, &row.label, Anchor::Start, Tone::Ink));
        let DotRow { low, high, drawn_low, drawn_median, drawn_high, on_frontier, .. } = row;
        let ends = [across(*low), across(*high)];
        let spread = [across(*drawn_low), across(*drawn_median), across(*drawn_high)];
        drawn(&mut marks, ends, spread, *y, *on_frontier);
    }
    marks.push(words(right, bottom + 11.0, &plot.x.title, Anchor::End, Tone::Soft));
    let mut y = bottom + 30.0;
    drawn(&mut marks, [1.0, 35.0], [9.0, 18.0, 27.0], y - 2.6, true);
    let x = key(&mut marks, 42.0, y, "nothing in the band surely beats it");
    drawn(&mut marks, [x, x + 34.0], [x + 8.0, x + 17.0, x + 26.0], y - 2.6, false);
    let _ = key(&mut marks, x + 41.0, y, "surely beaten: another costs no more and scores as much");
    y += 12.0;
    let text = "thin line: what missing findings leave open; thick line: 90 % of the draws; the point: half of them";
    let _ = key(&mut marks, 42.0, y, text);
    if ranked {
        y += 12.0;
        marks.push(bracket(32.0, y - 8.0, y + 1.0));
        let text = "not told apart; across the rule below it, the first of it is above in 90 % of the draws";
        let _ = key(&mut marks, 42.0, y, text);
    }
    Chart {
        id: "index".into(),
        title: plot.title.clone(),
        description: plot.description.clone(),
        width: WIDTH,
        height: y + 6.0,
        marks,
    }
}

fn bracket(x: f64, from: f64, to: f64) -> Mark {
    line(&[(x + 4.0, from), (x, from), (x, to), (x + 4.0, to)], Tone::Soft, 0.9)
}

/// A bracket joins rows that are not told apart; a rule parts groups.
fn brackets(marks: &mut Vec<Mark>, plot: &DotPlot, places: &[f64]) {
    let at = |row: u32| usize::try_from(row).ok().and_then(|it| places.get(it)).copied();
    for it in &plot.groups {
        let (Some(first), Some(last)) = (at(it.first), at(it.last)) else { continue };
        if it.first > 0 {
            let y = first - ROW / 2.0 - 3.5;
            marks.push(line(&[(0.0, y), (WIDTH, y)], Tone::Soft, 0.5));
        }
        if it.last > it.first {
            marks.push(bracket(1.0, first - ROW / 2.0 + 2.5, last + ROW / 2.0 - 2.5));
        }
    }
}

/// The least share of each shade, and how dense it is; as in the window.
const SHADES: [(f64, f64); 6] =
    [(0.0005, 0.08), (0.05, 0.18), (0.15, 0.3), (0.3, 0.45), (0.5, 0.76), (0.75, 1.0)];

fn strip(plot: &RankStrip) -> Chart {
    let longest = plot.rows.iter().map(|it| export::printed_width(&it.label, SIZE));
    let (left, top) = ((longest.fold(0.0, f64::max) + 10.0).min(WIDTH * 0.45), 40.0);
    let cell = ((WIDTH - left) / rows(plot.ranks.len().max(1))).min(30.0);
    let bottom = top + ROW * rows(plot.rows.len());
    let mut marks = vec![title(&plot.title)];
    let widest = plot.ranks.iter().map(|it| export::printed_width(it, FINE)).fold(0.0, f64::max);
    // Of many ranks every second, fifth, … is named, so that no number runs into the next.
    let step = [1, 2, 5, 10, 20, 50, 100].into_iter().find(|it| cell * rows(*it) >= widest + 3.0);
    for (at, rank) in plot.ranks.iter().enumerate().step_by(step.unwrap_or(200)) {
        let x = left + cell * (rows(at) + 0.5);
        marks.push(words(x, top - 5.0, rank, Anchor::Middle, Tone::Soft));
    }
    for (down, row) in plot.rows.iter().enumerate() {
        let y = top + ROW * rows(down);
        marks.push(words(0.0, y + 11.0, &row.label, Anchor::Start, Tone::Ink));
        for (across, it) in row.cells.iter().enumerate() {
            let x = left + cell * rows(across);
            let shade = SHADES.iter().rev().find(|shade| it.share >= shade.0).map(|it| it.1);
            if let Some(density) = shade {
                marks.push(Mark::Area {
                    x: x + 0.4,
                    y: y + 0.4,
                    width: cell - 0.8,
                    height: ROW - 0.8,
                    round: 0.0,
                    fill: Some(Fill { tone: Tone::Blue, density }),
                    edge: None,
                });
            }
            if !it.label.is_empty() {
                marks.push(Mark::Words {
                    x: x + cell / 2.0,
                    y: y + 10.6,
                    text: it.label.clone(),
                    anchor: Anchor::Middle,
                    size: (cell / 2.3).min(FINE),
                    tone: if shade == Some(1.0) { Tone::Paper } else { Tone::Ink },
                    bold: false,
                });
            }
        }
    }
    let note = format!("{}, in percent. What is empty is under 0.05 %.", plot.description);
    marks.push(words(0.0, bottom + 13.0, note, Anchor::Start, Tone::Soft));
    Chart {
        id: "ranks".into(),
        title: plot.title.clone(),
        description: plot.description.clone(),
        width: WIDTH,
        height: bottom + 19.0,
        marks,
    }
}

/// The subsystems side by side, one row a product.
fn subsystems(dots: &DotPlot, panels: &[Panel], unbeaten: &BTreeSet<&str>) -> Option<Chart> {
    if panels.is_empty() {
        return None;
    }
    let longest = dots.rows.iter().map(|it| export::printed_width(&it.label, SIZE));
    let (left, top) = ((longest.fold(0.0, f64::max) + 6.0).min(WIDTH * 0.4), 50.0);
    let wide = (WIDTH - left) / rows(panels.len());
    let inner = wide - 18.0;
    let bottom = top + ROW * rows(dots.rows.len());
    let mut marks = vec![title("Subsystems side by side")];
    for (down, row) in dots.rows.iter().enumerate() {
        let y = top + ROW * (rows(down) + 0.5) + 3.0;
        marks.push(words(0.0, y, &row.label, Anchor::Start, Tone::Ink));
    }
    for (across, panel) in panels.iter().enumerate() {
        let x = left + wide * rows(across) + 10.0;
        marks.push(words(
            x,
            top - 20.0,
            crate::text::title(&panel.title),
            Anchor::Start,
            Tone::Ink,
        ));
        for it in &panel.x.ticks {
            let at = x + it.at * inner;
            marks.push(line(&[(at, top), (at, bottom)], Tone::Faint, 0.5));
            marks.push(words(at, top - 5.0, &it.label, Anchor::Middle, Tone::Soft));
        }
        for (down, row) in dots.rows.iter().enumerate() {
            let y = top + ROW * (rows(down) + 0.5);
            let found = panel.marks.iter().find(|it| it.product == row.product);
            let unbeaten = unbeaten.contains(row.product.as_str());
            match found.and_then(|it| Some((it.value, it.low?, it.high?))) {
                Some((Some(value), ..)) => {
                    marks.push(point(x + value * inner, y, 3.4, unbeaten));
                }
                Some((None, low, high)) => {
                    let length = ((high - low) * inner).max(1.5);
                    marks.push(bar(x + low * inner, y - 1.9, length, 3.8, unbeaten));
                }
                None => {
                    marks.push(words(
                        x + inner / 2.0,
                        y + 2.7,
                        "does not apply",
                        Anchor::Middle,
                        Tone::Soft,
                    ));
                }
            }
        }
    }
    let note = "Points of each subsystem from 0 to 100, the weightiest first, with its share of the index. A bar spans what missing findings";
    marks.push(words(0.0, bottom + 13.0, note, Anchor::Start, Tone::Soft));
    let note = "leave open; a point stands where nothing is missing.";
    marks.push(words(0.0, bottom + 23.0, note, Anchor::Start, Tone::Soft));
    let described = panels.iter().map(|it| format!("{}.", it.description.trim_end_matches('.')));
    let description: Vec<String> = described.collect();
    Some(Chart {
        id: "subsystems".into(),
        title: "Subsystems side by side".into(),
        description: description.join(" "),
        width: WIDTH,
        height: bottom + 29.0,
        marks,
    })
}
