//! GitHub Flavored Markdown (the GFM specification, version 0.29, with its tables).

use crate::{
    literal,
    report::{Block, DataTable, Report},
};

/// What may begin or end markup inside a line. Each is escaped by a backslash, which the specification allows for all ASCII
/// punctuation; `&` and `<` become entities, which no reader takes for anything else.
const ACTIVE: &str = "\\`*_{}[]()#+!|~>^=$\"'-.:/";

/// The whole report. Charts are pictures beside the file, `charts/ID.svg`.
#[must_use]
pub fn to_markdown(report: &Report) -> String {
    let mut out = format!("# {}\n\n", inline(&report.title));
    if !report.subtitle.is_empty() {
        out.push_str(&format!("{}\n\n", inline(&report.subtitle)));
    }
    let by = if report.author.is_empty() {
        String::new()
    } else {
        format!(" · {}", inline(&report.author))
    };
    out.push_str(&format!("{}{by}\n", inline(&report.dateline())));
    for block in &report.blocks {
        out.push('\n');
        one(&mut out, block);
    }
    out
}

fn one(out: &mut String, block: &Block) {
    match block {
        Block::Heading { level, text, .. } => {
            let depth = usize::from(*level).clamp(2, 6);
            out.push_str(&format!("{} {}\n", "#".repeat(depth), inline(text)));
        }
        Block::Text { text } => out.push_str(&format!("{}\n", inline(text))),
        Block::List { items } => {
            for it in items {
                out.push_str(&format!("- {}\n", inline(it)));
            }
        }
        Block::Terms { terms } => {
            for (name, text) in terms {
                out.push_str(&format!("- **{}**: {}\n", inline(name), inline(text)));
            }
        }
        Block::Caution { items } => {
            for it in items {
                out.push_str(&format!("> **Caution.** {}\n>\n", inline(it)));
            }
            out.truncate(out.trim_end_matches(">\n").len());
        }
        Block::Table(table) => data_table(out, table),
        Block::Chart(chart) => {
            let alternative = inline(&format!("{}: {}", chart.title, chart.description));
            out.push_str(&format!("![{alternative}](charts/{}.svg)\n", chart.id));
        }
    }
}

fn data_table(out: &mut String, table: &DataTable) {
    out.push_str(&format!("**{}**\n\n", inline(&table.title)));
    let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
    out.push_str(&line(table.columns.iter().map(|it| inline(&it.heading())).collect()));
    let rule = |it: &crate::DataColumn| if it.what.is_number() { "---:" } else { ":---" };
    out.push_str(&line(table.columns.iter().map(|it| rule(it).to_owned()).collect()));
    for row in &table.rows {
        let cells = table.columns.iter().zip(row).map(|(column, cell)| {
            let marks = DataTable::marks(cell);
            let text = inline(&cell.shown(column.what));
            if marks.is_empty() { text } else { format!("{text} <sup>{marks}</sup>") }
        });
        out.push_str(&line(cells.collect()));
    }
    if !table.notes.is_empty() {
        out.push('\n');
        for (at, note) in table.notes.iter().enumerate() {
            out.push_str(&format!("- <sup>{}</sup> {}\n", DataTable::mark(at), inline(note)));
        }
    }
}

/// A text as one line of Markdown that shows exactly it.
fn inline(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for line in literal(text).split('\n') {
        if !out.is_empty() {
            out.push_str("<br>");
        }
        // Blanks at the ends would be lost, and four at the start of a line would make it code.
        let words = line.trim_matches(' ');
        let chars: Vec<char> = words.chars().collect();
        for (at, it) in chars.iter().enumerate() {
            match it {
                '&' => out.push_str("&amp;"),
                '<' => out.push_str("&lt;"),
                // Readers make an address of letters round this sign, escaped or not, unless an element parts them.
                '@' if at > 0 => out.push_str("<!-- -->@"),
                it if ACTIVE.contains(*it) && acts(&chars, at) => {
                    out.push('\\');
                    out.push(*it);
                }
                it => out.push(*it),
            }
        }
    }
    out
}

/// Whether a character could be markup where it stands. Quotes never are; what begins a list, a quotation or a heading does
/// so at the start of a line and mostly before a blank; a number sign closes a heading at its end, too; a colon, a slash or
/// a dot inside a word could make a link by itself.
fn acts(chars: &[char], at: usize) -> bool {
    let numbered = at > 0 && chars[..at].iter().all(char::is_ascii_digit);
    let next = chars.get(at + 1);
    let alone = next.is_none_or(|it| *it == ' ');
    let within =
        at > 0 && next.is_some_and(|it| it.is_alphabetic()) && chars[at - 1].is_alphabetic();
    match chars[at] {
        '"' | '\'' | '(' | '{' | '}' | '$' | '^' => false,
        ')' => numbered && alone,
        '#' => at == 0 || chars[at..].iter().all(|it| matches!(it, '#' | ' ')),
        // A line of them would be a rule, or make a heading of the line above.
        '+' | '-' => at == 0 && (alone || next == Some(&chars[at])),
        '>' | '=' => at == 0,
        '.' => (numbered && alone) || within,
        ':' => next == Some(&'/'),
        '/' => next == Some(&'/'),
        _ => true,
    }
}
