//! The journal: each change of a fact with what held before and what holds since, written in the transaction that makes it.

use rusqlite::{Transaction, params};

use crate::Error;

/// A table of facts, each row of which may be superseded or withdrawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Facts {
    Finding,
    Price,
    Network,
    Sweep,
    Photo,
}

impl Facts {
    /// The name of the table.
    pub(crate) fn table(self) -> &'static str {
        match self {
            Facts::Finding => "finding",
            Facts::Price => "price",
            Facts::Network => "network",
            Facts::Sweep => "sweep",
            Facts::Photo => "photo",
        }
    }

    pub(crate) fn parse(table: &str) -> Option<Self> {
        [Facts::Finding, Facts::Price, Facts::Network, Facts::Sweep, Facts::Photo]
            .into_iter()
            .find(|it| it.table() == table)
    }

    /// What a copy of a row takes over; the rest is its own: `id`, `recorded_at`, `supersedes`.
    pub(crate) fn columns(self) -> &'static str {
        match self {
            Facts::Finding => {
                "product_id, teardown_id, part, key, typed, unit, kind, si, std_uncertainty, word, evidence, note, day"
            }
            Facts::Price => {
                "product_id, amount_minor, currency, basis, count, day, kind, seller, shop, note"
            }
            Facts::Network => "teardown_id",
            Facts::Sweep => "teardown_id, part, points, note",
            Facts::Photo => {
                "product_id, teardown_id, part, key, sha256, format, width, height, bytes, caption, removed"
            }
        }
    }
}

/// What an action was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Files were taken in.
    Import,
    /// Something was entered.
    Record,
    /// An action was taken back.
    Undo,
    /// What was taken back was done again.
    Redo,
}

impl Action {
    /// The word in the file.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Action::Import => "import",
            Action::Record => "record",
            Action::Undo => "undo",
            Action::Redo => "redo",
        }
    }

    pub(crate) fn parse(word: &str) -> Option<Self> {
        [Action::Import, Action::Record, Action::Undo, Action::Redo]
            .into_iter()
            .find(|it| it.word() == word)
    }
}

/// One action while it is being done. It gets its entry with its first change: an action without changes leaves no trace.
#[derive(Debug)]
pub(crate) struct Entry<'t> {
    sql: &'t Transaction<'t>,
    at: &'t str,
    action: Action,
    reason: &'t str,
    reverts: Option<i64>,
    set_id: Option<i64>,
    position: i64,
}

impl<'t> Entry<'t> {
    pub(crate) fn new(
        sql: &'t Transaction<'t>,
        at: &'t str,
        action: Action,
        reason: &'t str,
        reverts: Option<i64>,
    ) -> Self {
        Entry { sql, at, action, reason, reverts, set_id: None, position: 0 }
    }

    /// Notes that one row took the place of another.
    pub(crate) fn note(
        &mut self,
        product_id: i64,
        of: Facts,
        before: Option<i64>,
        after: Option<i64>,
    ) -> Result<(), Error> {
        let set_id = self.set_id()?;
        self.sql
            .prepare_cached(
                "INSERT INTO change (set_id, position, product_id, what, before_row, after_row)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            )?
            .execute(params![set_id, self.position, product_id, of.table(), before, after])?;
        self.position += 1;
        Ok(())
    }

    /// Empties the place of a row, and notes it.
    pub(crate) fn withdraw(&mut self, product_id: i64, of: Facts, row: i64) -> Result<(), Error> {
        let set_id = self.set_id()?;
        self.sql.execute(
            "INSERT INTO withdrawn (what, row_id, set_id) VALUES (?1, ?2, ?3)",
            params![of.table(), row, set_id],
        )?;
        self.note(product_id, of, Some(row), None)
    }

    /// When it is done.
    pub(crate) fn at(&self) -> &'t str {
        self.at
    }

    /// Its number, once anything was changed.
    pub(crate) fn number(&self) -> Option<i64> {
        self.set_id
    }

    fn set_id(&mut self) -> Result<i64, Error> {
        if let Some(it) = self.set_id {
            return Ok(it);
        }
        self.sql.execute(
            "INSERT INTO change_set (at, action, reason, reverts) VALUES (?1, ?2, ?3, ?4)",
            params![self.at, self.action.word(), self.reason, self.reverts],
        )?;
        let id = self.sql.last_insert_rowid();
        self.set_id = Some(id);
        Ok(id)
    }
}
