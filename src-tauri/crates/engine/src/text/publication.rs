//! Publications and editions, as pages.

use export::{Column, Table};

use super::{Page, remarks};
use crate::dto::{EditionCheck, EditionList, Publication};

/// What was published.
#[must_use]
pub fn published(it: &Publication, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&match (it.edition, it.is_new) {
        (Some(number), true) => format!("Edition {number}: {}.", it.title),
        (Some(number), false) => format!("Edition {number} as it was published: {}.", it.title),
        (None, _) => format!("Draft: {}. Nothing was kept.", it.title),
    });
    let columns =
        vec![Column::words("file").whole(), Column::numbers("bytes", ""), Column::words("SHA-256")];
    let mut table = Table::new("", columns);
    for file in &it.files {
        table.push([&file.name, &file.bytes.to_string(), &file.sha256]);
    }
    page.table_part(&table);
    if let Some(changes) = &it.changes {
        page.part();
        page.line(&format!("Corrections and changes since edition {}:", changes.since));
        if changes.changes.is_empty() {
            page.line("Nothing changed.");
        }
        for it in &changes.changes {
            page.line(&it.text);
        }
    }
    page.table_part(&remarks("Remarks", &it.remarks));
    page.text
}

/// All editions.
#[must_use]
pub fn editions(it: &EditionList, width: usize) -> String {
    let mut page = Page::new(width);
    if it.editions.is_empty() {
        page.line("Nothing was published yet.");
        return page.text;
    }
    let columns = vec![
        Column::numbers("edition", ""),
        Column::words("band").whole(),
        Column::words("prices as of").whole(),
        Column::words("published").whole(),
        Column::numbers("files", ""),
        Column::words("title"),
    ];
    let mut table = Table::new("", columns);
    for it in &it.editions {
        table.push([
            &it.number.to_string(),
            &it.band,
            &it.as_of,
            &it.made_at,
            &it.files.len().to_string(),
            &it.title,
        ]);
    }
    page.table(&table);
    page.text
}

/// Whether an edition comes out as it was.
#[must_use]
pub fn edition_check(it: &EditionCheck, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(if it.is_whole {
        "The bytes that were published are kept whole."
    } else {
        "The bytes that are kept are not those that were published."
    });
    if it.is_same {
        page.line("Computed anew from what it was made of, every file comes out the same.");
    } else {
        page.line("Computed anew from what it was made of, it differs:");
        for it in &it.differences {
            page.line(it);
        }
    }
    page.text
}

/// That a catalogue was exported.
#[must_use]
pub fn exported(file: &std::path::Path, products: usize, width: usize) -> String {
    let mut page = Page::new(width);
    let products = crate::error::count(products, "product");
    page.line(&format!("{products} in {}.", file.display()));
    page.line(
        "It holds what holds now, and all changes of the rubric. History, trusted plugins, photos, claims and editions stay \
         here, so that the history of a catalogue made from it begins anew.",
    );
    page.text
}
