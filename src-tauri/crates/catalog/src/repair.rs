//! Putting right what can be shown to be wrong without a guess, and nothing else.
//!
//! An index holds nothing that its table does not: it may be made anew when the table has every row that the index names.
//! An index that names rows which the table lacks is the trace of lost facts; it is left alone, since without it nobody
//! would know. What a repair did is kept only if the whole file is sound after it.

use std::{
    collections::BTreeSet,
    fs::{self, File},
    path::{Path, PathBuf},
};

use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use crate::{
    Error, Reader, backup, durable, migrate,
    open::{self, integrity_faults},
    shape::Shape,
};

/// Tables whose rows are numbered from 1 and never deleted, so that a number that is not there is a row that was lost.
const NUMBERED: [&str; 12] = [
    "product",
    "specimen",
    "teardown",
    "finding",
    "price",
    "network",
    "sweep",
    "photo",
    "change_set",
    "rubric_change",
    "claim",
    "claim_verdict",
];

/// What came of a repair of the file itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repaired {
    /// What was made anew; empty when nothing could be done.
    pub made: Vec<String>,
    /// The file as it was, byte for byte; absent when nothing was tried.
    pub kept: Option<PathBuf>,
}

impl Reader {
    /// Indices and triggers of the format that are not there; they can be made again.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn missing_parts(&self) -> Result<Vec<String>, Error> {
        let missing = Shape::read(&self.connection, migrate::FORMAT)?.missing;
        Ok(missing.into_iter().map(|it| format!("{} {}", it.kind, it.name)).collect())
    }

    /// Rows that are not there although others name them, or although numbers before and after them are.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn lost_rows(&self) -> Result<Vec<String>, Error> {
        let mut lost = Vec::new();
        for table in NUMBERED {
            let gaps: i64 = self.connection.query_row(
                &format!("SELECT coalesce(max(id), 0) - count(*) FROM {table} NOT INDEXED"),
                [],
                |row| row.get(0),
            )?;
            if gaps != 0 {
                lost.push(format!("{table}: {gaps} of its rows gone"));
            }
        }
        for table in ["finding", "price", "network", "sweep", "photo"] {
            for (of, column) in
                [("change", "before_row"), ("change", "after_row"), ("withdrawn", "row_id")]
            {
                let sql = format!(
                    "SELECT count(*) FROM {of} WHERE what = '{table}' AND {column} IS NOT NULL
                     AND NOT EXISTS (SELECT 1 FROM {table} WHERE id = {column})"
                );
                let missing: i64 = self.connection.query_row(&sql, [], |row| row.get(0))?;
                if missing != 0 {
                    lost.push(format!("{table}: {missing} that the history names gone"));
                }
            }
        }
        Ok(lost)
    }
}

/// Makes indices and triggers anew that are faulty or gone, if that makes the whole file sound. Before anything is tried,
/// the file is copied byte for byte to `aside`.
///
/// # Errors
/// As for opening; [`Error::Io`] when the file cannot be copied. The catalogue is then as before.
pub fn repair(catalogue: &Path, aside: &Path) -> Result<Repaired, Error> {
    let nothing = Repaired { made: Vec::new(), kept: None };
    open::refuse_by_header(catalogue)?;
    let mut connection = open::connect(catalogue, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    let format = open::checked_format(&connection, catalogue)?;
    open::refuse_by_shape(&connection, catalogue, format)?;
    let missing = Shape::read(&connection, format)?.missing;
    let is_faulty = !integrity_faults(&connection)?.is_empty();
    if missing.is_empty() && !is_faulty || names_lost_rows(&connection)? {
        return Ok(nothing);
    }
    kept(catalogue, aside)?;
    let mut made = Vec::new();
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    for it in &missing {
        transaction.execute_batch(&it.sql)?;
        made.push(format!("{} {}", it.kind, it.name));
    }
    // A page that cannot be read ends this too, and the transaction takes all back.
    let is_sound = transaction.execute_batch("REINDEX").is_ok()
        && integrity_faults(&transaction).is_ok_and(|it| it.is_empty());
    if !is_sound {
        transaction.rollback()?;
        return Ok(Repaired { kept: Some(aside.to_owned()), ..nothing });
    }
    transaction.commit()?;
    if is_faulty {
        made.push("all indices".to_owned());
    }
    Ok(Repaired { made, kept: Some(aside.to_owned()) })
}

/// Removes what crashes left of copies, and gives what is gone.
///
/// # Errors
/// As for making a copy.
pub fn clear_unfinished(catalogue: &Path) -> Result<Vec<PathBuf>, Error> {
    backup::clear(catalogue)
}

/// Whether an index names a row that its table has not, or cannot even be asked.
fn names_lost_rows(sql: &Connection) -> Result<bool, Error> {
    let indices: Vec<(String, String)> = {
        let mut statement = sql.prepare(
            "SELECT name, tbl_name FROM sqlite_schema WHERE type = 'index' ORDER BY rowid",
        )?;
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        rows.collect::<Result<_, _>>()?
    };
    for (index, table) in indices {
        let Ok(named) = keys(sql, &table, &format!("INDEXED BY \"{index}\"")) else {
            return Ok(true);
        };
        let Ok(there) = keys(sql, &table, "NOT INDEXED") else { return Ok(true) };
        if !named.is_subset(&there) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The primary keys of a table, as an index or as the table itself names them.
fn keys(sql: &Connection, table: &str, how: &str) -> Result<BTreeSet<String>, Error> {
    let columns: Vec<String> = {
        let mut statement =
            sql.prepare("SELECT name FROM pragma_table_info(?1) WHERE pk > 0 ORDER BY pk")?;
        let rows = statement.query_map([table], |row| row.get(0))?;
        rows.collect::<Result<_, _>>()?
    };
    let key = columns.iter().map(|it| format!("quote({it})")).collect::<Vec<_>>().join("||','||");
    let mut statement = sql.prepare(&format!("SELECT {key} FROM {table} {how}"))?;
    let rows = statement.query_map([], |row| row.get(0))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Copies a file that may be damaged, with the log beside it, as it is.
fn kept(catalogue: &Path, aside: &Path) -> Result<(), Error> {
    let with = |path: &Path, suffix: &str| {
        let mut name = path.as_os_str().to_owned();
        name.push(suffix);
        PathBuf::from(name)
    };
    let folder = durable::around(aside);
    durable::make_folder(folder)?;
    for suffix in ["", "-wal"] {
        let (from, to) = (with(catalogue, suffix), with(aside, suffix));
        if from.exists() {
            let copied = fs::copy(&from, &to).and_then(|_| File::open(&to)?.sync_all());
            copied.map_err(|source| Error::Io { path: to, source })?;
        }
    }
    durable::settle(folder)
}

#[cfg(test)]
mod tests;
