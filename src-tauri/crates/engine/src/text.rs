//! Answers as text for people: what the command line prints.
//!
//! Each function takes an answer and a line width and gives whole lines. Tables keep their columns whatever stands in
//! them; nothing here needs colour.

mod backup;
mod band;
mod bands;
mod bench;
mod claims;
mod compare;
mod conformance;
mod drawing;
mod failure;
mod history;
mod maintenance;
mod network;
mod number;
mod photos;
mod prices;
mod products;
mod publication;
mod robust;
mod rubric;
mod sheet;
mod sweep;

pub use backup::{copies, restored};
pub use band::{Detail, band};
pub use bands::bands;
pub use bench::{added, bench};
pub use claims::{claim, claim_added, claim_withdrawn, claims, claims_rejudged, draft};
pub use compare::compare;
pub use conformance::plugin_check;
pub use failure::error;
pub use history::{history, history_written, recorded, redone, replayed, undone};
pub use maintenance::{
    doctor, imported, made, new_plugin, plugin_file, plugins, repaired, trusted,
};
pub use network::network;
pub use photos::{photo, photo_saved, photos, photos_cleaned};
pub use prices::{price_change, price_reading, prices};
pub use products::products;
pub use publication::{edition_check, editions, exported, published};
pub use robust::{next, normal, stability, what_if};
pub use rubric::{rubric, rubric_history, rubric_setting};
pub use sheet::sheet;
pub use sweep::sweep;

pub(crate) use band::{group, has_ranks, how_drawn, listed, no_ranks};
pub(crate) use number::{measure, money};
pub(crate) use sheet::{bought, price_sentence};

/// The text with a capital at its start.
pub(crate) fn title(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|it| it.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// What the parts of a page are made of: lines of text with an empty line between two parts.
#[derive(Default)]
struct Page {
    text: String,
    width: usize,
}

impl Page {
    fn new(width: usize) -> Self {
        Page { text: String::new(), width }
    }

    /// Begins a part.
    fn part(&mut self) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
    }

    /// Adds a sentence or several, wrapped.
    fn line(&mut self, text: &str) {
        self.text.push_str(&export::paragraph(text, self.width));
        self.text.push('\n');
    }

    /// Adds a table, if it has rows.
    fn table(&mut self, table: &export::Table) {
        if !table.rows.is_empty() {
            self.text.push_str(&export::to_text(table, self.width));
        }
    }

    /// Adds a part that is one table, if it has rows.
    fn table_part(&mut self, table: &export::Table) {
        if !table.rows.is_empty() {
            self.part();
            self.table(table);
        }
    }
}

/// Remarks as a table, the gravest first.
fn remarks(title: &str, remarks: &[crate::dto::Remark]) -> export::Table {
    use export::{Column, Table};
    let mut sorted: Vec<_> = remarks.iter().collect();
    sorted.sort_by_key(|it| match it.severity.as_str() {
        "warning" => 0,
        "caution" => 1,
        _ => 2,
    });
    let columns = vec![Column::words("").whole(), Column::words("").whole(), Column::prose("")];
    let mut table = Table::new(title, columns);
    for it in sorted {
        table.push([&it.severity, short_source(&it.source), &it.text]);
    }
    table
}

/// The last part of a plugin's id, which says enough beside its remark: `cabinet` of `org.boxworth.cabinet`.
fn short_source(source: &str) -> &str {
    source.rsplit('.').next().unwrap_or(source)
}

/// Subsystems with those of this build first, in the order in which a bench goes through a loudspeaker.
fn in_bench_order<'a>(names: impl IntoIterator<Item = &'a String>) -> Vec<&'a str> {
    let place = |it: &str| match it {
        "cabinet" => 0,
        "driver" => 1,
        "crossover" => 2,
        "wiring" => 3,
        _ => 4,
    };
    let mut names: Vec<&str> = names.into_iter().map(String::as_str).collect();
    names.sort_by_key(|it| (place(it), *it));
    names.dedup();
    names
}

/// Addresses with each part named once: the part, and its keys.
fn by_part(addresses: &[String]) -> Vec<(&str, Vec<&str>)> {
    let mut parts: Vec<(&str, Vec<&str>)> = Vec::new();
    for address in addresses {
        let (part, key) = address.split_once('.').unwrap_or(("", address));
        match parts.iter_mut().find(|(it, _)| *it == part) {
            Some((_, keys)) => keys.push(key),
            None => parts.push((part, vec![key])),
        }
    }
    parts
}

/// The first addresses of a list and how many more there are.
fn first_of(addresses: &[String], count: usize) -> String {
    let shown = addresses.iter().take(count).cloned().collect::<Vec<_>>().join(", ");
    match addresses.len().saturating_sub(count) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}
