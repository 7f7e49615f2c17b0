//! The numbers that score as pages.

use export::{Column, Table};

use super::{Page, remarks};
use crate::dto::{RubricChangeDto, RubricHistory, RubricList, RubricNumber, RubricSetting};

/// The numbers by subsystem; those of one plugin come with what they do and where they come from.
#[must_use]
pub fn rubric(list: &RubricList, width: usize) -> String {
    let mut page = Page::new(width);
    if list.numbers.is_empty() {
        page.line("Every number is what the manifests say.");
    }
    page.table(&numbers(&list.numbers));
    let mut plugins: Vec<&str> =
        list.numbers.iter().filter_map(|it| it.plugin.as_deref()).collect();
    plugins.dedup();
    if plugins.len() == 1 {
        page.table_part(&meanings(&list.numbers));
    }
    page.table_part(&changes("Not used, as no plugin has such a number now", &list.unused));
    page.table_part(&remarks("Remarks", &list.remarks));
    if list.numbers.iter().any(|it| it.catalogue.is_some()) {
        page.part();
        page.line("• changed in this catalogue");
    }
    page.text
}

fn numbers(numbers: &[RubricNumber]) -> Table {
    let columns = vec![
        Column::words("address").whole(),
        Column::words("").whole().gap(1),
        Column::prose("holds"),
        Column::words("").whole().gap(1),
    ];
    let mut table = Table::new("", columns);
    for it in numbers {
        let holds = it.catalogue.as_ref().unwrap_or(&it.manifest).clone();
        let mark = if it.catalogue.is_some() { "•" } else { "" };
        table.push([it.address.clone(), mark.into(), holds, it.unit.clone()]);
        if it.catalogue.is_some() {
            table.line(format!("      manifest: {}", it.manifest));
            let since = it.since.as_deref().unwrap_or_default();
            table.line(format!("      {since}: {}", it.reason.as_deref().unwrap_or_default()));
        }
    }
    table
}

/// What each criterion and parameter does, once.
fn meanings(numbers: &[RubricNumber]) -> Table {
    let columns = vec![Column::prose(""), Column::prose(""), Column::prose("")];
    let mut table = Table::new("What they do, and their source", columns);
    let mut told = "";
    for it in numbers {
        if it.title != told {
            told = &it.title;
            table.push([&it.title, &it.doc, &it.source]);
        }
    }
    table
}

/// All changes, newest first.
#[must_use]
pub fn rubric_history(history: &RubricHistory, width: usize) -> String {
    let mut page = Page::new(width);
    if history.changes.is_empty() {
        page.line("Nothing was ever changed: every number is what the manifests say.");
    }
    page.table(&changes("", &history.changes));
    page.text
}

fn changes(title: &str, changes: &[RubricChangeDto]) -> Table {
    let columns = vec![
        Column::words("recorded").whole(),
        Column::words("address").whole(),
        Column::prose("to"),
        Column::words("").whole(),
        Column::prose("reason"),
    ];
    let mut table = Table::new(title, columns);
    for it in changes {
        let value = it.value.as_deref().unwrap_or("the manifest's");
        let holds = if it.holds { "holds" } else { "" };
        table.push([&it.recorded_at, &it.address, value, holds, &it.reason]);
    }
    table
}

/// What holds at one address after a change.
#[must_use]
pub fn rubric_setting(it: &RubricSetting, width: usize) -> String {
    let mut page = Page::new(width);
    let address = &it.address;
    page.line(&match (&it.catalogue, &it.manifest) {
        (Some(value), Some(own)) => format!("{address} is {value}; the manifest says {own}."),
        (Some(value), None) => format!("{address} is {value}."),
        (None, Some(own)) => format!("{address} is what the manifest says: {own}."),
        (None, None) => format!("{address} is no longer changed."),
    });
    page.text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(address: &str, catalogue: Option<&str>) -> RubricNumber {
        RubricNumber {
            address: address.into(),
            plugin: Some("org.boxworth.cabinet".into()),
            subsystem: "cabinet".into(),
            kind: "weight".into(),
            title: "Lowest panel mode".into(),
            unit: String::new(),
            manifest: "30".into(),
            catalogue: catalogue.map(str::to_owned),
            reason: catalogue.map(|_| "walls matter less".into()),
            since: catalogue.map(|_| "2026-11-25T10:00:00Z".into()),
            accepted: "a number from 0 to 1000000".into(),
            doc: "A stiffer wall moves less.".into(),
            source: "editorial".into(),
        }
    }

    fn page(numbers: Vec<RubricNumber>) -> String {
        rubric(&RubricList { numbers, unused: Vec::new(), remarks: Vec::new() }, 100)
    }

    #[test]
    fn a_changed_number_shows_both_values_and_why() {
        let text = page(vec![number("a.weight", Some("15")), number("b.weight", None)]);
        for part in ["a.weight •  15", "manifest: 30", "2026-11-25T10:00:00Z: walls matter less"]
        {
            assert!(text.contains(part), "{part} in\n{text}");
        }
        assert_eq!(text.matches("A stiffer wall moves less.").count(), 1, "{text}");
        let plain = page(vec![number("b.weight", None)]);
        assert!(plain.contains("b.weight") && !plain.contains('•'), "{plain}");
    }

    #[test]
    fn an_empty_list_says_that_the_manifests_hold() {
        assert!(page(Vec::new()).contains("what the manifests say"));
        assert!(rubric_history(&RubricHistory { changes: Vec::new() }, 80).contains("Nothing"));
    }

    #[test]
    fn the_history_tells_what_holds() {
        let change = |value: Option<&str>, holds| RubricChangeDto {
            address: "subsystem.cabinet".into(),
            value: value.map(str::to_owned),
            reason: "walls".into(),
            recorded_at: "2026-11-25T10:00:00Z".into(),
            holds,
        };
        let history =
            RubricHistory { changes: vec![change(None, true), change(Some("30"), false)] };
        let text = rubric_history(&history, 100);
        let lines: Vec<&str> = text.lines().filter(|it| it.contains("subsystem.cabinet")).collect();
        assert!(lines[0].contains("the manifest's") && lines[0].contains("holds"), "{text}");
        assert!(lines[1].contains("30") && !lines[1].contains("holds"), "{text}");
    }
}
