//! A file whose pages contradict each other is not written, since that would only spread.
//!
//! Looking at all pages takes about 13 ms of computing for a megabyte, as much as the rest of a short write. So a program
//! that goes on writing looks once, and then again only when the file is not as it left it.

use std::{
    fs,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
    time::SystemTime,
};

use rusqlite::Connection;

use crate::{Error, error::PAGES};

/// The largest file, in pages of 4 KiB, whose pages are looked at. Larger ones are checked as a whole by the copy that is
/// made before the first change of a day.
const LOOKED_AT: i64 = 512;

/// In which state this program last knew the pages of a file to be sound: it has looked at them, or has just written them.
#[derive(Debug, Clone, Default)]
pub struct KnownPages(Arc<Mutex<Option<Stamp>>>);

/// Length and time of the last change of a file and of its write-ahead log, which is as none when it is empty. Whoever
/// writes, by SQLite or not, changes one of them; the index of the log is changed by readers, too.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Stamp {
    file: (u64, SystemTime),
    log: Option<(u64, SystemTime)>,
}

impl Stamp {
    fn of(path: &Path) -> Option<Stamp> {
        let of = |path: &Path| {
            let about = fs::metadata(path).ok()?;
            Some((about.len(), about.modified().ok()?))
        };
        let mut log = path.as_os_str().to_owned();
        log.push("-wal");
        let log = of(&PathBuf::from(log)).filter(|it| it.0 > 0);
        Some(Stamp { file: of(path)?, log })
    }
}

impl KnownPages {
    /// Keeps that the file is sound as it is.
    pub(crate) fn keep(&self, path: &Path) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Stamp::of(path);
    }

    fn is_kept(&self, path: &Path) -> bool {
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        kept.is_some() && *kept == Stamp::of(path)
    }
}

/// Refuses a file whose pages contradict each other, unless they are known. Reading goes on, so that what is left can be
/// looked at.
pub(crate) fn refuse_faulty(
    connection: &Connection,
    path: &Path,
    known: &KnownPages,
) -> Result<(), Error> {
    let pages: i64 = connection.pragma_query_value(None, "page_count", |row| row.get(0))?;
    if pages > LOOKED_AT || known.is_kept(path) {
        return Ok(());
    }
    let found: String = connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
    if found == "ok" {
        known.keep(path);
        return Ok(());
    }
    Err(Error::Damaged { table: PAGES, row: 0, why: found })
}

#[cfg(test)]
mod tests {
    use std::{fs::File, io::Write, time::Duration};

    use super::*;
    use crate::{Catalog, Info, RubricChange};

    fn change(it: &mut Catalog) {
        let change = RubricChange {
            plugin: None,
            path: "subsystem.cabinet".into(),
            value: Some("30".into()),
            reason: "invented".into(),
            recorded_at: "2026-11-29T10:00:00Z".into(),
        };
        it.change_rubric(&change).unwrap();
    }

    #[test]
    fn pages_are_looked_at_once_and_again_when_somebody_else_has_written() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.boxworth");
        let info = Info {
            title: "Shelf".into(),
            currency: "USD".into(),
            base_month: "2026-06".into(),
            note: String::new(),
        };
        drop(Catalog::create(&path, &info).unwrap());
        let known = KnownPages::default();
        assert!(!known.is_kept(&path));
        change(&mut Catalog::open_known(&path, &known).unwrap());
        assert!(known.is_kept(&path), "its own write is not known");

        // The header of the second page no longer says what it is (SQLite file format, section 1.6).
        let written = fs::metadata(&path).unwrap().modified().unwrap();
        let mut bytes = fs::read(&path).unwrap();
        bytes[4096] = 0xff;
        let mut file = File::options().write(true).open(&path).unwrap();
        file.write_all(&bytes).unwrap();
        file.set_modified(written).unwrap();
        assert!(Catalog::open_known(&path, &known).is_ok(), "it was looked at once more");
        file.set_modified(written + Duration::from_secs(1)).unwrap();
        let faulty = Catalog::open_known(&path, &known);
        assert!(matches!(faulty, Err(Error::Damaged { table: PAGES, .. })));
        assert!(matches!(Catalog::open(&path), Err(Error::Damaged { table: PAGES, .. })));
    }
}
