//! The parts list of a crossover, as a page.

use export::{Column, Table};

use super::{Page, remarks};
use crate::dto::NetworkReport;

/// The parts of a crossover.
#[must_use]
pub fn network(report: &NetworkReport, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!(
        "{}, specimen {}, teardown of {}",
        report.product, report.specimen, report.date
    ));
    if report.parts.is_empty() {
        page.line("No crossover is traced.");
        return page.text;
    }
    let columns = vec![
        Column::words("part").whole(),
        Column::words("kind").whole(),
        Column::words("from").whole(),
        Column::words("to").whole(),
        Column::words("value").whole(),
        Column::words("in series").whole(),
        Column::words("tolerance").whole(),
        Column::words("construction").whole(),
        Column::words("rating").whole(),
        Column::prose("note"),
    ];
    let mut table = Table::new("", columns);
    for it in &report.parts {
        table.push([
            it.name.clone(),
            it.kind.clone(),
            it.from.clone(),
            it.to.clone(),
            it.value.clone(),
            it.loss.clone(),
            it.tolerance.clone(),
            it.construction.clone(),
            it.rating.clone(),
            it.note.clone(),
        ]);
    }
    page.table(&table);
    page.table_part(&remarks("Remarks", &report.remarks));
    page.text
}
