//! Tables as CSV (RFC 4180) with CSVW metadata (W3C Recommendations of 17 December 2015).
//!
//! Numbers are whole, with a point, and not rounded as for reading; an interval takes three columns, an uncertainty one
//! more, the reason why there is no value one more, footnotes one more.
//! Spreadsheets run a text that begins with `=`, `+`, `-`, `@`, a tab or a line end as a formula, so that such a text gets an
//! apostrophe before it; the metadata says so.

use csv::{QuoteStyle, Terminator, WriterBuilder};
use serde_json::{Value, json};

use crate::report::{DataColumn, DataTable, Datum, What};

/// What a file's column holds of a table's column.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Facet {
    Value,
    Low,
    High,
    Uncertainty,
    Reason,
    Note,
}

/// The columns of the file: place in the table and what of it.
fn facets(table: &DataTable) -> Vec<(usize, Facet)> {
    let mut list = Vec::new();
    for (at, column) in table.columns.iter().enumerate() {
        list.push((at, Facet::Value));
        if column.what == What::Interval || table.has_ends(at) {
            list.extend([(at, Facet::Low), (at, Facet::High)]);
        }
        if table.is_uncertain(at) {
            list.push((at, Facet::Uncertainty));
        }
        if table.has_reasons(at) {
            list.push((at, Facet::Reason));
        }
        if table.is_noted(at) {
            list.push((at, Facet::Note));
        }
    }
    list
}

/// The table.
///
/// # Errors
/// When it cannot be put together, which no content causes.
pub fn to_csv(table: &DataTable) -> Result<String, String> {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .quote_style(QuoteStyle::Necessary)
        .from_writer(Vec::new());
    let facets = facets(table);
    let mut records: Vec<Vec<String>> =
        vec![facets.iter().map(|it| name(&table.columns[it.0], it.1)).collect()];
    for row in &table.rows {
        records.push(facets.iter().map(|(at, facet)| field(table, row.get(*at), *facet)).collect());
    }
    for record in &records {
        writer.write_record(record).map_err(|why| why.to_string())?;
    }
    let bytes = writer.into_inner().map_err(|why| why.to_string())?;
    String::from_utf8(bytes).map_err(|why| why.to_string())
}

fn name(column: &DataColumn, facet: Facet) -> String {
    match facet {
        Facet::Value => column.key.clone(),
        Facet::Low => format!("{}_low", column.key),
        Facet::High => format!("{}_high", column.key),
        Facet::Uncertainty => format!("{}_u", column.key),
        Facet::Reason => format!("{}_why", column.key),
        Facet::Note => format!("{}_note", column.key),
    }
}

fn field(table: &DataTable, cell: Option<&crate::Cell>, facet: Facet) -> String {
    let Some(cell) = cell else { return String::new() };
    match (&cell.value, facet) {
        (_, Facet::Note) => harmless_text(&table.notes_of(cell)),
        (_, Facet::Reason) => harmless_text(cell.reason()),
        (Datum::Text { text }, Facet::Value) => harmless_text(text),
        (Datum::Number { u: Some(u), .. }, Facet::Uncertainty) => number(*u),
        (Datum::Number { value, .. }, Facet::Value)
        | (Datum::Interval { value: Some(value), .. }, Facet::Value) => number(*value),
        (Datum::Interval { low, .. }, Facet::Low) => number(*low),
        (Datum::Interval { high, .. }, Facet::High) => number(*high),
        _ => String::new(),
    }
}

/// The shortest digits that read back as this number; a nought has no sign.
fn number(value: f64) -> String {
    if value == 0.0 { "0".to_owned() } else { value.to_string() }
}

/// Whether a text is a day, `YYYY-MM-DD`, and not only a month or a year.
fn is_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let lengths: Vec<usize> = parts.iter().map(|it| it.len()).collect();
    lengths == [4, 2, 2] && parts.iter().all(|it| it.bytes().all(|it| it.is_ascii_digit()))
}

/// Whether all that a column says are days, so that it may be called one of dates.
fn holds_days(table: &DataTable, column: usize) -> bool {
    let cells = table.rows.iter().filter_map(|row| row.get(column));
    let mut texts = cells.filter_map(|it| match &it.value {
        Datum::Text { text } => Some(text),
        _ => None,
    });
    texts.all(|it| is_day(it))
}

/// Whether the first column names each row by itself.
fn names_rows(table: &DataTable) -> bool {
    let mut seen = std::collections::BTreeSet::new();
    table.rows.iter().all(|row| match row.first().map(|it| &it.value) {
        Some(Datum::Text { text }) => seen.insert(text),
        _ => false,
    })
}

/// A text that no spreadsheet runs.
fn harmless_text(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\'']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// The metadata of `ID.csv`, for the file `ID.csv-metadata.json` beside it.
#[must_use]
pub fn to_csvw(table: &DataTable) -> String {
    let columns: Vec<Value> = facets(table)
        .into_iter()
        .map(|(at, facet)| {
            let column = &table.columns[at];
            let is_text = matches!(facet, Facet::Note | Facet::Reason);
            let is_number = column.what.is_number() && !is_text;
            let datatype = match (is_number, column.what) {
                (true, _) => json!("number"),
                (false, What::Date) if facet == Facet::Value && holds_days(table, at) => {
                    json!({ "base": "date", "format": "yyyy-MM-dd" })
                }
                _ => json!("string"),
            };
            let end = match facet {
                Facet::Value => "",
                Facet::Low => ", lower end",
                Facet::High => ", upper end",
                Facet::Uncertainty => ", standard uncertainty",
                Facet::Reason => ", why there is none",
                Facet::Note => ", footnotes",
            };
            let mut it = json!({
                "name": name(column, facet),
                "titles": name(column, facet),
                "dc:description": format!("{}{end}", column.heading()),
                "datatype": datatype,
                "required": at == 0 && facet == Facet::Value,
            });
            if is_number && !column.unit.is_empty() {
                it["schema:unitText"] = json!(column.unit);
            }
            it
        })
        .collect();
    let mut metadata = json!({
        "@context": "http://www.w3.org/ns/csvw",
        "url": format!("{}.csv", table.id),
        "dc:title": table.title,
        "dc:description": "A text that begins with = + - @ ' a tab or a line end has one apostrophe before it.",
        "dialect": { "encoding": "utf-8", "header": true, "lineTerminators": ["\r\n"] },
        "tableSchema": { "columns": columns },
    });
    if let (Some(first), true) = (table.columns.first(), names_rows(table)) {
        metadata["tableSchema"]["primaryKey"] = json!(first.key);
    }
    format!("{metadata:#}\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Cell;

    fn table(names: [&str; 2], dates: [&str; 2]) -> DataTable {
        let column = |key: &str, what| DataColumn {
            key: key.into(),
            title: key.into(),
            unit: String::new(),
            what,
        };
        let row =
            |at: usize, number: Cell| vec![Cell::text(names[at]), Cell::text(dates[at]), number];
        DataTable {
            id: "of".into(),
            title: "of".into(),
            columns: vec![
                column("name", What::Text),
                column("date", What::Date),
                column("n", What::Number),
            ],
            rows: vec![row(0, Cell::number(-0.0, 0)), row(1, Cell::nothing("could not tell"))],
            notes: Vec::new(),
        }
    }

    fn described(of: &DataTable) -> Value {
        serde_json::from_str(&to_csvw(of)).unwrap()
    }

    #[test]
    fn numbers_are_whole_and_a_reason_has_its_column() {
        let mut of = table(["a", "b"], ["2026-11-25", "2026-11-26"]);
        of.rows[0][2] = Cell::number(-0.000_003_3, 2);
        let text = to_csv(&of).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0], "name,date,n,n_why");
        assert_eq!(lines[1], "a,2026-11-25,-0.0000033,");
        assert_eq!(lines[2], "b,2026-11-26,,could not tell");
        of.rows[0][2] = Cell::number(-0.0, 0);
        assert!(to_csv(&of).unwrap().contains("a,2026-11-25,0,"));
    }

    /// CSV on the Web, metadata vocabulary: values of a column of dates must all have the format, and a primary key is
    /// in no two rows.
    #[test]
    fn a_month_makes_no_date_and_a_name_given_twice_no_key() {
        let of = described(&table(["a", "b"], ["2026-11-25", "2026-11-26"]));
        assert_eq!(of["tableSchema"]["columns"][1]["datatype"]["base"], "date");
        assert_eq!(of["tableSchema"]["primaryKey"], "name");
        let of = described(&table(["a", "a"], ["2026-11-25", "2026-11"]));
        assert_eq!(of["tableSchema"]["columns"][1]["datatype"], "string");
        assert_eq!(of["tableSchema"]["primaryKey"], Value::Null);
    }
}
