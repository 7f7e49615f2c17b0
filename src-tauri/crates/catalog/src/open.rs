//! Creating and opening catalogue files.

use std::{
    fs::File,
    io::Read,
    path::{Path, PathBuf},
    time::Duration,
};

use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, config::DbConfig};

use crate::{
    Error,
    backup::{self, Occasion},
    durable, migrate,
    pages::{self, KnownPages},
    shape::Shape,
};

/// `BXWT` in ASCII: SQLite keeps it at byte 68 of the file, where file type detection looks.
const APPLICATION_ID: i32 = 0x4258_5754;

/// What a catalogue says about itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Info {
    /// A title.
    pub title: String,
    /// The currency of bands and of prices that name none.
    pub currency: String,
    /// The month whose money real prices are in, `YYYY-MM`.
    pub base_month: String,
    /// A remark, or empty.
    pub note: String,
}

/// A catalogue opened for reading.
#[derive(Debug)]
pub struct Reader {
    pub(crate) connection: Connection,
    path: PathBuf,
}

/// A catalogue opened for writing; it reads as well.
#[derive(Debug)]
pub struct Catalog {
    pub(crate) reader: Reader,
    pages: KnownPages,
}

impl Catalog {
    /// Makes a new, empty catalogue.
    ///
    /// # Errors
    /// [`Error::Exists`] when there is a file already; [`Error::Io`] or [`Error::Sql`] when it cannot be written.
    pub fn create(path: &Path, info: &Info) -> Result<Self, Error> {
        durable::appear(path, |part| {
            let mut connection = connect(part, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
            // Nobody has this file yet: it is flushed as a whole, and thrown away after a crash.
            connection.pragma_update(None, "synchronous", "OFF")?;
            connection.pragma_update(None, "application_id", APPLICATION_ID)?;
            migrate::migrate(&mut connection, 0)?;
            let transaction = connection.transaction()?;
            put_info(&transaction, info)?;
            transaction.commit()?;
            set_up_for_writing(&connection)?;
            connection.close().map_err(|(_, why)| why.into())
        })?;
        Catalog::open(path)
    }

    /// Opens a catalogue for writing and brings it to the current format, after a copy of what it was.
    ///
    /// # Errors
    /// [`Error::NotFound`], [`Error::Foreign`] or [`Error::Newer`], each without touching the file.
    pub fn open(path: &Path) -> Result<Self, Error> {
        Self::open_known(path, &KnownPages::default())
    }

    /// The same, without another look at pages that this program knows.
    ///
    /// # Errors
    /// As [`Catalog::open`].
    pub fn open_known(path: &Path, known: &KnownPages) -> Result<Self, Error> {
        refuse_by_header(path)?;
        let mut connection = connect(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        let found = checked_format(&connection, path)?;
        refuse_by_shape(&connection, path, found)?;
        pages::refuse_faulty(&connection, path, known)?;
        if found < migrate::FORMAT {
            // Without a copy the file stays as it is.
            backup::back_up(path, Occasion::Format, &format!("from-{found}"))?;
        }
        set_up_for_writing(&connection)?;
        migrate::migrate(&mut connection, found)?;
        let reader = Reader { connection, path: path.to_owned() };
        Ok(Catalog { reader, pages: known.clone() })
    }

    /// Brings what the write-ahead log holds into the file itself, so that a copy of the file alone is whole.
    ///
    /// It may fail: another program that reads at this moment keeps the log, and so does a disk that has just run full. What
    /// was committed is safe in the log then, so that a failure here must not be told as one of the change; the next writer
    /// tries again.
    pub(crate) fn settle_log(&self) {
        let settled =
            self.reader.connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()));
        drop(settled);
        self.pages.keep(&self.reader.path);
    }

    /// The same file, for reading.
    #[must_use]
    pub fn reader(&self) -> &Reader {
        &self.reader
    }
}

/// Replaces what the catalogue says about itself.
pub(crate) fn put_info(transaction: &Transaction<'_>, info: &Info) -> Result<(), Error> {
    for (key, value) in [
        ("title", &info.title),
        ("currency", &info.currency),
        ("base_month", &info.base_month),
        ("note", &info.note),
    ] {
        transaction.execute(
            "INSERT INTO info (key, value) VALUES (?1, ?2) ON CONFLICT (key) DO UPDATE SET value = excluded.value",
            (key, value),
        )?;
    }
    Ok(())
}

impl Reader {
    /// Opens a catalogue for reading; never migrates.
    ///
    /// # Errors
    /// [`Error::NotFound`], [`Error::Foreign`], [`Error::Newer`], [`Error::Older`].
    pub fn open(path: &Path) -> Result<Self, Error> {
        refuse_by_header(path)?;
        let connection = connect(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
        let found = checked_format(&connection, path)?;
        if found < migrate::FORMAT {
            return Err(Error::Older { path: path.to_owned(), found, known: migrate::FORMAT });
        }
        refuse_by_shape(&connection, path, found)?;
        Ok(Reader { connection, path: path.to_owned() })
    }

    /// The file.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What the catalogue says about itself.
    ///
    /// # Errors
    /// [`Error::Damaged`] when a line is missing.
    pub fn info(&self) -> Result<Info, Error> {
        let get = |key: &str| {
            self.connection
                .query_row("SELECT value FROM info WHERE key = ?1", [key], |row| {
                    row.get::<_, String>(0)
                })
                .map_err(|why| match why {
                    rusqlite::Error::QueryReturnedNoRows => {
                        Error::Damaged { table: "info", row: 0, why: format!("{key} is missing") }
                    }
                    other => other.into(),
                })
        };
        Ok(Info {
            title: get("title")?,
            currency: get("currency")?,
            base_month: get("base_month")?,
            note: get("note")?,
        })
    }

    /// A number that changes whenever another connection has written.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn data_version(&self) -> Result<i64, Error> {
        Ok(self.connection.pragma_query_value(None, "data_version", |row| row.get(0))?)
    }

    /// Several questions about one state of the file, whoever writes meanwhile.
    ///
    /// # Errors
    /// Those of the questions; [`Error::Sql`].
    pub fn at_one_moment<R, E: From<Error>>(
        &self,
        ask: impl FnOnce(&Self) -> Result<R, E>,
    ) -> Result<R, E> {
        let _moment = self.moment()?;
        ask(self)
    }

    /// Keeps what is read at one state of the file until it goes; nothing where that is so already.
    pub(crate) fn moment(&self) -> Result<Option<Transaction<'_>>, Error> {
        let is_free = self.connection.is_autocommit();
        Ok(is_free.then(|| self.connection.unchecked_transaction()).transpose()?)
    }

    /// SQLite's own checks of pages, indices and references; empty when all is well.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn integrity_faults(&self) -> Result<Vec<String>, Error> {
        integrity_faults(&self.connection)
    }
}

pub(crate) fn integrity_faults(connection: &Connection) -> Result<Vec<String>, Error> {
    let mut faults = Vec::new();
    connection.pragma_query(None, "integrity_check", |row| {
        let line: String = row.get(0)?;
        if line != "ok" {
            faults.push(line);
        }
        Ok(())
    })?;
    connection.pragma_query(None, "foreign_key_check", |row| {
        let (table, row_id): (String, Option<i64>) = (row.get(0)?, row.get(1)?);
        faults
            .push(format!("{table} row {} refers to a row that is not there", row_id.unwrap_or(0)));
        Ok(())
    })?;
    Ok(faults)
}

/// Refuses a file that would do what nobody asked for.
pub(crate) fn refuse_by_shape(
    connection: &Connection,
    path: &Path,
    format: i32,
) -> Result<(), Error> {
    match Shape::read(connection, format)?.danger() {
        None => Ok(()),
        Some(what) => Err(Error::Altered { path: path.to_owned(), what }),
    }
}

/// Pages that a connection keeps, in KiB; they are taken as they are needed.
const CACHE_KIB: i32 = 16 * 1024;

pub(crate) fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, Error> {
    let connection = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    // A catalogue may come from anybody: no functions from its schema, no writes to the schema table, pages checked.
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.busy_timeout(Duration::from_secs(5))?;
    // The products of a band lie all over a large file, and each table of theirs is read in turn: by default half of the pages
    // were read twice.
    connection.pragma_update(None, "cache_size", -CACHE_KIB)?;
    Ok(connection)
}

/// WAL lets the window read while the command line writes; FULL keeps each acknowledged write through a power cut.
fn set_up_for_writing(connection: &Connection) -> Result<(), Error> {
    connection
        .pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get::<_, String>(0))?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    Ok(())
}

pub(crate) fn checked_format(connection: &Connection, path: &Path) -> Result<i32, Error> {
    let application_id: i32 = connection
        .pragma_query_value(None, "application_id", |row| row.get(0))
        .map_err(|why| match why.sqlite_error_code() {
            // The first page says so, whatever its header.
            Some(ErrorCode::NotADatabase) => Error::Foreign { path: path.to_owned() },
            _ => why.into(),
        })?;
    if application_id != APPLICATION_ID {
        return Err(Error::Foreign { path: path.to_owned() });
    }
    let found: i32 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
    if found > migrate::FORMAT {
        return Err(Error::Newer { path: path.to_owned(), found, known: migrate::FORMAT });
    }
    Ok(found)
}

/// Decides by the file's first 100 bytes (SQLite file format, section 1.3), before SQLite makes files beside it.
pub(crate) fn refuse_by_header(path: &Path) -> Result<(), Error> {
    let mut header = [0_u8; 100];
    File::open(path).and_then(|mut it| it.read_exact(&mut header)).map_err(|source| {
        if source.kind() == std::io::ErrorKind::UnexpectedEof {
            Error::Foreign { path: path.to_owned() }
        } else {
            Error::io(path, source)
        }
    })?;
    let number = |at: usize| {
        i32::from_be_bytes([header[at], header[at + 1], header[at + 2], header[at + 3]])
    };
    if &header[..16] != b"SQLite format 3\0" || number(68) != APPLICATION_ID {
        return Err(Error::Foreign { path: path.to_owned() });
    }
    let found = number(60);
    if found > migrate::FORMAT {
        return Err(Error::Newer { path: path.to_owned(), found, known: migrate::FORMAT });
    }
    Ok(())
}

#[cfg(test)]
mod tests;
