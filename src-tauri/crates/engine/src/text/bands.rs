//! The prices of the shelf and the bands that are offered, as a page.

use export::{Column, Table};

use super::{
    Page,
    band::{limits, month},
};
use crate::dto::BandsReport;

/// Characters of the longest bar.
const BAR: usize = 30;

/// The page.
#[must_use]
pub fn bands(report: &BandsReport, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!(
        "Real prices of a pair in {} of {}, as of {}: {} with a price, {} without",
        report.currency,
        month(&report.base_month),
        report.as_of,
        crate::error::count(report.priced as usize, "product"),
        report.no_price
    ));
    let most = report.offered.iter().map(|it| it.n).max().unwrap_or(0).max(1);
    let mut table = Table::new(
        "",
        vec![
            Column::words("band").whole(),
            Column::numbers("products", ""),
            Column::words("").whole(),
            Column::words("").whole(),
        ],
    );
    for it in &report.offered {
        let long = (it.n as usize * BAR).div_ceil(most as usize);
        table.push([
            limits(it.low, it.high),
            it.n.to_string(),
            "■".repeat(long),
            if it.ranked { String::new() } else { "too few for ranks".into() },
        ]);
    }
    page.table_part(&table);
    page.text
}
