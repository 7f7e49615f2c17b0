//! Photos as pages.

use export::{Column, Table};

use super::Page;
use crate::dto::{PhotoClean, PhotoDto, PhotoList, PhotoPicture, PhotoSaved};

/// The photos of a product.
#[must_use]
pub fn photos(list: &PhotoList, width: usize) -> String {
    let mut page = Page::new(width);
    if list.photos.is_empty() {
        page.line(&format!("{} has no photos; accepted: {}", list.product, list.accepted));
        return page.text;
    }
    let columns = vec![
        Column::words("photo").whole(),
        Column::words("shows"),
        Column::words("teardown"),
        Column::prose("caption"),
        Column::words("pixels").whole(),
        Column::prose("taken out of the file"),
    ];
    let mut table = Table::new("", columns);
    for it in &list.photos {
        table.push([
            it.short.clone(),
            it.shows.clone(),
            teardown(it),
            if it.missing { "its file is missing".into() } else { it.caption.clone() },
            format!("{} × {}", it.width, it.height),
            it.removed.clone(),
        ]);
    }
    page.table(&table);
    page.line(&format!("in {}", list.folder));
    page.text
}

fn teardown(it: &PhotoDto) -> String {
    match (&it.specimen, &it.date) {
        (Some(specimen), Some(date)) => format!("{specimen}, {date}"),
        _ => String::new(),
    }
}

/// What became of a photo.
#[must_use]
pub fn photo_saved(it: &PhotoSaved, width: usize) -> String {
    let mut page = Page::new(width);
    let Some(photo) = &it.photo else {
        page.line("Taken out. The file stays, so that undo can bring it back.");
        return page.text;
    };
    page.line(match (it.was_there, it.changed) {
        (false, _) => "Kept.",
        (true, true) => "Changed.",
        (true, false) => "It is there already.",
    });
    one(&mut page, photo);
    page.text
}

/// One photo.
#[must_use]
pub fn photo(it: &PhotoPicture, width: usize) -> String {
    let mut page = Page::new(width);
    one(&mut page, &it.photo);
    page.text
}

fn one(page: &mut Page, it: &PhotoDto) {
    page.line(&format!("{}: {}", it.short, it.alt));
    let teardown = teardown(it);
    let of = if teardown.is_empty() { String::new() } else { format!(", teardown {teardown}") };
    page.line(&format!("shows {}{of}", it.shows));
    page.line(&format!("{} × {} pixels, {}", it.width, it.height, it.size));
    page.line(&format!("{} before it was kept", it.removed));
    page.line(&it.file);
}

/// What was cleaned.
#[must_use]
pub fn photos_cleaned(it: &PhotoClean, width: usize) -> String {
    let mut page = Page::new(width);
    let word = if it.dry_run { "would be deleted" } else { "deleted" };
    for file in &it.deleted {
        page.line(&format!("{word}: {file}"));
    }
    if it.deleted.is_empty() {
        page.line("Nothing to delete.");
    }
    if !it.idle.is_empty() {
        page.line(&format!(
            "{} of photos that were taken out stay for undo; --taken-out deletes them, too",
            crate::error::count(it.idle.len(), "file")
        ));
    }
    page.text
}
