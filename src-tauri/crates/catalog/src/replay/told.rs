//! The history on its way out.

use std::{
    collections::BTreeMap,
    fs::{File, OpenOptions},
    io::{BufWriter, Write},
    path::Path,
};

use rusqlite::{Connection, params_from_iter};
use serde::Serialize;

use super::{Chronicle, FACTS, First, GROUND, LOGS, Last, Row, VERSION, told};
use crate::{Error, Reader, durable, journal::Facts, migrate};

impl Reader {
    /// Writes the whole history to a file that must not exist; no part of it stays when that fails.
    ///
    /// # Errors
    /// [`Error::Exists`], [`Error::Io`] when the file cannot be written, [`Error::Damaged`], [`Error::Sql`].
    pub fn write_history(&self, to: &Path) -> Result<Chronicle, Error> {
        let failed = |source| Error::Io { path: to.to_owned(), source };
        let mut told = Chronicle::default();
        durable::appear(to, |part| {
            let file = OpenOptions::new().write(true).open(part).map_err(failed)?;
            let mut telling = Telling { to, out: BufWriter::new(file), told: Chronicle::default() };
            self.tell(&mut telling)?;
            told = telling.told;
            telling.out.flush().map_err(failed)
        })?;
        Ok(told)
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
        let names: Vec<String> = statement.column_names().map(str::to_owned).collect();
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
