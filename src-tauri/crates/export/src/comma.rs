//! Tables as CSV (RFC 4180) with CSVW metadata (W3C Recommendations of 17 December 2015).
//!
//! Numbers are plain, with a point; an interval takes three columns, an uncertainty one more, footnotes one more.
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
        if table.is_noted(at) {
            list.push((at, Facet::Note));
        }
    }
    list
}

/// The table.
#[must_use]
pub fn to_csv(table: &DataTable) -> String {
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
        // Writing to memory fails only for rows of unequal length, which the line above cannot make.
        if writer.write_record(record).is_err() {
            return String::new();
        }
    }
    writer.into_inner().ok().and_then(|it| String::from_utf8(it).ok()).unwrap_or_default()
}

fn name(column: &DataColumn, facet: Facet) -> String {
    match facet {
        Facet::Value => column.key.clone(),
        Facet::Low => format!("{}_low", column.key),
        Facet::High => format!("{}_high", column.key),
        Facet::Uncertainty => format!("{}_u", column.key),
        Facet::Note => format!("{}_note", column.key),
    }
}

fn field(table: &DataTable, cell: Option<&crate::Cell>, facet: Facet) -> String {
    let Some(cell) = cell else { return String::new() };
    let number = |it: f64, decimals: u8| format!("{it:.*}", usize::from(decimals));
    match (&cell.value, facet) {
        (_, Facet::Note) => harmless_text(&table.notes_of(cell)),
        (Datum::Text { text }, Facet::Value) => harmless_text(text),
        (Datum::Number { u: Some(u), decimals, .. }, Facet::Uncertainty) => number(*u, *decimals),
        (Datum::Number { value, decimals, .. }, Facet::Value)
        | (Datum::Interval { value: Some(value), decimals, .. }, Facet::Value) => {
            number(*value, *decimals)
        }
        (Datum::Interval { low, decimals, .. }, Facet::Low) => number(*low, *decimals),
        (Datum::Interval { high, decimals, .. }, Facet::High) => number(*high, *decimals),
        _ => String::new(),
    }
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
            let is_number = column.what.is_number() && facet != Facet::Note;
            let datatype = match (is_number, column.what) {
                (true, _) => json!("number"),
                (false, What::Date) if facet == Facet::Value => {
                    json!({ "base": "date", "format": "yyyy-MM-dd" })
                }
                _ => json!("string"),
            };
            let end = match facet {
                Facet::Value => "",
                Facet::Low => ", lower end",
                Facet::High => ", upper end",
                Facet::Uncertainty => ", standard uncertainty",
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
    let metadata = json!({
        "@context": "http://www.w3.org/ns/csvw",
        "url": format!("{}.csv", table.id),
        "dc:title": table.title,
        "dc:description": "A text that begins with = + - @ ' a tab or a line end has one apostrophe before it.",
        "dialect": { "encoding": "utf-8", "header": true, "lineTerminators": ["\r\n"] },
        "tableSchema": { "columns": columns, "primaryKey": table.columns.first().map(|it| &it.key) },
    });
    format!("{metadata:#}\n")
}
