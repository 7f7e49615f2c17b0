//! A sweep and what is fitted to it, as a page.

use export::{Column, Table};

use super::Page;
use crate::dto::SweepReport;

/// A sweep.
#[must_use]
pub fn sweep(report: &SweepReport, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!(
        "{}, specimen {}, teardown of {}: sweep of {}",
        report.product, report.specimen, report.date, report.part
    ));
    let Some(chart) = &report.chart else {
        page.line(if report.changed { "Taken out." } else { "No sweep is recorded." });
        return page.text;
    };
    let state = match (report.recorded, report.changed) {
        (true, true) => "recorded",
        (true, false) => "recorded before",
        (false, _) => "not recorded",
    };
    page.line(&format!("{state}; {}", chart.description));
    for it in &report.remarks {
        let line = it.line.map(|it| format!("line {it}: ")).unwrap_or_default();
        page.line(&format!("{line}{}", it.text));
    }
    match &report.fit {
        None => page.line(&format!("No fit: {}", report.no_fit)),
        Some(fit) => {
            let columns =
                vec![Column::words("").whole(), Column::words("fitted").whole(), Column::prose("")];
            let mut table = Table::new(format!("Fit of {}", fit.model), columns);
            for it in &fit.parameters {
                table.push([it.sign.clone(), it.shown.clone(), it.label.clone()]);
            }
            page.table_part(&table);
            page.part();
            page.line(&format!("Scatter {} of the magnitude, {}.", fit.scatter, fit.range));
            for it in &fit.assumed {
                page.line(&format!("Assumed: {it}."));
            }
        }
    }
    page.text
}
