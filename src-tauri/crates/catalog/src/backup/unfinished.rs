//! What a crash leaves of a copy, and how it is known to be nobody's any more.
//!
//! Whoever makes copies holds a lock on the file `lock` of their folder, which the system lets go when the program ends,
//! however it ends. So what is unfinished while we hold it belongs to nobody.

use std::{
    fs::{self, File, OpenOptions, TryLockError},
    path::{Path, PathBuf},
    thread,
    time::Duration,
};

use super::Occasion;
use crate::{
    Error,
    durable::{self, BESIDE, PART},
};

/// How often the lock is asked for, a twentieth of a second apart: a minute, in which any copy is made.
const ATTEMPTS: u32 = 1200;

/// The right to make copies in a folder, until it is dropped.
#[derive(Debug)]
pub(super) struct Turn {
    /// Absent where the file system knows no locks; nothing is cleared then.
    lock: Option<File>,
    folder: PathBuf,
}

impl Turn {
    /// Waits for the right.
    ///
    /// # Errors
    /// [`Error::Io`] when the folder cannot be written, [`Error::CopyUnderWay`] when another program keeps it for a minute.
    pub(super) fn take(folder: &Path) -> Result<Self, Error> {
        let path = folder.join("lock");
        let failed = |source| Error::Io { path: path.clone(), source };
        let file = OpenOptions::new()
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(failed)?;
        for _ in 0..ATTEMPTS {
            match file.try_lock() {
                Ok(()) => return Ok(Turn { lock: Some(file), folder: folder.to_owned() }),
                Err(TryLockError::WouldBlock) => thread::sleep(Duration::from_millis(50)),
                Err(TryLockError::Error(why)) if why.kind() == std::io::ErrorKind::Unsupported => {
                    return Ok(Turn { lock: None, folder: folder.to_owned() });
                }
                Err(TryLockError::Error(why)) => return Err(failed(why)),
            }
        }
        Err(Error::CopyUnderWay { folder: folder.to_owned() })
    }

    /// Removes what was left unfinished, and gives its paths. What cannot be removed is no copy by its name, and stays.
    pub(super) fn clear(&self, catalogue: &Path) -> Vec<PathBuf> {
        if self.lock.is_none() {
            return Vec::new();
        }
        let left = listed(&self.folder, catalogue);
        left.into_iter().filter(|it| fs::remove_file(it).is_ok()).collect()
    }
}

/// What crashes left of copies of a catalogue and of a restore. A copy that is being made right now is among it.
#[must_use]
pub fn unfinished(catalogue: &Path) -> Vec<PathBuf> {
    listed(&super::folder(catalogue), catalogue)
}

/// Removes what [`unfinished`] names unless somebody is at work on it, and gives what is gone.
///
/// # Errors
/// As for making a copy.
pub(crate) fn clear(catalogue: &Path) -> Result<Vec<PathBuf>, Error> {
    let folder = super::folder(catalogue);
    if unfinished(catalogue).is_empty() {
        return Ok(Vec::new());
    }
    durable::make_folder(&folder)?;
    Ok(Turn::take(&folder)?.clear(catalogue))
}

fn listed(folder: &Path, catalogue: &Path) -> Vec<PathBuf> {
    let within = fs::read_dir(folder).into_iter().flatten().flatten().map(|it| it.path());
    let mut left: Vec<PathBuf> = within.filter(|it| is_unfinished(it)).collect();
    left.extend(durable::parts(catalogue));
    left.sort();
    left
}

/// `asked.2026-11-29T18-04-03Z.part` and what SQLite keeps beside it.
fn is_unfinished(path: &Path) -> bool {
    let name = path.file_name().and_then(|it| it.to_str()).and_then(|it| it.split_once('.'));
    let Some((word, rest)) = name else { return false };
    let ends = BESIDE.map(|it| format!(".{PART}{it}"));
    Occasion::parse(word).is_some() && ends.iter().any(|it| rest.ends_with(it.as_str()))
}
