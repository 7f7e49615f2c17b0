//! Copies of a catalogue as pages.

use export::{Column, Table};

use super::{Page, number::money};
use crate::dto::{CopyList, RestoreReport};

/// The copies, and the one that was just made.
#[must_use]
pub fn copies(list: &CopyList, width: usize) -> String {
    let mut page = Page::new(width);
    if let Some(made) = &list.made {
        page.line(&format!("Made and checked: {}", made.file));
    }
    if list.copies.is_empty() {
        page.line(&format!("No copies yet; they go to {}", list.folder));
        said_of_photos(&mut page, list);
        return page.text;
    }
    let mut table = Table::new(
        "",
        vec![
            Column::words("when"),
            Column::words("why"),
            Column::numbers("size", "kB"),
            Column::words("file"),
        ],
    );
    for it in &list.copies {
        let name = it.file.rsplit(['/', '\\']).next().unwrap_or(&it.file);
        table.push([&it.stamp, &it.occasion, &money(f64::from(it.kilobytes)), name]);
    }
    page.table(&table);
    page.line(&format!("in {}", list.folder));
    said_of_photos(&mut page, list);
    page.text
}

fn said_of_photos(page: &mut Page, list: &CopyList) {
    if !list.photos.is_empty() {
        page.line(&list.photos);
    }
}

/// What a restore did.
#[must_use]
pub fn restored(report: &RestoreReport, width: usize) -> String {
    let mut page = Page::new(width);
    page.line(&format!("{} is again as in {}", report.catalogue, report.from));
    page.line(&match &report.last_change {
        Some(at) => format!("its last change is of {at}"),
        None => "nothing was changed in it so far".to_owned(),
    });
    if let Some(kept) = &report.kept {
        page.line(&format!("what was there before is kept in {kept}"));
    }
    page.text
}
