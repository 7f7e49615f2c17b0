//! Taking actions back, and doing them again. Nothing is deleted: what held before is written once more.

use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};

use domain::dictionary::Dictionary;

use crate::{
    Action, Catalog, ChangeRow, Error, Reader,
    journal::{Entry, Facts},
};

/// An action that was taken back or done again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reverted {
    /// What it was.
    pub action: Action,
    /// Why it was done.
    pub reason: String,
    /// When it was done.
    pub at: String,
    /// How many facts hold otherwise now.
    pub changes: u32,
}

/// The actions that can be taken back, and those that can be done again, the next one last.
#[derive(Debug, Default)]
struct Stack {
    done: Vec<i64>,
    undone: Vec<i64>,
}

/// One change of a set.
struct Change {
    product_id: i64,
    of: Facts,
    before: Option<i64>,
    after: Option<i64>,
}

impl Catalog {
    /// Takes the last action back that was not taken back yet; `None` when there is none.
    ///
    /// # Errors
    /// [`Error::Sql`], [`Error::Damaged`]; the catalogue is then as before.
    pub fn undo(&mut self, at: &str) -> Result<Option<Reverted>, Error> {
        self.revert(at, Action::Undo)
    }

    /// Does the action again that was taken back last; `None` when none was since the last new one.
    ///
    /// # Errors
    /// As [`Catalog::undo`].
    pub fn redo(&mut self, at: &str) -> Result<Option<Reverted>, Error> {
        self.revert(at, Action::Redo)
    }

    fn revert(&mut self, at: &str, action: Action) -> Result<Option<Reverted>, Error> {
        let transaction =
            self.reader.connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let stack = Stack::read(&transaction)?;
        let next = if action == Action::Undo { stack.done.last() } else { stack.undone.last() };
        let Some(&set_id) = next else { return Ok(None) };
        let changes = changes_of(&transaction, set_id)?;
        reverse(&transaction, &changes, Entry::new(&transaction, at, action, "", Some(set_id)))?;
        let reverted = described(&transaction, set_id, changes.len())?;
        transaction.commit()?;
        self.settle_log();
        Ok(Some(reverted))
    }
}

/// Does an undo or a redo of a history anew, in its transaction; gives its number, or `None` where `of` was not its turn.
pub(crate) fn again(
    sql: &Transaction<'_>,
    word: &str,
    at: &str,
    reason: &str,
    of: i64,
) -> Result<Option<i64>, Error> {
    let action = action(of, word)?;
    let stack = Stack::read(sql)?;
    let next = match action {
        Action::Undo => stack.done.last(),
        Action::Redo => stack.undone.last(),
        Action::Import | Action::Record => None,
    };
    if next != Some(&of) {
        return Ok(None);
    }
    reverse(sql, &changes_of(sql, of)?, Entry::new(sql, at, action, reason, Some(of)))
}

/// Takes changes back, the last one first; gives the number of the entry.
fn reverse(
    sql: &Transaction<'_>,
    changes: &[Change],
    mut entry: Entry<'_>,
) -> Result<Option<i64>, Error> {
    for it in changes.iter().rev() {
        take_back(sql, &mut entry, it)?;
    }
    Ok(entry.number())
}

/// An action that can be taken back or done again, before it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What it was at first.
    pub action: Action,
    /// Why it was done.
    pub reason: String,
    /// When it was done.
    pub at: String,
    /// How many facts would hold otherwise.
    pub facts: u32,
    /// What would change, as it holds now and as it would hold then; the first few of many.
    pub changes: Vec<ChangeRow>,
}

impl Reader {
    /// What [`Catalog::undo`] would take back and what [`Catalog::redo`] would do again.
    ///
    /// # Errors
    /// [`Error::Sql`], [`Error::Damaged`].
    pub fn steps(&self, dictionary: &Dictionary) -> Result<(Option<Step>, Option<Step>), Error> {
        let stack = Stack::read(&self.connection)?;
        let step = |of: Option<&i64>| of.map(|id| self.step(*id, dictionary)).transpose();
        Ok((step(stack.done.last())?, step(stack.undone.last())?))
    }

    fn step(&self, set_id: i64, dictionary: &Dictionary) -> Result<Step, Error> {
        const FEW: usize = 5;
        let count: i64 = self.connection.query_row(
            "SELECT count(*) FROM change WHERE set_id = ?1",
            [set_id],
            |row| row.get(0),
        )?;
        let mut changes = self.changes_of(set_id, FEW, dictionary)?;
        for it in &mut changes {
            std::mem::swap(&mut it.before, &mut it.after);
        }
        let facts = usize::try_from(count).unwrap_or(usize::MAX);
        let Reverted { action, reason, at, changes: facts } =
            described(&self.connection, set_id, facts)?;
        Ok(Step { action, reason, at, facts, changes })
    }
}

impl Stack {
    fn read(sql: &Connection) -> Result<Self, Error> {
        let mut stack = Stack::default();
        let mut statement = sql.prepare_cached("SELECT id, action FROM change_set ORDER BY id")?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let (id, word): (i64, String) = (row.get(0)?, row.get(1)?);
            match action(id, &word)? {
                // A new action is the end of what was taken back before it.
                Action::Import | Action::Record => {
                    stack.done.push(id);
                    stack.undone.clear();
                }
                Action::Undo => {
                    stack.done.pop();
                    stack.undone.push(id);
                }
                Action::Redo => {
                    stack.undone.pop();
                    stack.done.push(id);
                }
            }
        }
        Ok(stack)
    }
}

fn action(id: i64, word: &str) -> Result<Action, Error> {
    Action::parse(word).ok_or_else(|| Error::Damaged {
        table: "change_set",
        row: id,
        why: format!("{word} is no action"),
    })
}

fn changes_of(sql: &Transaction<'_>, set_id: i64) -> Result<Vec<Change>, Error> {
    let mut statement = sql.prepare_cached(
        "SELECT product_id, what, before_row, after_row FROM change WHERE set_id = ?1 ORDER BY position",
    )?;
    let mut rows = statement.query([set_id])?;
    let mut changes = Vec::new();
    while let Some(row) = rows.next()? {
        let what: String = row.get(1)?;
        let of = Facts::parse(&what).ok_or_else(|| Error::Damaged {
            table: "change",
            row: set_id,
            why: format!("{what} is no kind of fact"),
        })?;
        changes.push(Change {
            product_id: row.get(0)?,
            of,
            before: row.get(2)?,
            after: row.get(3)?,
        });
    }
    Ok(changes)
}

fn described(sql: &Connection, set_id: i64, changes: usize) -> Result<Reverted, Error> {
    // What a redo does again has its reason in the action that was taken back first.
    let first = sql
        .query_row(
            "WITH RECURSIVE chain (id, reverts) AS (
                 SELECT id, reverts FROM change_set WHERE id = ?1
                 UNION ALL SELECT change_set.id, change_set.reverts FROM change_set JOIN chain ON change_set.id = chain.reverts
             )
             SELECT action, reason, at FROM change_set JOIN chain USING (id) WHERE chain.reverts IS NULL",
            [set_id],
            |row| Ok((row.get::<_, String>(0)?, row.get(1)?, row.get(2)?)),
        )
        .optional()?;
    let (word, reason, at) = first.ok_or_else(|| Error::Damaged {
        table: "change_set",
        row: set_id,
        why: "it reverts nothing".into(),
    })?;
    Ok(Reverted {
        action: action(set_id, &word)?,
        reason,
        at,
        changes: u32::try_from(changes).unwrap_or(u32::MAX),
    })
}

/// Puts what held before a change back into its place.
fn take_back(sql: &Transaction<'_>, entry: &mut Entry<'_>, it: &Change) -> Result<(), Error> {
    match (it.before, it.after) {
        (Some(before), after) => {
            // An emptied place is refilled behind the row that was withdrawn from it.
            let newest = newest(sql, it.of, after.unwrap_or(before))?;
            let copy = copied(sql, it.of, before, newest, entry.at())?;
            // Withdrawn rows do not hold, so nothing held before.
            entry.note(it.product_id, it.of, after.map(|_| newest), Some(copy))
        }
        (None, Some(after)) => {
            let newest = newest(sql, it.of, after)?;
            entry.withdraw(it.product_id, it.of, newest)
        }
        // The table does not allow it.
        (None, None) => Ok(()),
    }
}

/// The end of the chain in which a row stands.
fn newest(sql: &Transaction<'_>, of: Facts, row: i64) -> Result<i64, Error> {
    let table = of.table();
    Ok(sql
        .prepare_cached(&format!(
            "WITH RECURSIVE chain (id) AS (
                 SELECT ?1 UNION ALL SELECT {table}.id FROM {table} JOIN chain ON {table}.supersedes = chain.id
             )
             SELECT max(id) FROM chain"
        ))?
        .query_row([row], |row| row.get(0))?)
}

/// Writes a row once more, superseding another; a network with its elements.
fn copied(
    sql: &Transaction<'_>,
    of: Facts,
    row: i64,
    supersedes: i64,
    at: &str,
) -> Result<i64, Error> {
    let (table, columns) = (of.table(), of.columns());
    sql.prepare_cached(&format!(
        "INSERT INTO {table} ({columns}, recorded_at, supersedes) SELECT {columns}, ?2, ?3 FROM {table} WHERE id = ?1"
    ))?
    .execute(params![row, at, supersedes])?;
    let id = sql.last_insert_rowid();
    if of == Facts::Network {
        const ELEMENT: &str = "position, name, kind, node_from, node_to, typed, value_si, loss_typed, loss_ohm, tolerance, part, \
                               note, construction, rating_typed, rating_si";
        sql.prepare_cached(&format!(
            "INSERT INTO element (network_id, {ELEMENT}) SELECT ?2, {ELEMENT} FROM element WHERE network_id = ?1"
        ))?
        .execute(params![row, id])?;
    }
    Ok(id)
}

#[cfg(test)]
mod tests;
