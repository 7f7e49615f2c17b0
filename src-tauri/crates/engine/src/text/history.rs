//! Entering, taking back, and what was, as pages.

use export::{Column, Table};

use super::{Page, remarks};
use crate::dto::{ChronicleReport, HistoryReport, RecordReport, RevertReport};

/// What became of a finding that was typed.
#[must_use]
pub fn recorded(it: &RecordReport, width: usize) -> String {
    let mut page = Page::new(width);
    let after = it.after.as_deref().unwrap_or("nothing recorded");
    let read = it.read.as_ref().map(|it| format!(", read as {it}")).unwrap_or_default();
    if it.changed {
        page.line(&format!("{}: {after}{read}", it.finding));
        if let Some(before) = &it.before {
            page.line(&format!("before: {before}"));
        }
    } else {
        page.line(&format!("{}: {after}; it was so already.", it.finding));
    }
    page.table_part(&remarks("Remarks", &it.remarks));
    page.text
}

/// What was taken back.
#[must_use]
pub fn undone(it: &RevertReport, width: usize) -> String {
    reverted(it, "Taken back", "There is nothing to take back.", width)
}

/// What was done again.
#[must_use]
pub fn redone(it: &RevertReport, width: usize) -> String {
    reverted(it, "Done again", "There is nothing to do again.", width)
}

fn reverted(it: &RevertReport, done: &str, none: &str, width: usize) -> String {
    let mut page = Page::new(width);
    let Some(action) = &it.action else {
        page.line(none);
        return page.text;
    };
    let reason = if it.reason.is_empty() { String::new() } else { format!(" ({})", it.reason) };
    let facts = if it.changes == 1 { "1 fact".into() } else { format!("{} facts", it.changes) };
    page.line(&format!(
        "{done}: the {action} of {}{reason}; {facts} hold{} otherwise now.",
        it.at.as_deref().unwrap_or_default(),
        if it.changes == 1 { "s" } else { "" }
    ));
    page.text
}

/// All that ever changed of a product, newest first.
#[must_use]
pub fn history(report: &HistoryReport, width: usize) -> String {
    let mut page = Page::new(width);
    if report.actions.is_empty() {
        page.line("No change is on record.");
        return page.text;
    }
    let columns = vec![
        Column::words("no.").whole(),
        Column::words("when").whole(),
        Column::words("what").whole(),
        Column::prose("before"),
        Column::prose("since"),
        Column::prose("why"),
    ];
    let mut table = Table::new("", columns);
    for action in &report.actions {
        let word = match action.reverts {
            Some(number) => format!("{} of {number}", action.action),
            None => action.action.clone(),
        };
        let why =
            if action.reason.is_empty() { word } else { format!("{word}: {}", action.reason) };
        for (at, it) in action.changes.iter().enumerate() {
            let nothing = || "nothing".to_owned();
            let (number, when, why) = if at == 0 {
                (action.number.to_string(), action.at.clone(), why.clone())
            } else {
                (String::new(), String::new(), String::new())
            };
            table.push([
                number,
                when,
                it.what.clone(),
                it.before.clone().unwrap_or_else(nothing),
                it.after.clone().unwrap_or_else(nothing),
                why,
            ]);
        }
    }
    page.table(&table);
    page.text
}

/// A history that was written.
#[must_use]
pub fn history_written(it: &ChronicleReport, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!("Wrote {}: {}.", it.file, amount(it)));
    if !it.photos.is_empty() {
        page.line(&it.photos);
    }
    page.text
}

/// A history that was gone through again.
#[must_use]
pub fn replayed(it: &ChronicleReport, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!("Went through {}: {}, each as it was.", it.file, amount(it)));
    page.text
}

fn amount(it: &ChronicleReport) -> String {
    let of = |n: u32, noun: &str| if n == 1 { format!("1 {noun}") } else { format!("{n} {noun}s") };
    format!("{}, {}", of(it.actions, "action"), of(it.rows, "row"))
}
