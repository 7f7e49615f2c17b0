//! From blocks to pages: where each line of text stands.

use crate::{
    chart::{Anchor, Chart, Mark, Tone},
    literal_line,
    report::{Block, Report},
    typeface::{Metrics, writable},
};

/// A4, in points.
pub(super) const WIDTH: f32 = 595.28;
pub(super) const HEIGHT: f32 = 841.89;

pub(super) const LEFT: f32 = 48.0;
const TOP: f32 = 52.0;
pub(super) const BOTTOM: f32 = HEIGHT - 62.0;
pub(super) const INNER: f32 = WIDTH - 2.0 * LEFT;
/// The longest line of text that is easy to read.
const MEASURE: f32 = 420.0;

/// How words look.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    pub(super) size: f32,
    pub(super) bold: bool,
    pub(super) tone: Tone,
}

pub(super) const BODY: Style = Style { size: 9.5, bold: false, tone: Tone::Ink };

impl Style {
    pub(super) fn metrics(self) -> &'static Metrics {
        if self.bold { Metrics::bold() } else { Metrics::regular() }
    }

    pub(super) fn leading(self) -> f32 {
        self.size * 1.42
    }

    pub(super) fn width(self, text: &str) -> f32 {
        self.metrics().width(text, self.size)
    }
}

/// Pages while they are being filled.
#[derive(Debug, Default)]
pub(super) struct Pages {
    pages: Vec<Vec<Mark>>,
    pub(super) y: f32,
    places: Vec<Place>,
}

/// Where a chapter begins.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Place {
    pub(super) text: String,
    /// Its page, from 0.
    pub(super) page: usize,
    pub(super) y: f32,
}

/// All pages of a report, with a foot on each, and where its chapters begin.
pub(super) fn pages(report: &Report) -> (Vec<Vec<Mark>>, Vec<Place>) {
    let mut it = Pages { pages: vec![Vec::new()], y: TOP, places: Vec::new() };
    let title = Style { size: 20.0, bold: true, tone: Tone::Ink };
    it.paragraph(&report.title, LEFT, INNER, title, 4.0);
    if !report.subtitle.is_empty() {
        it.paragraph(&report.subtitle, LEFT, MEASURE, Style { size: 11.0, ..BODY }, 3.0);
    }
    let by =
        if report.author.is_empty() { String::new() } else { format!(" · {}", report.author) };
    let line = format!("{}{by}", report.dateline());
    it.paragraph(&line, LEFT, MEASURE, Style { tone: Tone::Soft, ..BODY }, 14.0);
    for (at, block) in report.blocks.iter().enumerate() {
        it.block(block, report.blocks.get(at + 1));
    }
    let places = std::mem::take(&mut it.places);
    (it.feet(report), places)
}

impl Pages {
    fn block(&mut self, block: &Block, next: Option<&Block>) {
        match block {
            Block::Heading { level, text, new_page } => self.heading(*level, text, *new_page, next),
            Block::Text { text } => self.paragraph(text, LEFT, MEASURE, BODY, 7.0),
            Block::List { items } => {
                for it in items {
                    self.room(BODY.leading());
                    self.words("·", LEFT + 2.0, self.y + BODY.size, BODY, Anchor::Start);
                    self.paragraph(it, LEFT + 12.0, MEASURE - 12.0, BODY, 2.5);
                }
                self.y += 5.0;
            }
            Block::Terms { terms } => {
                for (name, text) in terms {
                    self.term(name, text);
                }
                self.y += 8.0;
            }
            Block::Caution { items } => {
                self.y += 4.0;
                for it in items {
                    let lines = wrap(&format!("Caution. {it}"), MEASURE - 14.0, BODY);
                    #[expect(clippy::cast_precision_loss, reason = "a few lines")]
                    let height = lines.len() as f32 * BODY.leading();
                    self.room(height);
                    let top = self.y;
                    self.paragraph(
                        &format!("Caution. {it}"),
                        LEFT + 12.0,
                        MEASURE - 14.0,
                        BODY,
                        0.0,
                    );
                    self.rule(LEFT + 1.0, top, LEFT + 1.0, self.y, Tone::Ink, 2.0);
                    self.y += 5.0;
                }
                self.y += 5.0;
            }
            Block::Table(table) => self.table(table),
            Block::Chart(chart) => self.chart(chart),
        }
    }

    fn heading(&mut self, level: u8, text: &str, new_page: bool, next: Option<&Block>) {
        let (size, above) = match level {
            0..=2 => (14.0, 18.0),
            3 => (11.0, 12.0),
            _ => (9.5, 8.0),
        };
        let style = Style { size, bold: true, tone: Tone::Ink };
        // A heading stays with what it names.
        let follows = match next {
            Some(Block::Chart(it)) => chart_height(it) + 20.0,
            Some(Block::Table(_)) => 90.0,
            _ => 40.0,
        };
        if new_page && self.y > TOP {
            self.turn();
        } else if self.y > TOP {
            self.y += above;
        }
        self.room(style.leading() + follows.min(BOTTOM - TOP - style.leading()));
        if level <= 2 {
            let page = self.pages.len().saturating_sub(1);
            self.places.push(Place { text: literal_line(text), page, y: self.y });
        }
        self.paragraph(text, LEFT, INNER, style, 5.0);
    }

    fn term(&mut self, name: &str, text: &str) {
        const NAME: f32 = 118.0;
        let bold = Style { bold: true, ..BODY };
        let (names, texts) = (wrap(name, NAME - 10.0, bold), wrap(text, INNER - NAME, BODY));
        #[expect(clippy::cast_precision_loss, reason = "a few lines")]
        let height = names.len().max(texts.len()) as f32 * BODY.leading() + 7.0;
        if height < BOTTOM - TOP {
            self.room(height);
        }
        self.rule(LEFT, self.y, LEFT + INNER, self.y, Tone::Faint, 0.5);
        self.y += 3.5;
        let top = self.y;
        for (at, line) in names.iter().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "a few lines")]
            let y = top + at as f32 * BODY.leading() + BODY.size;
            self.words(line, LEFT, y, bold, Anchor::Start);
        }
        self.paragraph(text, LEFT + NAME, INNER - NAME, BODY, 3.5);
        #[expect(clippy::cast_precision_loss, reason = "a few lines")]
        let least = names.len() as f32 * BODY.leading() + 3.5;
        // Texts that went on on another page are long enough.
        if self.y > top {
            self.y = self.y.max(top + least);
        }
    }

    fn chart(&mut self, chart: &Chart) {
        self.room(chart_height(chart) + 8.0);
        let (dx, dy) = (f64::from(LEFT), f64::from(self.y));
        let scale = f64::from(chart_scale(chart));
        let moved = chart.marks.iter().map(|it| moved(it, dx, dy, scale));
        let marks: Vec<Mark> = moved.collect();
        self.page().extend(marks);
        self.y += chart_height(chart) + 12.0;
    }

    /// Begins a page.
    pub(super) fn turn(&mut self) {
        self.pages.push(Vec::new());
        self.y = TOP;
    }

    /// Begins a page unless so much still fits; whatever fits no page begins where it is at the top of one.
    pub(super) fn room(&mut self, height: f32) -> bool {
        let turns = self.y + height > BOTTOM && self.y > TOP;
        if turns {
            self.turn();
        }
        turns
    }

    fn page(&mut self) -> &mut Vec<Mark> {
        if self.pages.is_empty() {
            self.pages.push(Vec::new());
        }
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    /// A paragraph of at most `width`; it may go on on the next page.
    pub(super) fn paragraph(&mut self, text: &str, x: f32, width: f32, style: Style, after: f32) {
        for line in wrap(text, width, style) {
            self.room(style.leading());
            self.words(&line, x, self.y + style.size, style, Anchor::Start);
            self.y += style.leading();
        }
        self.y += after;
    }

    pub(super) fn words(&mut self, text: &str, x: f32, y: f32, style: Style, anchor: Anchor) {
        if text.is_empty() {
            return;
        }
        self.page().push(Mark::Words {
            x: f64::from(x),
            y: f64::from(y),
            text: text.to_owned(),
            anchor,
            size: f64::from(style.size),
            tone: style.tone,
            bold: style.bold,
        });
    }

    pub(super) fn rule(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, tone: Tone, width: f64) {
        let points = vec![(f64::from(x1), f64::from(y1)), (f64::from(x2), f64::from(y2))];
        self.page().push(Mark::Line { points, tone, width, dashed: false });
    }

    fn feet(mut self, report: &Report) -> Vec<Vec<Mark>> {
        let count = self.pages.len();
        let style = Style { size: 7.5, bold: false, tone: Tone::Soft };
        let line = format!("{} · {}", report.title, report.dateline());
        let line = wrap(&line, INNER - 60.0, style).into_iter().next().unwrap_or_default();
        let pages = std::mem::take(&mut self.pages);
        let mut done = Vec::new();
        for (at, page) in pages.into_iter().enumerate() {
            self.pages = vec![page];
            let y = HEIGHT - 36.0;
            self.words(&line, LEFT, y, style, Anchor::Start);
            self.words(&format!("{} of {count}", at + 1), LEFT + INNER, y, style, Anchor::End);
            done.append(&mut self.pages);
        }
        done
    }
}

#[expect(clippy::cast_possible_truncation, reason = "places on a page")]
fn chart_size(chart: &Chart) -> (f32, f32) {
    (chart.width as f32, chart.height as f32)
}

/// A chart is made smaller, never larger, so that all of it stands on one page.
fn chart_scale(chart: &Chart) -> f32 {
    let (width, height) = chart_size(chart);
    (INNER / width).min((BOTTOM - TOP - 8.0) / height).min(1.0)
}

fn chart_height(chart: &Chart) -> f32 {
    chart_size(chart).1 * chart_scale(chart)
}

fn moved(mark: &Mark, dx: f64, dy: f64, scale: f64) -> Mark {
    let mut it = mark.clone();
    match &mut it {
        Mark::Line { points, width, .. } => {
            for (x, y) in points {
                (*x, *y) = (dx + *x * scale, dy + *y * scale);
            }
            *width *= scale;
        }
        Mark::Area { x, y, width, height, round, edge, .. } => {
            (*x, *y) = (dx + *x * scale, dy + *y * scale);
            (*width, *height, *round) = (*width * scale, *height * scale, *round * scale);
            edge.iter_mut().for_each(|it| it.width *= scale);
        }
        Mark::Shape { points, edge, .. } => {
            for (x, y) in points {
                (*x, *y) = (dx + *x * scale, dy + *y * scale);
            }
            edge.iter_mut().for_each(|it| it.width *= scale);
        }
        Mark::Words { x, y, size, .. } => {
            (*x, *y, *size) = (dx + *x * scale, dy + *y * scale, *size * scale);
        }
    }
    it
}

/// Lines of at most `width`; a word that is longer is broken.
pub(super) fn wrap(text: &str, width: f32, style: Style) -> Vec<String> {
    let mut lines = Vec::new();
    for paragraph in writable(text).split('\n') {
        let mut line = String::new();
        for word in paragraph.split(' ') {
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if style.width(&longer) <= width {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for it in word.chars() {
                line.push(it);
                if style.width(&line) > width && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::take(&mut line));
                    line.push(it);
                }
            }
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A chart of so many products stands on its page, foot included.
    #[test]
    fn no_mark_of_a_tall_chart_leaves_the_page() {
        let chart = Chart {
            id: "tall".into(),
            title: "tall".into(),
            description: "tall".into(),
            width: 500.0,
            height: 4000.0,
            marks: vec![Mark::Words {
                x: 500.0,
                y: 3990.0,
                text: "the last".into(),
                anchor: Anchor::End,
                size: 8.5,
                tone: Tone::Ink,
                bold: false,
            }],
        };
        let report = Report {
            title: "of".into(),
            subtitle: String::new(),
            author: String::new(),
            date: "2026-11-25".into(),
            edition: None,
            blocks: vec![Block::Chart(chart)],
            items: Vec::new(),
            is_ranked: true,
        };
        let (pages, _) = pages(&report);
        let last = pages.iter().flatten().find_map(|it| match it {
            Mark::Words { y, text, .. } if text == "the last" => Some(*y),
            _ => None,
        });
        assert!(last.is_some_and(|y| y > f64::from(TOP) && y < f64::from(BOTTOM)), "{last:?}");
    }
}
