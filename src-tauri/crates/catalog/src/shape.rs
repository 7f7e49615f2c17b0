//! How a file is built, against what the migrations of its format make.
//!
//! Anybody can put a trigger or a view into an SQLite file, and it would run with each write of ours. Such a file is refused.
//! What is missing or was added without being able to act (an index, a table of somebody's own) is told by the doctor, and
//! indices and triggers that are gone can be made again, since the migrations say what they are.

use std::sync::OnceLock;

use rusqlite::Connection;

use crate::{Error, migrate};

/// An entry of a schema.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Entry {
    /// `table`, `index`, `trigger` or `view`.
    pub(crate) kind: String,
    /// Its name.
    pub(crate) name: String,
    /// What made it, with single blanks.
    pub(crate) sql: String,
}

/// What was found beside what should be there.
#[derive(Debug, Default)]
pub(crate) struct Shape {
    /// What acts by itself and is none of ours, or was changed.
    pub(crate) foreign: Vec<Entry>,
    /// What is not there; tables first, in the order of the migrations.
    pub(crate) missing: Vec<Entry>,
}

impl Shape {
    /// Reads the shape of a file of a format.
    ///
    /// # Errors
    /// [`Error::Sql`], also where the schema itself cannot be read.
    pub(crate) fn read(sql: &Connection, format: i32) -> Result<Self, Error> {
        let found = entries(sql)?;
        let wanted = wanted(format)?;
        let missing = wanted
            .iter()
            .filter(|it| !found.iter().any(|of| of.kind == it.kind && of.name == it.name))
            .cloned()
            .collect();
        let foreign = found.into_iter().filter(|it| acts(it) && !wanted.contains(it)).collect();
        Ok(Shape { foreign, missing })
    }

    /// In words, what makes the file one that is better not opened: something that would act, or a table that is gone.
    pub(crate) fn danger(&self) -> Option<String> {
        let foreign = self.foreign.iter().map(|it| format!("{} {}", it.kind, it.name)).next();
        foreign.map(|it| format!("the {it}, which Boxworth did not make")).or_else(|| {
            let gone = self.missing.iter().find(|it| it.kind == "table")?;
            Some(format!("no table {}", gone.name))
        })
    }
}

/// Whether an entry does something that nobody asked for by its name.
fn acts(it: &Entry) -> bool {
    let is_virtual = it.sql.get(..14).is_some_and(|it| it.eq_ignore_ascii_case("CREATE VIRTUAL"));
    matches!(it.kind.as_str(), "trigger" | "view") || is_virtual
}

/// What a file of a format consists of; computed once for each format.
fn wanted(format: i32) -> Result<&'static [Entry], Error> {
    static FORMATS: [OnceLock<Vec<Entry>>; migrate::FORMATS] =
        [const { OnceLock::new() }; migrate::FORMATS];
    let at = usize::try_from(format).unwrap_or(0).min(migrate::FORMATS - 1);
    if let Some(it) = FORMATS[at].get() {
        return Ok(it);
    }
    let mut empty = Connection::open_in_memory()?;
    migrate::build(&mut empty, at)?;
    let made = entries(&empty)?;
    Ok(FORMATS[at].get_or_init(|| made))
}

/// The entries of a schema, without what SQLite keeps for itself.
fn entries(sql: &Connection) -> Result<Vec<Entry>, Error> {
    let mut statement = sql.prepare(
        "SELECT type, name, coalesce(sql, '') FROM sqlite_schema WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'
         ORDER BY type = 'table' DESC, rowid",
    )?;
    let rows = statement.query_map([], |row| {
        let sql: String = row.get(2)?;
        let sql = sql.split_whitespace().collect::<Vec<_>>().join(" ");
        Ok(Entry { kind: row.get(0)?, name: row.get(1)?, sql })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}
