//! Photos: what each shows, as one action of the journal. The pictures themselves are in [`files`].

use std::collections::BTreeSet;

use domain::{
    key::ProductKey,
    photo::{Photo, PhotoFormat, PhotoHash, PhotoOf},
};
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use crate::{
    Action, Catalog, Error, Reader,
    journal::{Entry, Facts},
    table::{Columns, Located},
};

pub mod files;

/// A photo by its row, with the teardown that it belongs to.
pub(crate) const ONE: &str = "SELECT photo.*, specimen.label AS specimen, teardown.day AS day FROM photo
     LEFT JOIN teardown ON teardown.id = teardown_id LEFT JOIN specimen ON specimen.id = specimen_id WHERE photo.id = ?1";

const HOLDING: &str = "SELECT photo.*, specimen.label AS specimen, teardown.day AS day FROM photo
     LEFT JOIN teardown ON teardown.id = teardown_id LEFT JOIN specimen ON specimen.id = specimen_id
     JOIN product ON product.id = photo.product_id
     WHERE product.key = ?1
       AND NOT EXISTS (SELECT 1 FROM photo AS later WHERE later.supersedes = photo.id)
       AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE what = 'photo' AND row_id = photo.id)
     ORDER BY (SELECT min(first.id) FROM photo AS first WHERE first.product_id = photo.product_id AND first.sha256 = photo.sha256)";

impl Catalog {
    /// Enters a photo, or what it shows and says since: a product has each photo once. Says whether anything changed.
    ///
    /// The teardown must be there; the file should be, since whoever reads the row will ask for it.
    ///
    /// # Errors
    /// [`Error::Sql`], also for a product or a teardown that is not there; the catalogue is then as before.
    pub fn record_photo(
        &mut self,
        product: &ProductKey,
        it: &Photo,
        reason: &str,
        recorded_at: &str,
    ) -> Result<bool, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let product_id: i64 = transaction.query_row(
            "SELECT id FROM product WHERE key = ?1",
            [product.as_str()],
            |row| row.get(0),
        )?;
        let (teardown_id, part, key) = match &it.of {
            PhotoOf::Product => (None, None, ""),
            PhotoOf::Teardown { specimen, date, part, key } => {
                let id: i64 = transaction.query_row(
                    "SELECT teardown.id FROM teardown JOIN specimen ON specimen.id = specimen_id
                     WHERE product_id = ?1 AND label = ?2 AND day = ?3",
                    params![product_id, specimen, date.to_string()],
                    |row| row.get(0),
                )?;
                (Some(id), Some(part.to_string()), key.as_str())
            }
        };
        let bytes = i64::try_from(it.bytes).unwrap_or(i64::MAX);
        let removed = serde_json::Value::from(it.removed.clone()).to_string();
        let content = params![
            product_id,
            teardown_id,
            part,
            key,
            it.sha256.as_str(),
            it.format.word(),
            it.width,
            it.height,
            bytes,
            it.caption,
            removed
        ];
        let before: Option<(i64, bool, bool)> = transaction
            .query_row(
                "SELECT id, (teardown_id, part, key, format, width, height, bytes, caption, removed)
                            IS (?2, ?3, ?4, ?6, ?7, ?8, ?9, ?10, ?11),
                        EXISTS (SELECT 1 FROM withdrawn WHERE what = 'photo' AND row_id = photo.id)
                 FROM photo WHERE product_id = ?1 AND sha256 = ?5
                   AND NOT EXISTS (SELECT 1 FROM photo AS later WHERE later.supersedes = photo.id)",
                content,
                |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
            )
            .optional()?;
        let (supersedes, held) = match before {
            Some((_, true, false)) => return Ok(false),
            Some((id, _, withdrawn)) => (Some(id), (!withdrawn).then_some(id)),
            None => (None, None),
        };
        transaction.execute(
            "INSERT INTO photo (product_id, teardown_id, part, key, sha256, format, width, height, bytes, caption, removed,
                                recorded_at, supersedes)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
            [content, params![recorded_at, supersedes]].concat().as_slice(),
        )?;
        let row = transaction.last_insert_rowid();
        let mut entry = Entry::new(&transaction, recorded_at, Action::Record, reason, None);
        entry.note(product_id, Facts::Photo, held, Some(row))?;
        transaction.commit()?;
        self.settle_log();
        Ok(true)
    }

    /// Takes a photo out of a product; says whether it was there. Its file stays, so that it can come back.
    ///
    /// # Errors
    /// [`Error::Sql`]; the catalogue is then as before.
    pub fn withdraw_photo(
        &mut self,
        product: &ProductKey,
        sha256: &PhotoHash,
        reason: &str,
        recorded_at: &str,
    ) -> Result<bool, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let Some((row, product_id)) = find(&transaction, product, sha256)? else {
            return Ok(false);
        };
        let mut entry = Entry::new(&transaction, recorded_at, Action::Record, reason, None);
        entry.withdraw(product_id, Facts::Photo, row)?;
        transaction.commit()?;
        self.settle_log();
        Ok(true)
    }
}

impl Reader {
    /// The photos of a product, in the order in which they came; a new caption moves none.
    ///
    /// # Errors
    /// [`Error::Damaged`] naming the row that cannot be read; [`Error::Sql`].
    pub fn photos(&self, product: &ProductKey) -> Result<Vec<Photo>, Error> {
        let mut statement = self.connection.prepare_cached(HOLDING)?;
        let columns = Columns::of(&statement);
        let mut rows = statement.query([product.as_str()])?;
        let mut photos = Vec::new();
        while let Some(row) = rows.next()? {
            photos.push(read(&Located { table: "photo", columns: &columns, row })?);
        }
        Ok(photos)
    }

    /// The files that the catalogue names, in what holds and in its history, each with its format; and those among them
    /// that something holds.
    ///
    /// # Errors
    /// As [`Reader::photos`].
    pub fn photo_files(&self) -> Result<PhotoFiles, Error> {
        files_named(&self.connection)
    }
}

/// Files of photos.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PhotoFiles {
    /// All that are named, also by what was superseded or taken out: undo can bring them back.
    pub named: BTreeSet<(PhotoHash, PhotoFormat)>,
    /// Those that a product has now.
    pub held: BTreeSet<(PhotoHash, PhotoFormat)>,
}

/// As [`Reader::photo_files`].
pub(crate) fn files_named(sql: &Connection) -> Result<PhotoFiles, Error> {
    let mut statement = sql.prepare_cached(
        "SELECT id, sha256, format,
                NOT EXISTS (SELECT 1 FROM photo AS later WHERE later.supersedes = photo.id)
                AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE what = 'photo' AND row_id = photo.id) AS holds
         FROM photo",
    )?;
    let columns = Columns::of(&statement);
    let mut rows = statement.query([])?;
    let mut files = PhotoFiles::default();
    while let Some(row) = rows.next()? {
        let it = Located { table: "photo", columns: &columns, row };
        let file = (it.parsed::<PhotoHash>("sha256")?, it.word("format", PhotoFormat::parse)?);
        if row.get("holds")? {
            files.held.insert(file.clone());
        }
        files.named.insert(file);
    }
    Ok(files)
}

/// The row that holds, with its product.
fn find(
    sql: &Transaction<'_>,
    product: &ProductKey,
    sha256: &PhotoHash,
) -> Result<Option<(i64, i64)>, Error> {
    Ok(sql
        .query_row(
            "SELECT photo.id, product_id FROM photo JOIN product ON product.id = product_id
             WHERE product.key = ?1 AND sha256 = ?2
               AND NOT EXISTS (SELECT 1 FROM photo AS later WHERE later.supersedes = photo.id)
               AND NOT EXISTS (SELECT 1 FROM withdrawn WHERE what = 'photo' AND row_id = photo.id)",
            params![product.as_str(), sha256.as_str()],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .optional()?)
}

/// A row of [`ONE`] or of a list.
pub(crate) fn read(it: &Located<'_>) -> Result<Photo, Error> {
    let specimen: Option<String> = it.get("specimen")?;
    let of = match specimen {
        None => PhotoOf::Product,
        Some(specimen) => PhotoOf::Teardown {
            specimen,
            date: it.day("day")?,
            part: it.part()?,
            key: it.text("key")?,
        },
    };
    Ok(Photo {
        of,
        sha256: it.parsed("sha256")?,
        format: it.word("format", PhotoFormat::parse)?,
        width: it.whole("width")?,
        height: it.whole("height")?,
        bytes: it.whole("bytes")?,
        caption: it.text("caption")?,
        removed: it.word("removed", |text| serde_json::from_str(text))?,
    })
}

#[cfg(test)]
mod tests;
