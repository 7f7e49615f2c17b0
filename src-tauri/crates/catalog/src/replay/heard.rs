//! The history on its way into an empty catalogue.

use std::{
    fs::File,
    io::{BufRead, BufReader, Read},
    path::Path,
};

use rusqlite::{Transaction, TransactionBehavior, params_from_iter, types::Value};
use serde_json::Value as Json;

use super::{Chronicle, FACTS, First, GROUND, LOGS, Last, Row, VERSION, heard};
use crate::{Catalog, Error, migrate, open::integrity_faults, undo};

/// The longest line that is read, in bytes: editions hold whole documents.
const LONGEST: u64 = 1 << 28;

/// What an action writes besides facts.
const JOURNAL: [&str; 4] = ["change_set", "change", "withdrawn", "element"];

/// The cells of a row by the names of their columns.
type Cells = Vec<(String, Value)>;

impl Catalog {
    /// Goes through a history in a catalogue that is empty, all of it or nothing. The rows are then those of the catalogue
    /// that the history was written from, with their numbers and times.
    ///
    /// # Errors
    /// [`Error::History`] with the line that is not understood or does not follow from those before it; [`Error::Io`],
    /// [`Error::Sql`].
    pub fn replay(&mut self, from: &Path) -> Result<Chronicle, Error> {
        let file =
            File::open(from).map_err(|source| Error::Io { path: from.to_owned(), source })?;
        let mut lines = Lines { of: BufReader::new(file), number: 0 };
        let sql =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        refuse_filled(&sql)?;
        sql.execute("DELETE FROM info", [])?;
        let done = heard_all(&sql, &mut lines)?;
        fits(&sql).map_err(|why| lines.bad(why))?;
        if let Some(why) = integrity_faults(&sql)?.into_iter().next() {
            return Err(lines.bad(why));
        }
        sql.commit()?;
        self.settle_log();
        Ok(done)
    }
}

/// Refuses a catalogue in which anything was ever entered.
fn refuse_filled(sql: &Transaction<'_>) -> Result<(), Error> {
    let logs = LOGS.iter().map(|(table, _)| *table).filter(|it| *it != "edition_file");
    for table in ["product", "change_set"].into_iter().chain(logs) {
        let filled: bool =
            sql.query_row(&format!("SELECT EXISTS (SELECT 1 FROM {table})"), [], |row| row.get(0))?;
        if filled {
            let why =
                format!("this catalogue is not empty ({table}); a history goes into a new one");
            return Err(Error::History { line: 1, why });
        }
    }
    Ok(())
}

fn heard_all(sql: &Transaction<'_>, lines: &mut Lines) -> Result<Chronicle, Error> {
    let first: First = match lines.next()? {
        Some(text) => serde_json::from_str(&text).map_err(|why| lines.bad(why))?,
        None => return Err(lines.bad("there is nothing in it")),
    };
    if first.boxworth_history != VERSION || first.format > migrate::FORMAT {
        return Err(lines.bad(format!(
            "version {} of format {} is newer than this program, which reads version {VERSION} up to format {}",
            first.boxworth_history,
            first.format,
            migrate::FORMAT
        )));
    }
    let mut done = Chronicle::default();
    let mut reverted: Option<Reverted> = None;
    while let Some(text) = lines.next()? {
        if let Ok(last) = serde_json::from_str::<Last>(&text) {
            if last.rows != done.rows {
                return Err(
                    lines.bad(format!("{} rows were written, {} are here", last.rows, done.rows))
                );
            }
            if let Some(it) = reverted {
                it.finish(sql).map_err(|why| lines.bad(why))?;
            }
            return match lines.next()? {
                None => Ok(done),
                Some(_) => Err(lines.bad("there is more after the last line")),
            };
        }
        let it: Row = serde_json::from_str(&text).map_err(|why| lines.bad(why))?;
        done.rows += 1;
        let belongs = FACTS.contains(&it.table.as_str()) || JOURNAL.contains(&it.table.as_str());
        if (it.table == "change_set" || !belongs)
            && let Some(it) = reverted.take()
        {
            it.finish(sql).map_err(|why| lines.bad(why))?;
        }
        if it.table == "change_set" {
            done.actions += 1;
            reverted = Reverted::done_anew(sql, &it).map_err(|why| lines.bad(why))?;
        }
        match &mut reverted {
            Some(of) => of.compare(sql, &it),
            None => insert(sql, &it),
        }
        .map_err(|why| lines.bad(why))?;
    }
    Err(lines.bad("the last line is missing; the history was cut"))
}

/// An undo or a redo that was done anew: each row of the history must be one that this wrote.
struct Reverted {
    set: i64,
    changes: i64,
}

impl Reverted {
    /// Does the action anew, if it is an undo or a redo.
    fn done_anew(sql: &Transaction<'_>, it: &Row) -> Result<Option<Self>, String> {
        let text = |name: &str| it.row.get(name).and_then(Json::as_str).unwrap_or_default();
        let whole = |name: &str| it.row.get(name).and_then(Json::as_i64);
        let Some(of) = whole("reverts") else { return Ok(None) };
        let set = undo::again(sql, text("action"), text("at"), text("reason"), of)
            .map_err(|why| why.to_string())?
            .ok_or_else(|| {
                format!("action {of} was not the next to be taken back or done again")
            })?;
        Ok(Some(Reverted { set, changes: 0 }))
    }

    fn compare(&mut self, sql: &Transaction<'_>, it: &Row) -> Result<(), String> {
        if it.table == "change" {
            self.changes += 1;
        }
        let (table, cells) = cells(sql, it)?;
        let same =
            cells.iter().enumerate().map(|(at, (name, _))| format!("\"{name}\" IS ?{}", at + 1));
        let same = same.collect::<Vec<_>>().join(" AND ");
        let is_there: bool = sql
            .prepare_cached(&format!("SELECT EXISTS (SELECT 1 FROM {table} WHERE {same})"))
            .and_then(|mut it| {
                it.query_row(params_from_iter(cells.iter().map(|it| &it.1)), |row| row.get(0))
            })
            .map_err(|why| why.to_string())?;
        if is_there {
            Ok(())
        } else {
            Err(format!("this row of {table} does not follow from what came before"))
        }
    }

    /// Whether all that it wrote was told.
    fn finish(self, sql: &Transaction<'_>) -> Result<(), String> {
        let wrote: i64 = sql
            .query_row("SELECT count(*) FROM change WHERE set_id = ?1", [self.set], |row| {
                row.get(0)
            })
            .map_err(|why| why.to_string())?;
        if wrote == self.changes {
            return Ok(());
        }
        Err(format!("action {} changed {wrote} facts, and {} are told", self.set, self.changes))
    }
}

fn insert(sql: &Transaction<'_>, it: &Row) -> Result<(), String> {
    let (table, cells) = cells(sql, it)?;
    let names: Vec<String> = cells.iter().map(|(name, _)| format!("\"{name}\"")).collect();
    let places: Vec<String> = (1..=cells.len()).map(|at| format!("?{at}")).collect();
    let text = format!("INSERT INTO {table} ({}) VALUES ({})", names.join(", "), places.join(", "));
    sql.prepare_cached(&text)
        .and_then(|mut of| of.execute(params_from_iter(cells.iter().map(|it| &it.1))))
        .map_err(|why| why.to_string())?;
    Ok(())
}

/// The table and the cells of a row, each by a name that this program knows.
fn cells(sql: &Transaction<'_>, it: &Row) -> Result<(&'static str, Cells), String> {
    let named = GROUND.iter().chain(&LOGS).map(|(table, _)| *table);
    let table = named
        .chain(FACTS)
        .chain(JOURNAL)
        .find(|known| *known == it.table)
        .ok_or_else(|| format!("there is no table {:?}", it.table))?;
    let known: Vec<String> = sql
        .prepare_cached("SELECT name FROM pragma_table_info(?1)")
        .and_then(|mut of| of.query_map([table], |row| row.get(0))?.collect())
        .map_err(|why| why.to_string())?;
    let cell = |(name, value): (&String, &Json)| {
        if !known.contains(name) {
            return Err(format!("{table} has no column {name:?}"));
        }
        let value = heard(value).ok_or_else(|| format!("{name} is no text, number or bytes"))?;
        Ok((name.clone(), value))
    };
    Ok((table, it.row.iter().map(cell).collect::<Result<_, _>>()?))
}

/// Whether each change took the place of what held, and each place that was emptied says by what.
fn fits(sql: &Transaction<'_>) -> Result<(), String> {
    let odd = |text: &str| -> Result<Option<i64>, String> {
        let mut statement = sql.prepare(text).map_err(|why| why.to_string())?;
        let mut rows = statement.query([]).map_err(|why| why.to_string())?;
        let row = rows.next().map_err(|why| why.to_string())?;
        row.map(|row| row.get(0)).transpose().map_err(|why| why.to_string())
    };
    for table in FACTS {
        let other = odd(&format!(
            "SELECT set_id FROM change JOIN {table} ON {table}.id = after_row
             WHERE what = '{table}' AND before_row IS NOT NULL AND {table}.supersedes IS NOT before_row LIMIT 1"
        ))?;
        let not_there = odd(&format!(
            "SELECT set_id FROM change WHERE what = '{table}' AND after_row IS NOT NULL
             AND NOT EXISTS (SELECT 1 FROM {table} WHERE id = after_row) LIMIT 1"
        ))?;
        if let Some(set) = other.or(not_there) {
            return Err(format!("action {set} changed a {table} that did not hold"));
        }
    }
    let kept = odd(
        "SELECT set_id FROM change WHERE after_row IS NULL AND NOT EXISTS (SELECT 1 FROM withdrawn
         WHERE withdrawn.what = change.what AND row_id = before_row AND withdrawn.set_id = change.set_id) LIMIT 1",
    )?;
    match kept {
        Some(set) => Err(format!("action {set} emptied a place, and its fact holds still")),
        None => Ok(()),
    }
}

/// Lines of a history, counted.
struct Lines {
    of: BufReader<File>,
    number: usize,
}

impl Lines {
    fn next(&mut self) -> Result<Option<String>, Error> {
        let mut line = Vec::new();
        let read = self.of.by_ref().take(LONGEST).read_until(b'\n', &mut line);
        let read = read.map_err(|why| self.bad(why))?;
        if read == 0 {
            return Ok(None);
        }
        self.number += 1;
        if line.pop() != Some(b'\n') {
            return Err(self.bad("the line has no end; the history was cut, or is none"));
        }
        String::from_utf8(line).map(Some).map_err(|_| self.bad("the text is not UTF-8"))
    }

    fn bad(&self, why: impl ToString) -> Error {
        Error::History { line: self.number.max(1), why: why.to_string() }
    }
}
