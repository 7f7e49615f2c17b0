//! A table on pages: widths of columns, lines of cells, the head again on each page; a long and narrow one in two columns.

use super::page::{BODY, BOTTOM, INNER, LEFT, Pages, Style, wrap};
use crate::{
    chart::{Anchor, Tone},
    literal_line,
    report::{DataColumn, DataTable, What},
};

const GAP: f32 = 9.0;
/// Sizes tried until the table fits; the last one is used anyhow, with words wrapped.
const SIZES: [f32; 4] = [8.5, 7.8, 7.2, 6.6];
/// No column of words becomes narrower.
const NARROWEST: f32 = 42.0;

/// A table of more rows is set in two columns, where it is narrow enough.
const LONG: usize = 36;
/// The size that such a table is set in, and the space between its columns.
const SMALL: f32 = 7.0;
const BETWEEN: f32 = 20.0;

/// One cell: its words and the marks of its footnotes.
struct Shown {
    text: String,
    marks: String,
}

/// A row as it is set: the lines of each cell, and how high it is.
struct Set {
    lines: Vec<Vec<String>>,
    height: f32,
}

/// A table with its widths.
struct Setting<'a> {
    table: &'a DataTable,
    cells: Vec<Vec<Shown>>,
    widths: Vec<f32>,
    style: Style,
    /// Above and below the words of a row, together.
    air: f32,
    /// Whether the first cell of a row stands out.
    lead: bool,
}

/// Names stand out; sentences, and lists in small type, would be heavy.
fn leads(table: &DataTable) -> bool {
    let longest = table.rows.iter().filter_map(|row| row.first());
    longest.map(|it| it.shown(What::Text).chars().count()).max().unwrap_or(0) <= 40
}

impl Setting<'_> {
    fn width(&self) -> f32 {
        total(&self.widths)
    }

    fn rows(&self) -> Vec<Set> {
        let style_of = |at| Style { bold: at == 0 && self.lead, ..self.style };
        let set = |row: &Vec<Shown>| {
            let lines: Vec<Vec<String>> = row
                .iter()
                .zip(&self.widths)
                .enumerate()
                .map(|(at, (it, width))| {
                    let style = style_of(at);
                    wrap(&it.text, width - marks_width(&it.marks, style), style)
                })
                .collect();
            #[expect(clippy::cast_precision_loss, reason = "a few lines")]
            let most = lines.iter().map(Vec::len).max().unwrap_or(1) as f32;
            Set { lines, height: most * self.style.leading() + self.air }
        };
        self.cells.iter().map(set).collect()
    }
}

impl Pages {
    pub(super) fn table(&mut self, table: &DataTable) {
        let cells: Vec<Vec<Shown>> = table
            .rows
            .iter()
            .map(|row| {
                let shown = table.columns.iter().zip(row);
                shown
                    .map(|(column, cell)| Shown {
                        text: cell.shown(column.what),
                        marks: DataTable::marks(cell),
                    })
                    .collect()
            })
            .collect();
        let caption = Style { bold: true, ..BODY };
        self.room(caption.leading() + 5.0 * BODY.leading());
        self.paragraph(&table.title, LEFT, INNER, caption, 3.0);
        let half = (INNER - BETWEEN) / 2.0;
        let (small, fits) = fit(table, &cells, half, &[SMALL], false);
        let lead = leads(table);
        if table.rows.len() > LONG && fits {
            let style = Style { size: SMALL, ..BODY };
            self.abreast(&Setting { table, cells, widths: small.1, style, air: 1.7, lead: false });
        } else {
            let ((size, widths), _) = fit(table, &cells, INNER, &SIZES, lead);
            let style = Style { size, ..BODY };
            self.single(&Setting { table, cells, widths, style, air: 4.5, lead });
        }
        self.y += 5.0;
        self.notes(&table.notes);
        self.y += 10.0;
    }

    /// Footnotes one after the other, as many in a line as fit.
    fn notes(&mut self, notes: &[String]) {
        let small = Style { size: 7.2, bold: false, tone: Tone::Soft };
        let mut x = LEFT;
        for (at, note) in notes.iter().enumerate() {
            let mark = DataTable::mark(at);
            let text = literal_line(note);
            let begin = small.width(&mark) + 4.0;
            let width = begin + small.width(&text);
            if x > LEFT && x + width > LEFT + INNER {
                self.y += small.leading();
                x = LEFT;
            }
            self.room(small.leading());
            self.words(&mark, x, self.y + small.size, small, Anchor::Start);
            if width > INNER {
                self.paragraph(note, LEFT + begin, INNER - begin, small, 0.5);
            } else {
                self.words(&text, x + begin, self.y + small.size, small, Anchor::Start);
                x += width + 14.0;
            }
        }
        if x > LEFT {
            self.y += small.leading();
        }
    }

    /// One row below the other.
    fn single(&mut self, of: &Setting<'_>) {
        self.head(of, LEFT);
        for (row, set) in of.cells.iter().zip(of.rows()) {
            if self.room(set.height) {
                self.head(of, LEFT);
            }
            self.row(of, row, &set, LEFT);
        }
    }

    /// In two columns: the left one down to where both are equal, or to the foot of the page.
    fn abreast(&mut self, of: &Setting<'_>) {
        let places = [LEFT, LEFT + (INNER + BETWEEN) / 2.0];
        let rows = of.rows();
        let mut next = 0;
        while next < rows.len() {
            let top = self.y;
            let mut lowest = top;
            for (side, x) in places.into_iter().enumerate() {
                self.y = top;
                self.head(of, x);
                let rest: f32 = rows[next..].iter().map(|it| it.height).sum();
                let share = if side == 0 { rest / 2.0 } else { rest };
                let end = (self.y + share).min(BOTTOM);
                let mut placed = 0;
                while let Some(set) = rows.get(next) {
                    // The left one may be the longer one by a row.
                    let over = if side == 0 { self.y >= end } else { false };
                    if placed > 0 && (over || self.y + set.height > BOTTOM) {
                        break;
                    }
                    self.row(of, &of.cells[next], set, x);
                    next += 1;
                    placed += 1;
                }
                lowest = lowest.max(self.y);
                if next == rows.len() {
                    break;
                }
            }
            self.y = lowest;
            if next < rows.len() {
                self.turn();
            }
        }
    }

    fn row(&mut self, of: &Setting<'_>, row: &[Shown], set: &Set, left: f32) {
        let mut x = left;
        for (at, ((it, lines), width)) in row.iter().zip(&set.lines).zip(&of.widths).enumerate() {
            let style = Style { bold: at == 0 && of.lead, ..of.style };
            let right = of.table.columns[at].what.is_number();
            self.cell(lines, &it.marks, x, *width, right, style);
            x += width + GAP;
        }
        self.y += set.height;
        self.rule(left, self.y - 0.9, left + of.width(), self.y - 0.9, Tone::Faint, 0.5);
    }

    fn cell(
        &mut self,
        lines: &[String],
        marks: &str,
        x: f32,
        width: f32,
        right: bool,
        style: Style,
    ) {
        let raised = raised(style);
        for (at, line) in lines.iter().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "a few lines")]
            let y = self.y + 2.0 + at as f32 * style.leading() + style.size;
            let is_last = at + 1 == lines.len();
            let room = if is_last { marks_width(marks, style) } else { 0.0 };
            let end = if right {
                self.words(line, x + width - room, y, style, Anchor::End);
                x + width - room
            } else {
                self.words(line, x, y, style, Anchor::Start);
                x + style.width(line)
            };
            if is_last && !marks.is_empty() {
                self.words(marks, end + 1.0, y - style.size * 0.32, raised, Anchor::Start);
            }
        }
    }

    fn head(&mut self, of: &Setting<'_>, left: f32) {
        let style = Style { tone: Tone::Soft, ..of.style };
        let lines: Vec<Vec<String>> = of
            .table
            .columns
            .iter()
            .zip(&of.widths)
            .map(|(it, width)| {
                let mut lines = wrap(&it.title, *width, style);
                if !it.unit.is_empty() {
                    lines.extend(wrap(&it.unit, *width, style));
                }
                lines
            })
            .collect();
        let most = lines.iter().map(Vec::len).max().unwrap_or(1);
        let mut x = left;
        for (at, (lines, width)) in lines.iter().zip(&of.widths).enumerate() {
            let right = of.table.columns[at].what.is_number();
            let mut padded = vec![String::new(); most - lines.len()];
            padded.extend(lines.iter().cloned());
            self.cell(&padded, "", x, *width, right, style);
            x += width + GAP;
        }
        #[expect(clippy::cast_precision_loss, reason = "a few lines")]
        let height = most as f32 * style.leading() + 4.0;
        self.y += height;
        self.rule(left, self.y, left + of.width(), self.y, Tone::Ink, 0.7);
        self.y += 1.0;
    }
}

fn raised(style: Style) -> Style {
    Style { size: style.size * 0.72, bold: false, ..style }
}

fn marks_width(marks: &str, style: Style) -> f32 {
    if marks.is_empty() { 0.0 } else { raised(style).width(marks) + 1.0 }
}

fn total(widths: &[f32]) -> f32 {
    #[expect(clippy::cast_precision_loss, reason = "a few columns")]
    let gaps = widths.len().saturating_sub(1) as f32 * GAP;
    widths.iter().sum::<f32>() + gaps
}

/// The size and the widths with which the table fits into a width, and whether it does: heads give way first, then
/// words; numbers stay whole.
fn fit(
    table: &DataTable,
    cells: &[Vec<Shown>],
    room: f32,
    sizes: &[f32],
    lead: bool,
) -> ((f32, Vec<f32>), bool) {
    let mut last = ((sizes[0], Vec::new()), false);
    // Rather smaller than with broken lines, where that is enough.
    let whole = sizes.iter().position(|size| {
        let wishes = wishes(table, cells, Style { size: *size, ..BODY }, lead);
        *size > 7.0 && total(&wishes.iter().map(|it| it.full).collect::<Vec<_>>()) <= room
    });
    for size in &sizes[whole.unwrap_or(0)..] {
        let wishes = wishes(table, cells, Style { size: *size, ..BODY }, lead);
        let mut widths: Vec<f32> = wishes.iter().map(|it| it.head.max(it.full)).collect();
        shrink(&mut widths, room, &wishes, |it| it.full);
        shrink(&mut widths, room, &wishes, |it| it.least);
        let fits = total(&widths) <= room + 0.01;
        last = ((*size, widths), fits);
        if fits {
            break;
        }
    }
    last
}

/// What a column would like.
struct Wish {
    /// So that its head takes few lines.
    head: f32,
    /// So that no cell is wrapped and no word of the head is broken.
    full: f32,
    /// The least it can do with.
    least: f32,
}

fn wishes(table: &DataTable, cells: &[Vec<Shown>], style: Style, lead: bool) -> Vec<Wish> {
    let of = |(at, column): (usize, &DataColumn)| {
        let style = Style { bold: at == 0 && lead, ..style };
        let longest_word =
            |text: &str| text.split([' ', '\n']).map(|it| style.width(it)).fold(0.0_f32, f32::max);
        let word = longest_word(&column.title).max(longest_word(&column.unit));
        // Half a title is two lines, and a little for words of unequal length.
        let head = (style.width(&column.title) * 0.55).max(style.width(&column.unit)).max(word);
        let texts = cells.iter().filter_map(|row| row.get(at));
        let full = texts
            .clone()
            .map(|it| style.width(&it.text) + marks_width(&it.marks, style))
            .fold(word, f32::max);
        let words = texts
            .map(|it| longest_word(&it.text) + marks_width(&it.marks, style))
            .fold(word, f32::max);
        // A word without end, such as a file name, is broken rather than pushing all others off the page.
        let least = if column.what.is_number() {
            full
        } else {
            words.min(INNER / 3.0).max(NARROWEST.min(full))
        };
        Wish { head: head + 0.5, full: full + 0.5, least: least + 0.5 }
    };
    table.columns.iter().enumerate().map(of).collect()
}

/// Takes from each column in proportion to what it can spare.
fn shrink(widths: &mut [f32], room: f32, wishes: &[Wish], least: impl Fn(&Wish) -> f32) {
    let over = total(widths) - room;
    let spare = |at: usize, width: f32| (width - least(&wishes[at])).max(0.0);
    let all: f32 = widths.iter().enumerate().map(|(at, it)| spare(at, *it)).sum();
    if over > 0.0 && all > 0.0 {
        let share = (over / all).min(1.0);
        for (at, width) in widths.iter_mut().enumerate() {
            *width -= spare(at, *width) * share;
        }
    }
}
