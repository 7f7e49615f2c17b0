//! Reading a large file in shares, each by a reader of its own and all at once.

use rusqlite::OptionalExtension;

use crate::{Error, Reader};

/// The first, second, … of so many shares of the rows of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    /// Which one, from 0.
    pub at: usize,
    /// How many there are, 1 or more.
    pub of: usize,
}

impl Share {
    /// All in one.
    pub const WHOLE: Share = Share { at: 0, of: 1 };

    /// The rows of a table that belong to it: after the first number, up to the second.
    pub(crate) fn rows(self, last: i64) -> (i64, i64) {
        let of = i64::try_from(self.of).unwrap_or(i64::MAX).max(1);
        let edge = |at: usize| match at {
            0 => i64::MIN,
            at if at >= self.of => last,
            at => last / of * i64::try_from(at).unwrap_or(i64::MAX),
        };
        (edge(self.at), edge(self.at + 1))
    }
}

impl Reader {
    /// What was last done to the facts of the file, and when; `None` before anything was. Readers for which it is the same see the
    /// same products and facts, also where another file was put in the place of the first.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn last_change(&self) -> Result<Option<(i64, String)>, Error> {
        let last = self.connection.query_row(
            "SELECT id, at FROM change_set WHERE id = (SELECT max(id) FROM change_set)",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        );
        Ok(last.optional()?)
    }
}
