//! What a catalogue changes of the numbers that score, one row a change.

use rusqlite::Connection;

use crate::{Catalog, Error, Reader};

/// One change of one number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RubricChange {
    /// The id of the plugin whose number it is; `None` for the weight of a subsystem.
    pub plugin: Option<String>,
    /// Which number, such as `criterion.panel_mode.weight`.
    pub path: String,
    /// The new value as JSON; `None` goes back to what the plugin says.
    pub value: Option<String>,
    /// Why; only a way back may be without.
    pub reason: String,
    /// When it was recorded.
    pub recorded_at: String,
}

impl Reader {
    /// All changes ever recorded, oldest first; of those with the same plugin and path the last one holds.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn rubric_changes(&self) -> Result<Vec<RubricChange>, Error> {
        let mut statement = self.connection.prepare_cached(
            "SELECT plugin, path, value, reason, recorded_at FROM rubric_change ORDER BY id",
        )?;
        let rows = statement.query_map([], |row| {
            Ok(RubricChange {
                plugin: row.get(0)?,
                path: row.get(1)?,
                value: row.get(2)?,
                reason: row.get(3)?,
                recorded_at: row.get(4)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

impl Catalog {
    /// Records a change.
    ///
    /// # Errors
    /// [`Error::Sql`], also for a value that is not JSON and for a value without a reason.
    pub fn change_rubric(&mut self, it: &RubricChange) -> Result<(), Error> {
        insert(&self.reader.connection, it)?;
        self.settle_log();
        Ok(())
    }
}

/// Whether nothing of the rubric was ever changed.
pub(crate) fn is_untouched(sql: &Connection) -> Result<bool, Error> {
    Ok(sql.query_row("SELECT NOT EXISTS (SELECT 1 FROM rubric_change)", [], |row| row.get(0))?)
}

pub(crate) fn insert(sql: &Connection, it: &RubricChange) -> Result<(), Error> {
    sql.execute(
        "INSERT INTO rubric_change (plugin, path, value, reason, recorded_at) VALUES (?1, ?2, ?3, ?4, ?5)",
        (&it.plugin, &it.path, &it.value, &it.reason, &it.recorded_at),
    )?;
    Ok(())
}

#[cfg(test)]
mod tests;
