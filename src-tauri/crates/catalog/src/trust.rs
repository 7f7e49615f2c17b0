//! Which plugin files the user has decided to trust, by hash.

use crate::{Catalog, Error, Reader};

/// One decision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trusted {
    /// SHA-256 of the file, lower-case hex.
    pub sha256: String,
    /// Where the file was when it was trusted.
    pub path: String,
}

impl Reader {
    /// All decisions, by path.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn trusted_plugins(&self) -> Result<Vec<Trusted>, Error> {
        let mut statement = self
            .connection
            .prepare_cached("SELECT sha256, path FROM plugin_trust ORDER BY path, sha256")?;
        let rows = statement
            .query_map([], |row| Ok(Trusted { sha256: row.get(0)?, path: row.get(1)? }))?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

impl Catalog {
    /// Remembers that a file of this hash may be loaded.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn trust_plugin(&mut self, it: &Trusted, decided_at: &str) -> Result<(), Error> {
        self.reader.connection.execute(
            "INSERT INTO plugin_trust (sha256, path, decided_at) VALUES (?1, ?2, ?3)
             ON CONFLICT (sha256) DO UPDATE SET path = excluded.path, decided_at = excluded.decided_at",
            (&it.sha256, &it.path, decided_at),
        )?;
        self.settle_log()
    }

    /// Forgets the decision about a hash; says whether there was one.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn revoke_plugin(&mut self, sha256: &str) -> Result<bool, Error> {
        let known = self
            .reader
            .connection
            .execute("DELETE FROM plugin_trust WHERE sha256 = ?1", [sha256])?
            > 0;
        self.settle_log()?;
        Ok(known)
    }
}
