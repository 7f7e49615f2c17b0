//! The whole history as lines of JSON, and an empty catalogue made the same from them.
//!
//! The first line says what the text is, the last one how many there are; between them each line is a row with its table.
//! Rows come in the order in which things happened: products and days of work, facts from before there was a journal, then
//! action by action what it wrote, then what has a log of its own (rubric, plugins, claims, editions). Photos are files
//! beside the catalogue and are not in it.
//!
//! Going through it again is more than copying rows: what an undo or redo wrote is not believed but done anew and compared,
//! and each change must fit what held before it. So a history that was cut, reordered or edited is refused with its line.

use std::{
    collections::BTreeMap,
    fs::{self, File, OpenOptions},
    io::{BufRead, BufReader, BufWriter, Read, Write},
    path::Path,
};

use rusqlite::{
    Connection, Transaction, TransactionBehavior, params_from_iter,
    types::{Value, ValueRef},
};
use serde::{Deserialize, Serialize};
use serde_json::Value as Json;

use crate::{Catalog, Error, Reader, journal::Facts, migrate, open::integrity_faults, undo};

/// The version of the text.
const VERSION: u32 = 1;

/// The longest line that is read, in bytes: editions hold whole documents.
const LONGEST: u64 = 1 << 28;

/// What facts hang on, in the order in which it can be put in.
const GROUND: [(&str, &str); 4] =
    [("info", "key"), ("product", "id"), ("specimen", "id"), ("teardown", "id")];

/// Tables of facts.
const FACTS: [&str; 5] = ["finding", "price", "network", "sweep", "photo"];

/// What an action writes besides facts.
const JOURNAL: [&str; 4] = ["change_set", "change", "withdrawn", "element"];

/// What has a log of its own, with the order of its rows.
const LOGS: [(&str, &str); 10] = [
    ("rubric_change", "id"),
    ("plugin_manifest", "sha256"),
    ("plugin_trust", "sha256"),
    ("plugin_fault", "id"),
    ("plugin_release", "id"),
    ("claim", "id"),
    ("claim_verdict", "id"),
    ("claim_withdrawn", "claim_id"),
    ("edition", "number"),
    ("edition_file", "edition, position"),
];

/// What a history holds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Chronicle {
    /// Actions of the journal.
    pub actions: usize,
    /// Rows in all.
    pub rows: usize,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct First {
    boxworth_history: u32,
    format: i32,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Last {
    rows: usize,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    table: String,
    row: BTreeMap<String, Json>,
}

impl Reader {
    /// Writes the whole history to a file that must not exist; no part of it stays when that fails.
    ///
    /// # Errors
    /// [`Error::Io`] when the file exists or cannot be written, [`Error::Damaged`], [`Error::Sql`].
    pub fn write_history(&self, to: &Path) -> Result<Chronicle, Error> {
        let failed = |source| Error::Io { path: to.to_owned(), source };
        let file = OpenOptions::new().write(true).create_new(true).open(to).map_err(failed)?;
        let mut telling = Telling { to, out: BufWriter::new(file), told: Chronicle::default() };
        let told = self.tell(&mut telling).and_then(|()| {
            telling.out.flush().and_then(|()| telling.out.get_ref().sync_all()).map_err(failed)
        });
        match told {
            Ok(()) => Ok(telling.told),
            Err(why) => {
                // What cannot be removed lacks its last line, and is refused.
                drop(fs::remove_file(to));
                Err(why)
            }
        }
    }

    fn tell(&self, telling: &mut Telling<'_>) -> Result<(), Error> {
        // One state of the file, whatever others write meanwhile.
        let sql = self.connection.unchecked_transaction()?;
        telling.line(&First { boxworth_history: VERSION, format: migrate::FORMAT })?;
        for (table, order) in GROUND {
            telling.rows(&sql, table, &format!("TRUE ORDER BY {order}"), &[])?;
        }
        for table in FACTS {
            let before = format!(
                "NOT EXISTS (SELECT 1 FROM change WHERE what = '{table}' AND after_row = {table}.id) ORDER BY id"
            );
            telling.rows(&sql, table, &before, &[])?;
            if table == "network" {
                let of = "network_id IN (SELECT id FROM network WHERE NOT EXISTS
                          (SELECT 1 FROM change WHERE what = 'network' AND after_row = network.id)) ORDER BY network_id, position";
                telling.rows(&sql, "element", of, &[])?;
            }
        }
        let sets: Vec<i64> = {
            let mut statement = sql.prepare("SELECT id FROM change_set ORDER BY id")?;
            statement.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?
        };
        for set in sets {
            telling.action(&sql, set)?;
        }
        for (table, order) in LOGS {
            telling.rows(&sql, table, &format!("TRUE ORDER BY {order}"), &[])?;
        }
        telling.line(&Last { rows: telling.told.rows })
    }
}

/// A history on its way out.
struct Telling<'a> {
    to: &'a Path,
    out: BufWriter<File>,
    told: Chronicle,
}

impl Telling<'_> {
    fn line(&mut self, it: &impl Serialize) -> Result<(), Error> {
        serde_json::to_writer(&mut self.out, it)
            .map_err(std::io::Error::from)
            .and_then(|()| self.out.write_all(b"\n"))
            .map_err(|source| Error::Io { path: self.to.to_owned(), source })
    }

    /// One action: the facts that it wrote, each before the change that names it.
    fn action(&mut self, sql: &Connection, set: i64) -> Result<(), Error> {
        self.told.actions += 1;
        self.rows(sql, "change_set", "id = ?1", &[set])?;
        let changes: Vec<(i64, String, Option<i64>)> = {
            let mut statement = sql.prepare_cached(
                "SELECT position, what, after_row FROM change WHERE set_id = ?1 ORDER BY position",
            )?;
            let rows =
                statement.query_map([set], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
            rows.collect::<Result<_, _>>()?
        };
        for (position, what, after) in changes {
            let of = Facts::parse(&what).ok_or_else(|| Error::Damaged {
                table: "change",
                row: set,
                why: format!("{what} is no kind of fact"),
            })?;
            if let Some(after) = after {
                self.rows(sql, of.table(), "id = ?1", &[after])?;
                if of == Facts::Network {
                    self.rows(sql, "element", "network_id = ?1 ORDER BY position", &[after])?;
                }
            }
            self.rows(sql, "change", "set_id = ?1 AND position = ?2", &[set, position])?;
        }
        self.rows(sql, "withdrawn", "set_id = ?1 ORDER BY what, row_id", &[set])
    }

    fn rows(
        &mut self,
        sql: &Connection,
        table: &'static str,
        which: &str,
        of: &[i64],
    ) -> Result<(), Error> {
        let mut statement = sql.prepare_cached(&format!("SELECT * FROM {table} WHERE {which}"))?;
        let names: Vec<String> = statement.column_names().into_iter().map(str::to_owned).collect();
        let mut rows = statement.query(params_from_iter(of))?;
        while let Some(row) = rows.next()? {
            let mut cells = BTreeMap::new();
            for (at, name) in names.iter().enumerate() {
                let cell = told(row.get_ref(at)?).ok_or_else(|| Error::Damaged {
                    table,
                    row: row.get("id").unwrap_or(0),
                    why: format!("{name} is no text and no number"),
                })?;
                cells.insert(name.clone(), cell);
            }
            self.told.rows += 1;
            self.line(&Row { table: table.to_owned(), row: cells })?;
        }
        Ok(())
    }
}

/// A cell as JSON; bytes as hexadecimal digits in an object of their own.
fn told(cell: ValueRef<'_>) -> Option<Json> {
    Some(match cell {
        ValueRef::Null => Json::Null,
        ValueRef::Integer(it) => it.into(),
        ValueRef::Real(it) => serde_json::Number::from_f64(it)?.into(),
        ValueRef::Text(it) => std::str::from_utf8(it).ok()?.into(),
        ValueRef::Blob(it) => {
            let digits: String = it.iter().map(|byte| format!("{byte:02x}")).collect();
            serde_json::json!({ "hex": digits })
        }
    })
}

/// The way back.
fn heard(cell: &Json) -> Option<Value> {
    Some(match cell {
        Json::Null => Value::Null,
        Json::Number(it) => match it.as_i64() {
            Some(whole) => Value::Integer(whole),
            None => Value::Real(it.as_f64()?),
        },
        Json::String(it) => Value::Text(it.clone()),
        Json::Object(it) if it.len() == 1 => Value::Blob(bytes(it.get("hex")?.as_str()?)?),
        _ => return None,
    })
}

fn bytes(digits: &str) -> Option<Vec<u8>> {
    let digit = |it: u8| char::from(it).to_digit(16).and_then(|it| u8::try_from(it).ok());
    if digits.len() % 2 != 0 {
        return None;
    }
    digits
        .as_bytes()
        .chunks_exact(2)
        .map(|two| Some(digit(two[0])? << 4 | digit(two[1])?))
        .collect()
}

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
        if it.table == "change_set" || !belongs {
            if let Some(it) = reverted.take() {
                it.finish(sql).map_err(|why| lines.bad(why))?;
            }
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
fn cells(sql: &Transaction<'_>, it: &Row) -> Result<(&'static str, Vec<(String, Value)>), String> {
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

#[cfg(test)]
mod tests;
