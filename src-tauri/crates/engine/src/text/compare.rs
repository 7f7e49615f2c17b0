//! Products side by side as a page.

use std::collections::BTreeMap;

use export::{Column, Table};

use super::{
    Page,
    band::month,
    number::{Score, percent},
    remarks,
};
use crate::dto::{CompareReport, CompareRow, CompareSection};

/// The page.
#[must_use]
pub fn compare(report: &CompareReport, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!(
        "{} products side by side, real prices in {} of {}, as of {}",
        report.products.len(),
        report.currency,
        month(&report.base_month),
        report.as_of
    ));
    page.table_part(&heads(report));
    if !report.pairs.is_empty() {
        page.part();
    }
    for it in &report.pairs {
        page.line(&it.text);
    }
    for section in &report.sections {
        page.table_part(&table(report, section));
    }
    page.part();
    page.line(
        "≠ differs; ? alike as far as it is known, and something is missing; * best by more than the uncertainty. A name in \
         brackets says how a thing is known where nobody measured or inspected it.",
    );
    for (product, said) in report.products.iter().zip(&report.remarks) {
        page.table_part(&remarks(&format!("Remarks on {}", product.label), said));
    }
    page.table_part(&remarks("Remarks", &report.faults));
    page.text
}

/// Letters stand for products in the tables below, whose columns are narrow.
fn letter(at: usize) -> String {
    u8::try_from(at).map_or_else(|_| at.to_string(), |it| char::from(b'A' + it).to_string())
}

fn heads(report: &CompareReport) -> Table {
    let mut table = Table::new(
        "",
        vec![
            Column::words("").whole(),
            Column::words("product"),
            Column::numbers("price", ""),
            Column::numbers("index", ""),
            Column::numbers("90 %", "of draws"),
            Column::numbers("coverage", "%"),
            Column::numbers("hard", "%"),
        ],
    );
    for (at, it) in report.products.iter().enumerate() {
        table.push([
            letter(at),
            it.label.clone(),
            it.real_pair.map_or_else(|| "none".into(), super::number::money),
            it.index.as_ref().map_or_else(|| "none".into(), |it| Score::from(it).text()),
            it.spread
                .as_ref()
                .map_or_else(String::new, |it| format!("{:.0}–{:.0}", it.low, it.high)),
            percent(it.coverage),
            percent(it.coverage_hard),
        ]);
    }
    table
}

fn table(report: &CompareReport, section: &CompareSection) -> Table {
    let mut columns = vec![Column::words("").whole(), Column::words("")];
    columns.extend((0..report.products.len()).map(|at| Column::words(letter(at)).whole()));
    let mut table = Table::new(section.title.clone(), columns);
    // Findings name their part once, not in each row.
    let mut group = String::new();
    let grouped = section.id == "findings";
    for it in &section.rows {
        if grouped && it.group != group {
            group.clone_from(&it.group);
            table.line(group.clone());
        }
        table.push(cells(it));
    }
    table
}

fn cells(row: &CompareRow) -> Vec<String> {
    let sign = match row.difference.as_str() {
        "differs" => "≠",
        "open" => "?",
        _ => "",
    };
    let indent = if row.level > 0 { "  " } else { "" };
    let soft = BTreeMap::from([("claimed", "claimed"), ("inferred", "inferred")]);
    let values = row.cells.iter().zip(&row.best).map(|(it, best)| {
        let grade =
            soft.get(it.evidence.as_str()).map_or_else(String::new, |it| format!(" ({it})"));
        let star = if *best { " *" } else { "" };
        let text = it.text.as_str();
        if it.measured.is_empty() {
            format!("{text}{star}{grade}")
        } else {
            format!("{text}{star} ({})", it.measured)
        }
    });
    [sign.to_owned(), format!("{indent}{}", row.label)].into_iter().chain(values).collect()
}
