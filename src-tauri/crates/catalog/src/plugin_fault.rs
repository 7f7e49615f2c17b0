//! What plugins did wrong, by the hash of their file, and from when on it counts no more.

use crate::{Catalog, Error, Reader};

/// One fault of a plugin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PluginFault {
    /// When, UTC, ISO 8601 with as many digits as all others, so that texts compare like times.
    pub at: String,
    /// A word for what happened.
    pub kind: String,
    /// What happened, in one sentence.
    pub detail: String,
}

impl Reader {
    /// The faults of a file since it was last released, in the order in which they came.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn plugin_faults(&self, sha256: &str) -> Result<Vec<PluginFault>, Error> {
        let mut statement = self.connection.prepare_cached(
            "SELECT at, kind, detail FROM plugin_fault WHERE sha256 = ?1 AND
             at > coalesce((SELECT max(at) FROM plugin_release WHERE sha256 = ?1), '')
             ORDER BY at, id",
        )?;
        let rows = statement.query_map([sha256], |row| {
            Ok(PluginFault { at: row.get(0)?, kind: row.get(1)?, detail: row.get(2)? })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

impl Catalog {
    /// Writes a fault down.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn add_plugin_fault(&mut self, sha256: &str, it: &PluginFault) -> Result<(), Error> {
        self.reader.connection.execute(
            "INSERT INTO plugin_fault (sha256, at, kind, detail) VALUES (?1, ?2, ?3, ?4)",
            (sha256, &it.at, &it.kind, &it.detail),
        )?;
        self.settle_log();
        Ok(())
    }

    /// Lets the faults of a file so far count no more.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn release_plugin(&mut self, sha256: &str, at: &str) -> Result<(), Error> {
        self.reader
            .connection
            .execute("INSERT INTO plugin_release (sha256, at) VALUES (?1, ?2)", (sha256, at))?;
        self.settle_log();
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::PluginFault;
    use crate::{Catalog, Error, Info};

    #[test]
    fn faults_count_until_they_are_released_and_are_never_lost() -> Result<(), Error> {
        let dir = tempfile::tempdir().unwrap();
        let info = Info {
            title: "a".into(),
            currency: "USD".into(),
            base_month: "2026-06".into(),
            note: String::new(),
        };
        let mut it = Catalog::create(&dir.path().join("a.boxworth"), &info)?;
        let (one, other) = ("1".repeat(64), "2".repeat(64));
        let fault = |second: u32| PluginFault {
            at: format!("2026-06-01T00:00:{second:02}.000Z"),
            kind: "crash".into(),
            detail: "crashed".into(),
        };
        for (sha256, second) in [(&one, 1), (&other, 2), (&one, 3)] {
            it.add_plugin_fault(sha256, &fault(second))?;
        }
        assert_eq!(it.reader().plugin_faults(&one)?, [fault(1), fault(3)]);
        it.release_plugin(&one, "2026-06-01T00:00:03.000Z")?;
        assert_eq!(it.reader().plugin_faults(&one)?, []);
        assert_eq!(it.reader().plugin_faults(&other)?, [fault(2)]);
        it.add_plugin_fault(&one, &fault(4))?;
        assert_eq!(it.reader().plugin_faults(&one)?, [fault(4)]);
        let kept: u32 =
            it.reader()
                .connection
                .query_row("SELECT count(*) FROM plugin_fault", [], |it| it.get(0))?;
        assert_eq!(kept, 4);
        assert!(it.reader().connection.execute("DELETE FROM plugin_fault", []).is_err());
        Ok(())
    }
}
