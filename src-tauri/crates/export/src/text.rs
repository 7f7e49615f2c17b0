//! The text form of a table.

use crate::{
    Align, Fit, Row, Table,
    fitting::{cut, pad, width_of, wrap},
    harmless,
};

/// No column that gives way becomes narrower than this, so that something can still be read.
const NARROWEST: usize = 8;

/// The table in lines of at most `width` columns: title, column titles, units where there are any, rows.
///
/// Columns that may be cut or wrapped give way, the widest first; when that is not enough, lines are longer.
/// Each line ends in a line feed and has no blanks before it.
#[must_use]
pub fn to_text(table: &Table, width: usize) -> String {
    let clean = Clean::of(table);
    let widths = clean.widths(table, width);
    let mut out = String::new();
    if !table.title.is_empty() {
        out.push_str(&harmless(&table.title));
        out.push('\n');
    }
    if clean.titles.iter().any(|it| !it.is_empty()) {
        line(&mut out, table, &widths, &clean.titles);
    }
    if clean.units.iter().any(|it| !it.is_empty()) {
        line(&mut out, table, &widths, &clean.units);
    }
    for row in &clean.rows {
        match row {
            Row::Line(text) => {
                for line in wrap(text, width) {
                    out.push_str(&line);
                    out.push('\n');
                }
            }
            Row::Cells(cells) => lines(&mut out, table, &widths, cells),
        }
    }
    out
}

/// The texts of a table, harmless and as many a row as there are columns.
struct Clean {
    titles: Vec<String>,
    units: Vec<String>,
    rows: Vec<Row>,
}

impl Clean {
    fn of(table: &Table) -> Self {
        let row = |it: &Row| match it {
            Row::Line(text) => Row::Line(harmless(text)),
            Row::Cells(cells) => Row::Cells(
                (0..table.columns.len())
                    .map(|at| cells.get(at).map_or_else(String::new, |it| harmless(it)))
                    .collect(),
            ),
        };
        Clean {
            titles: table.columns.iter().map(|it| harmless(&it.title)).collect(),
            units: table.columns.iter().map(|it| harmless(&it.unit)).collect(),
            rows: table.rows.iter().map(row).collect(),
        }
    }

    fn widths(&self, table: &Table, width: usize) -> Vec<usize> {
        let cells = self.rows.iter().filter_map(|it| match it {
            Row::Cells(cells) => Some(cells),
            Row::Line(_) => None,
        });
        let mut widths = vec![0; table.columns.len()];
        for texts in [&self.titles, &self.units].into_iter().chain(cells) {
            for (known, text) in widths.iter_mut().zip(texts) {
                *known = width_of(text).max(*known);
            }
        }
        let gaps: usize = table.columns.iter().skip(1).map(|it| it.gap).sum();
        let mut excess = (widths.iter().sum::<usize>() + gaps).saturating_sub(width);
        while excess > 0 {
            let widest = widths
                .iter_mut()
                .zip(&table.columns)
                .filter(|(known, column)| column.fit != Fit::Whole && **known > NARROWEST)
                .max_by_key(|(known, _)| **known);
            let Some((known, _)) = widest else { break };
            *known -= 1;
            excess -= 1;
        }
        widths
    }
}

fn lines(out: &mut String, table: &Table, widths: &[usize], cells: &[String]) {
    let parts: Vec<Vec<String>> = cells
        .iter()
        .zip(widths)
        .zip(&table.columns)
        .map(|((cell, width), column)| match column.fit {
            Fit::Wrap => wrap(cell, *width),
            Fit::Cut => vec![cut(cell, *width)],
            Fit::Whole => vec![cell.clone()],
        })
        .collect();
    let count = parts.iter().map(Vec::len).max().unwrap_or(0);
    for at in 0..count {
        let texts: Vec<String> =
            parts.iter().map(|it| it.get(at).cloned().unwrap_or_default()).collect();
        line(out, table, widths, &texts);
    }
}

fn line(out: &mut String, table: &Table, widths: &[usize], texts: &[String]) {
    let mut line = String::new();
    for (at, ((text, width), column)) in texts.iter().zip(widths).zip(&table.columns).enumerate() {
        if at > 0 {
            pad(&mut line, "", column.gap, Align::Left);
        }
        pad(&mut line, &cut(text, *width), *width, column.align);
    }
    out.push_str(line.trim_end());
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Column;

    fn speakers() -> Table {
        let mut table = Table::new(
            "two speakers",
            vec![Column::words("model"), Column::numbers("price", "USD"), Column::prose("why")],
        );
        table.push(["Heron 5", "199", "cheap"]);
        table.push(["Widgeon", "1,250", "dear and heavy and loud"]);
        table
    }

    #[test]
    fn numbers_stand_right_and_words_left() {
        assert_eq!(
            to_text(&speakers(), 80),
            "two speakers\n\
             model    price  why\n\
             \u{20}          USD\n\
             Heron 5    199  cheap\n\
             Widgeon  1,250  dear and heavy and loud\n"
        );
    }

    #[test]
    fn the_widest_column_gives_way_first() {
        assert_eq!(
            to_text(&speakers(), 30),
            "two speakers\n\
             model    price  why\n\
             \u{20}          USD\n\
             Heron 5    199  cheap\n\
             Widgeon  1,250  dear and heavy\n\
             \u{20}               and loud\n"
        );
    }

    #[test]
    fn a_long_name_does_not_move_the_numbers() {
        let mut table = Table::new("", vec![Column::words("model"), Column::numbers("ways", "")]);
        table.push(["A model whose name would fill the line", "2"]);
        table.push(["扬声器扬声器扬声器扬声器", "3"]);
        let text = to_text(&table, 20);
        let widths: Vec<usize> = text.lines().map(width_of).collect();
        assert_eq!(widths, [20, 20, 20], "{text}");
        assert!(text.contains('…'), "{text}");
    }

    #[test]
    fn numbers_are_never_shortened() {
        let mut table = Table::new("", vec![Column::words("a"), Column::numbers("b", "")]);
        table.push(["a long name here", "1234567890"]);
        let text = to_text(&table, 10);
        assert!(text.contains("1234567890"), "{text}");
        assert!(text.contains("a long…"), "{text}");
    }

    #[test]
    fn a_cell_cannot_steer_the_terminal() {
        let mut table = Table::new("t\u{1b}", vec![Column::words("a\u{202e}")]);
        table.push(["x\ny\u{1b}[31m"]);
        table.line("g\u{7}");
        let text = to_text(&table, 80);
        assert_eq!(text, "t\u{FFFD}\na\u{FFFD}\nx y\u{FFFD}[31m\ng\u{FFFD}\n");
    }

    #[test]
    fn a_line_across_keeps_its_indent_and_moves_no_column() {
        let mut table = Table::new("", vec![Column::words("a"), Column::words("b")]);
        table.line("head");
        table.push(["1", "2"]);
        table.line("  more words than a line holds");
        assert_eq!(to_text(&table, 14), "a  b\nhead\n1  2\n  more words\n  than a line\n  holds\n");
    }

    #[test]
    fn missing_cells_are_empty_and_no_line_ends_in_blanks() {
        let mut table = Table::new("", vec![Column::words("a"), Column::words("b")]);
        table.push(["1"]);
        table.push(["1", "2", "3"]);
        assert_eq!(to_text(&table, 80), "a  b\n1\n1  2\n");
    }
}
