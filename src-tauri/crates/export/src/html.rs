//! One HTML file that needs nothing else: style, charts and tables are inside, and it prints on A4 or letter paper.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::{
    literal, literal_line,
    report::{Block, Cell, DataTable, Datum, Report, What},
    svg,
};

const STYLE: &str = include_str!("html/style.css");

/// The whole report.
#[must_use]
pub fn to_html(report: &Report) -> String {
    let title = literal_line(&report.title);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    header {
                        h1 { (title) }
                        @if !report.subtitle.is_empty() { p.subtitle { (literal_line(&report.subtitle)) } }
                        p.dateline {
                            (report.dateline())
                            @if !report.author.is_empty() { " · " (literal_line(&report.author)) }
                        }
                    }
                    @for block in &report.blocks { (one(block)) }
                }
            }
        }
    };
    let mut text = page.into_string();
    text.push('\n');
    text
}

fn one(block: &Block) -> Markup {
    match block {
        Block::Heading { level, text, new_page } => heading(*level, text, *new_page),
        Block::Text { text } => html! { p { (lines(text)) } },
        Block::List { items } => html! { ul { @for it in items { li { (lines(it)) } } } },
        Block::Terms { terms } => html! {
            dl { @for (name, text) in terms { div { dt { (lines(name)) } dd { (lines(text)) } } } }
        },
        Block::Caution { items } => html! {
            div.caution role="note" aria-label="Caution" { @for it in items { p { strong { "Caution." } " " (lines(it)) } } }
        },
        Block::Table(table) => data_table(table),
        Block::Chart(chart) => html! {
            figure { (PreEscaped(svg::inline(chart))) }
        },
    }
}

fn heading(level: u8, text: &str, new_page: bool) -> Markup {
    let class = new_page.then_some("page");
    match level {
        0..=2 => html! { h2 class=[class] { (lines(text)) } },
        3 => html! { h3 class=[class] { (lines(text)) } },
        _ => html! { h4 class=[class] { (lines(text)) } },
    }
}

fn data_table(table: &DataTable) -> Markup {
    let name = literal_line(&table.title);
    let long: Vec<bool> = (0..table.columns.len()).map(|at| is_long(table, at)).collect();
    html! {
        // A table wider than the window is moved sideways, by the keyboard too.
        div.wide role="region" aria-label=(name) tabindex="0" {
            // The roles are told again, since a narrow page draws a row as a block and would drop them with the table.
            table role="table" {
                caption { (name) }
                thead role="rowgroup" {
                    tr role="row" {
                        @for it in &table.columns {
                            th scope="col" role="columnheader" class=[it.what.is_number().then_some("n")] {
                                (lines(&it.title))
                                @if !it.unit.is_empty() { " " span.unit { (literal_line(&it.unit)) } }
                            }
                        }
                    }
                }
                tbody role="rowgroup" {
                    @for row in &table.rows { tr role="row" { (cells(table, &long, row)) } }
                }
            }
        }
        @if !table.notes.is_empty() {
            ol.notes { @for it in &table.notes { li { (lines(it)) } } }
        }
    }
}

fn cells(table: &DataTable, long: &[bool], row: &[Cell]) -> Markup {
    html! {
        @for (at, (column, cell)) in table.columns.iter().zip(row).enumerate() {
            @let class = class(column.what, cell).or(long[at].then_some("l"));
            @let of = literal_line(&column.title);
            @let of = if column.unit.is_empty() { of } else { format!("{of}, {}", literal_line(&column.unit)) };
            @let marks = DataTable::marks(cell);
            @let body = html! {
                (lines(&cell.shown(column.what)))
                @if !marks.is_empty() { sup { (marks) } }
            };
            @if at == 0 {
                th scope="row" role="rowheader" class=[class] { (body) }
            } @else {
                td role="cell" class=[class] data-of=(of) { (body) }
            }
        }
    }
}

/// Whether a column has texts that need the width of the page.
fn is_long(table: &DataTable, at: usize) -> bool {
    const SHORT: usize = 24;
    table.columns[at].what == What::Text
        && table
            .rows
            .iter()
            .filter_map(|row| row.get(at))
            .any(|it| it.shown(What::Text).chars().count() > SHORT)
}

fn class(what: What, cell: &Cell) -> Option<&'static str> {
    match (what, &cell.value) {
        (What::Text, _) => None,
        (What::Date, _) => Some("d"),
        (_, Datum::Nothing { .. }) => Some("n none"),
        _ => Some("n"),
    }
}

/// A text as it was written, line breaks included.
fn lines(text: &str) -> Markup {
    let text = literal(text);
    html! {
        @for (at, line) in text.split('\n').enumerate() {
            @if at > 0 { br; }
            (line)
        }
    }
}
