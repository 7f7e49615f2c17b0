//! Which plugin files the user has decided to trust, by hash, and what each declares.
//!
//! The manifest of a trusted file is kept beside the decision: what it declares is known without loading anything, and
//! still known when the trust has ended, since findings of its own keys may be recorded.

use crate::{Catalog, Error, Reader};

/// One decision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trusted {
    /// SHA-256 of the file, lower-case hex.
    pub sha256: String,
    /// Where the file was when it was trusted.
    pub path: String,
}

/// The manifest of a file that is trusted or was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownManifest {
    /// SHA-256 of the file, lower-case hex.
    pub sha256: String,
    /// The manifest, JSON.
    pub manifest: String,
    /// Whether the file is trusted now.
    pub is_trusted: bool,
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

    /// When a file of this hash was trusted; `None` when it is not.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn trusted_at(&self, sha256: &str) -> Result<Option<String>, Error> {
        let mut statement = self
            .connection
            .prepare_cached("SELECT decided_at FROM plugin_trust WHERE sha256 = ?1")?;
        let mut rows = statement.query([sha256])?;
        Ok(rows.next()?.map(|row| row.get(0)).transpose()?)
    }

    /// The manifests of all files that are trusted or were, those trusted first and in the order of
    /// [`Reader::trusted_plugins`], then the latest seen first.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn plugin_manifests(&self) -> Result<Vec<KnownManifest>, Error> {
        let mut statement = self.connection.prepare_cached(
            "SELECT plugin_manifest.sha256, manifest, plugin_trust.sha256 IS NOT NULL FROM plugin_manifest
             LEFT JOIN plugin_trust USING (sha256)
             ORDER BY plugin_trust.sha256 IS NULL, path, seen_at DESC, plugin_manifest.sha256",
        )?;
        let rows = statement.query_map([], |row| {
            Ok(KnownManifest {
                sha256: row.get(0)?,
                manifest: row.get(1)?,
                is_trusted: row.get(2)?,
            })
        })?;
        Ok(rows.collect::<Result<_, _>>()?)
    }
}

impl Catalog {
    /// Remembers that a file of this hash may be loaded, and its manifest; decisions about the files that it replaces end.
    ///
    /// # Errors
    /// [`Error::Sql`], also for a manifest that is not JSON; nothing is remembered then.
    pub fn trust_plugin(
        &mut self,
        it: &Trusted,
        manifest: &str,
        replaces: &[String],
        decided_at: &str,
    ) -> Result<(), Error> {
        let transaction = self.reader.connection.transaction()?;
        for sha256 in replaces.iter().filter(|old| **old != it.sha256) {
            transaction.execute("DELETE FROM plugin_trust WHERE sha256 = ?1", [sha256])?;
        }
        transaction.execute(
            "INSERT INTO plugin_trust (sha256, path, decided_at) VALUES (?1, ?2, ?3)
             ON CONFLICT (sha256) DO UPDATE SET path = excluded.path, decided_at = excluded.decided_at",
            (&it.sha256, &it.path, decided_at),
        )?;
        transaction.execute(
            "INSERT INTO plugin_manifest (sha256, manifest, seen_at) VALUES (?1, ?2, ?3)
             ON CONFLICT (sha256) DO UPDATE SET manifest = excluded.manifest, seen_at = excluded.seen_at",
            (&it.sha256, manifest, decided_at),
        )?;
        transaction.commit()?;
        self.settle_log();
        Ok(())
    }

    /// Forgets the decision about a hash; says whether there was one. Its manifest stays.
    ///
    /// # Errors
    /// [`Error::Sql`].
    pub fn revoke_plugin(&mut self, sha256: &str) -> Result<bool, Error> {
        let known = self
            .reader
            .connection
            .execute("DELETE FROM plugin_trust WHERE sha256 = ?1", [sha256])?
            > 0;
        self.settle_log();
        Ok(known)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Info;

    #[test]
    fn manifests_outlive_the_trust_and_a_new_file_ends_that_of_the_old_one() {
        let dir = tempfile::tempdir().unwrap();
        let info = Info {
            title: "a".into(),
            currency: "USD".into(),
            base_month: "2026-06".into(),
            note: String::new(),
        };
        let mut it = Catalog::create(&dir.path().join("a.boxworth"), &info).unwrap();
        let of = |digit: &str, path: &str| Trusted { sha256: digit.repeat(64), path: path.into() };
        let (old, new, other) =
            (of("a", "/p/finish.so"), of("b", "/p/finish.so"), of("c", "/p/z.so"));
        it.trust_plugin(&old, "{\"version\": 1}", &[], "2026-06-01T00:00:00Z").unwrap();
        it.trust_plugin(&other, "{}", &[], "2026-06-02T00:00:00Z").unwrap();
        let replaces = [old.sha256.clone()];
        it.trust_plugin(&new, "{\"version\": 2}", &replaces, "2026-06-03T00:00:00Z").unwrap();
        assert_eq!(it.reader().trusted_plugins().unwrap(), [new.clone(), other.clone()]);
        let known = |it: &Catalog| -> Vec<(String, bool)> {
            let all = it.reader().plugin_manifests().unwrap();
            all.into_iter().map(|it| (it.sha256[..1].to_owned(), it.is_trusted)).collect()
        };
        let shown = [("b", true), ("c", true), ("a", false)];
        assert_eq!(known(&it), shown.map(|(hash, is_trusted)| (hash.to_owned(), is_trusted)));

        assert!(it.revoke_plugin(&new.sha256).unwrap());
        assert!(!it.revoke_plugin(&new.sha256).unwrap());
        let shown = [("c", true), ("b", false), ("a", false)];
        assert_eq!(known(&it), shown.map(|(hash, is_trusted)| (hash.to_owned(), is_trusted)));

        // Trusted again it is replaced by itself, and by nothing that is refused.
        let itself = [new.sha256.clone()];
        it.trust_plugin(&new, "{\"version\": 2}", &itself, "2026-06-04T00:00:00Z").unwrap();
        let before = it.reader().trusted_plugins().unwrap();
        assert!(it.trust_plugin(&old, "no JSON", &itself, "2026-06-05T00:00:00Z").is_err());
        assert_eq!(it.reader().trusted_plugins().unwrap(), before);
    }
}
