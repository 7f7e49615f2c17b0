//! The bench and what was added to the shelf, as pages.

use export::{Column, Table};

use super::{Page, number::percent, remarks};
use crate::dto::{AddReport, BenchReport};

/// A product on the bench: how far the teardown is and what is left, what is worth most first.
#[must_use]
pub fn bench(it: &BenchReport, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!("{} {} ({})", it.maker, it.model, it.product));
    let teardown = match (&it.specimen, &it.date) {
        (Some(specimen), Some(date)) => format!("specimen {specimen}, teardown of {date}"),
        _ => "no teardown yet".to_owned(),
    };
    let share = f64::from(it.found) / f64::from(it.expected.max(1));
    page.line(&format!(
        "{teardown}; {} of {} expected findings ({} %)",
        it.found,
        it.expected,
        percent(share)
    ));
    page.table_part(&parts(it));
    page.table_part(&left(it));
    if !it.left.is_empty() {
        page.line(&it.left_order);
    }
    page.part();
    for caution in it.parts.iter().flat_map(|it| &it.cautions).chain(&it.cautions) {
        page.line(caution);
    }
    page.text
}

fn parts(it: &BenchReport) -> Table {
    let columns = vec![
        Column::words("part"),
        Column::numbers("found", ""),
        Column::numbers("expected", ""),
        Column::numbers("in this teardown", ""),
    ];
    let mut table = Table::new("Parts", columns);
    for part in &it.parts {
        let here = part.rows.iter().filter(|it| it.place != "stated" && it.state != "open").count();
        table.push([
            part.part.clone(),
            part.found.to_string(),
            part.expected.to_string(),
            here.to_string(),
        ]);
    }
    table
}

fn left(it: &BenchReport) -> Table {
    let columns = vec![
        Column::words("finding").whole(),
        Column::prose("what it is"),
        Column::words("waits for it").whole(),
    ];
    let mut table = Table::new("Left to find", columns);
    for left in &it.left {
        table.push([left.address.clone(), left.what.clone(), left.worth.clone()]);
    }
    table
}

/// What was added.
#[must_use]
pub fn added(it: &AddReport, width: usize) -> String {
    let mut page = Page::new(width);
    let what = match (&it.specimen, &it.date) {
        (Some(specimen), Some(date)) => format!("the teardown of {specimen} on {date}"),
        (Some(specimen), None) => format!("the specimen {specimen}"),
        _ => "the product".to_owned(),
    };
    page.line(&format!("{}: {what} was added.", it.product));
    page.table_part(&remarks("Remarks", &it.remarks));
    page.text
}
