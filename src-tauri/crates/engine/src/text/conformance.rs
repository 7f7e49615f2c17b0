//! The conformance of a plugin file as a page.

use export::{Column, Table};

use super::Page;
use crate::dto::PluginCheck;

/// What the checks of a plugin file found, with a last line that counts.
#[must_use]
pub fn plugin_check(report: &PluginCheck, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!("{}, {} bytes", report.file, report.size_bytes));
    page.line(&format!("SHA-256 {}", report.sha256));
    if let (Some(id), Some(version)) = (&report.id, &report.version) {
        page.line(&format!("plugin {id}, version {version}"));
    }
    let sandbox = report.sandbox.as_deref().unwrap_or("not loaded");
    page.line(&format!("sandbox: {sandbox}. Checking is not trusting; nothing is remembered."));
    page.part();
    let mut table = Table::new(
        "",
        vec![
            Column::words("check").whole(),
            Column::words("outcome").whole(),
            Column::prose("what is required, or what to change"),
        ],
    );
    for it in &report.checks {
        let text = if it.advice.is_empty() { &it.rule } else { &it.advice };
        table.push([&it.id, &it.outcome, text]);
    }
    page.table(&table);
    page.part();
    let counts = [
        (report.passed, "passed"),
        (report.warned, "warned"),
        (report.failed, "failed"),
        (report.crashed, "crashed"),
        (report.timed_out, "timed out"),
        (report.skipped, "skipped"),
    ];
    let shown = counts.iter().filter(|(n, _)| *n != 0).map(|(n, what)| format!("{n} {what}"));
    page.line(&shown.collect::<Vec<_>>().join(", "));
    page.text
}
