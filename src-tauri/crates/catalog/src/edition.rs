//! Editions: what was published, with what it was made of. They are added and read, never changed.

use rusqlite::{OptionalExtension, TransactionBehavior, params};

use crate::{Catalog, Error, Reader, photo::files::hash};

/// What an edition says about itself, without its contents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EditionHead {
    /// Its number, from 1.
    pub number: u32,
    /// When it was made, UTC.
    pub made_at: String,
    /// The day for which prices were taken.
    pub as_of: String,
    /// The title.
    pub title: String,
    /// What it belongs to: editions of one series are held against each other.
    pub series: String,
}

/// An edition with what it was made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edition {
    /// What it says about itself.
    pub head: EditionHead,
    /// What was asked for, JSON.
    pub request: String,
    /// The catalogue as it was, in the exchange format.
    pub inputs: String,
    /// What came out, JSON.
    pub results: String,
}

/// A file of an edition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EditionFile {
    /// Its name.
    pub name: String,
    /// The SHA-256 of its content, in hexadecimal digits.
    pub sha256: String,
    /// Its bytes.
    pub content: Vec<u8>,
}

const HEAD: &str = "number, made_at, as_of, title, series";

fn head(row: &rusqlite::Row<'_>) -> rusqlite::Result<EditionHead> {
    Ok(EditionHead {
        number: row.get(0)?,
        made_at: row.get(1)?,
        as_of: row.get(2)?,
        title: row.get(3)?,
        series: row.get(4)?,
    })
}

impl Reader {
    /// All editions, oldest first.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn editions(&self) -> Result<Vec<EditionHead>, Error> {
        let mut statement = self
            .connection
            .prepare_cached(&format!("SELECT {HEAD} FROM edition ORDER BY number"))?;
        let rows = statement.query_map([], head)?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// One edition, if there is one of that number.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn edition(&self, number: u32) -> Result<Option<Edition>, Error> {
        let sql = format!("SELECT {HEAD}, request, inputs, results FROM edition WHERE number = ?1");
        let found = self.connection.prepare_cached(&sql)?.query_row([number], |row| {
            Ok(Edition {
                head: head(row)?,
                request: row.get(5)?,
                inputs: row.get(6)?,
                results: row.get(7)?,
            })
        });
        Ok(found.optional()?)
    }

    /// Name, SHA-256 and size of the files of an edition, in their order; their bytes are not read. A row of SQLite holds
    /// 2^31 - 1 bytes at most (SQLite, Implementation Limits, 1).
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn edition_file_list(&self, number: u32) -> Result<Vec<(String, String, u32)>, Error> {
        let mut statement = self.connection.prepare_cached(
            "SELECT name, sha256, length(content) FROM edition_file WHERE edition = ?1 ORDER BY position",
        )?;
        let rows =
            statement.query_map([number], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }

    /// The files of an edition, in their order.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn edition_files(&self, number: u32) -> Result<Vec<EditionFile>, Error> {
        let mut statement = self.connection.prepare_cached(
            "SELECT name, sha256, content FROM edition_file WHERE edition = ?1 ORDER BY position",
        )?;
        let rows = statement.query_map([number], |row| {
            Ok(EditionFile { name: row.get(0)?, sha256: row.get(1)?, content: row.get(2)? })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

impl Reader {
    /// Files of editions whose bytes are not those that were published: number and name.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn changed_editions(&self) -> Result<Vec<(u32, String)>, Error> {
        let mut changed = Vec::new();
        for of in self.editions()? {
            let files = self.edition_files(of.number)?;
            let other = files.into_iter().filter(|it| hash(&it.content).as_str() != it.sha256);
            changed.extend(other.map(|it| (of.number, it.name)));
        }
        Ok(changed)
    }
}

impl Catalog {
    /// Keeps an edition under its number, all of it or nothing.
    ///
    /// # Errors
    /// [`Error::Sql`], also when there is an edition of that number: two programs may publish at once.
    pub fn publish(&mut self, it: &Edition, files: &[EditionFile]) -> Result<(), Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let of = &it.head;
        transaction.execute(
            "INSERT INTO edition (number, made_at, as_of, title, series, request, inputs, results)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            params![
                of.number, of.made_at, of.as_of, of.title, of.series, it.request, it.inputs,
                it.results
            ],
        )?;
        for (position, file) in (0_i64..).zip(files) {
            transaction.execute(
                "INSERT INTO edition_file (edition, position, name, sha256, content) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![of.number, position, file.name, file.sha256, file.content],
            )?;
        }
        transaction.commit()?;
        self.settle_log();
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Info;

    fn edition(number: u32) -> Edition {
        let head = EditionHead {
            number,
            made_at: "2026-11-25T10:00:00Z".into(),
            as_of: "2026-11-25".into(),
            title: "Guide".into(),
            series: "200..500".into(),
        };
        Edition { head, request: "{}".into(), inputs: "{}".into(), results: "{}".into() }
    }

    #[test]
    fn an_edition_comes_back_as_it_was_and_cannot_be_changed() {
        let folder = tempfile::tempdir().unwrap();
        let info = Info {
            title: "t".into(),
            currency: "USD".into(),
            base_month: "2026-06".into(),
            note: String::new(),
        };
        let mut it = Catalog::create(&folder.path().join("a.boxworth"), &info).unwrap();
        let files = [EditionFile {
            name: "guide.pdf".into(),
            sha256: "0".repeat(64),
            content: vec![0, 255, 13, 10],
        }];
        it.publish(&edition(1), &files).unwrap();
        assert_eq!(it.reader().edition(1).unwrap(), Some(edition(1)));
        assert_eq!(it.reader().edition_files(1).unwrap(), files);
        let listed = it.reader().edition_file_list(1).unwrap();
        assert_eq!(listed, [("guide.pdf".to_owned(), "0".repeat(64), 4)]);
        assert_eq!(it.reader().edition(2).unwrap(), None);
        // Its hash is an invented one.
        assert_eq!(it.reader().changed_editions().unwrap(), [(1, "guide.pdf".to_owned())]);
        assert!(it.publish(&edition(1), &files).is_err(), "a number was given twice");
        for sql in [
            "UPDATE edition SET title = 'x'",
            "DELETE FROM edition",
            "UPDATE edition_file SET content = x'00'",
            "DELETE FROM edition_file",
        ] {
            assert!(it.reader().connection.execute(sql, []).is_err(), "{sql}");
        }
    }
}
