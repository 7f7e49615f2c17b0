//! Files and folders that are there after a power cut, and files that appear as a whole or not at all.
//!
//! What was written is sure when its file was flushed, and its name when the folder was (fsync(2), notes). So whoever says
//! that something is kept goes through here, or through SQLite, which keeps the same rules.

use std::{
    ffi::OsString,
    fs::{self, File, OpenOptions},
    io::{ErrorKind, Write},
    path::{Path, PathBuf},
};

use crate::Error;

/// The ending of files that are not whole.
pub(crate) const PART: &str = "part";

/// What SQLite keeps beside a file while it writes.
pub(crate) const BESIDE: [&str; 4] = ["", "-journal", "-wal", "-shm"];

/// Makes the names in a folder survive a power cut.
///
/// # Errors
/// [`Error::Io`].
pub fn settle(folder: &Path) -> Result<(), Error> {
    #[cfg(unix)]
    File::open(folder).and_then(|it| it.sync_all()).map_err(failed(folder))?;
    #[cfg(not(unix))]
    let _ = folder;
    Ok(())
}

/// Makes a folder and those around it, each with a name that survives a power cut. One that is there is left alone.
///
/// # Errors
/// [`Error::Io`] with the folder that cannot be made.
pub fn make_folder(path: &Path) -> Result<(), Error> {
    if path.is_dir() {
        return Ok(());
    }
    make_folder(around(path))?;
    match fs::create_dir(path) {
        Err(why) if why.kind() != ErrorKind::AlreadyExists || !path.is_dir() => {
            return Err(failed(path)(why));
        }
        _ => {}
    }
    settle(around(path))
}

/// Writes a file under the name `part`, flushes it, and moves it to its place, where it replaces what was there: after a power
/// cut there is the old one or the new one. The name is sure once the folder is settled.
///
/// # Errors
/// [`Error::Io`] with the place; no part stays that can be removed.
pub fn replace(part: &Path, place: &Path, bytes: &[u8]) -> Result<(), Error> {
    let written = File::create(part).and_then(|mut it| {
        it.write_all(bytes)?;
        it.sync_all()?;
        fs::rename(part, place)
    });
    written.map_err(|why| {
        drop(fs::remove_file(part));
        failed(place)(why)
    })
}

/// Moves a file, also to another folder, where it replaces what was there; it is there after a power cut, too.
///
/// # Errors
/// [`Error::Io`] with the place.
pub fn relocate(from: &Path, to: &Path) -> Result<(), Error> {
    fs::rename(from, to).map_err(failed(to))?;
    settle(around(to))?;
    settle(around(from))
}

/// Makes a new file: under another name first, and its own is given to it when it is whole and flushed. It never takes the
/// place of another. What a crash left of an earlier attempt is removed; of two programs that make the same file at once, one
/// may find its part gone, and gives up.
///
/// # Errors
/// [`Error::Exists`] when there is something of that name, [`Error::Io`] with the place, and whatever `make` says, which is
/// given a path with an empty file. No part stays that can be removed.
pub fn appear(place: &Path, make: impl FnOnce(&Path) -> Result<(), Error>) -> Result<(), Error> {
    let exists = || Error::Exists { path: place.to_owned() };
    for left in parts(place) {
        drop(fs::remove_file(left));
    }
    if place.symlink_metadata().is_ok() {
        return Err(exists());
    }
    let mut part = place.as_os_str().to_owned();
    part.push(format!(".{}.{PART}", std::process::id()));
    let part = PathBuf::from(part);
    let made = File::create(&part).map_err(failed(place)).and_then(|_| make(&part));
    let named = made.and_then(|()| {
        let named = File::open(&part).and_then(|it| it.sync_all()).and_then(|()| {
            // Only a second name is given to nobody else's file, and not every file system has them.
            fs::hard_link(&part, place).or_else(|why| match why.kind() {
                ErrorKind::AlreadyExists => Err(why),
                _ => take_name(&part, place),
            })
        });
        named.map_err(|why| match why.kind() {
            ErrorKind::AlreadyExists => exists(),
            _ => failed(place)(why),
        })
    });
    // After a rename it is gone already.
    drop(fs::remove_file(&part));
    named?;
    settle(around(place))
}

/// A rename would replace what it finds, so the name is taken first by an empty file of our own.
fn take_name(part: &Path, place: &Path) -> std::io::Result<()> {
    drop(OpenOptions::new().write(true).create_new(true).open(place)?);
    fs::rename(part, place).inspect_err(|_| drop(fs::remove_file(place)))
}

/// What crashes left of a file that was to appear: `shelf.boxworth.4711.part`, and what SQLite keeps beside it. The name of
/// the file stands in it whole, so that it is no other file's.
pub(crate) fn parts(place: &Path) -> Vec<PathBuf> {
    let is_part = |name: OsString| {
        let own = place.file_name()?.to_str()?;
        let (process, end) =
            name.to_str()?.strip_prefix(own)?.strip_prefix('.')?.split_once('.')?;
        let is_number = !process.is_empty() && process.bytes().all(|it| it.is_ascii_digit());
        let is_end = BESIDE.iter().any(|it| end.strip_prefix(PART) == Some(it));
        (is_number && is_end).then_some(())
    };
    let entries = fs::read_dir(around(place)).into_iter().flatten().flatten();
    entries.filter(|it| is_part(it.file_name()).is_some()).map(|it| it.path()).collect()
}

/// The folder in which a file lies.
pub(crate) fn around(path: &Path) -> &Path {
    match path.parent() {
        Some(it) if !it.as_os_str().is_empty() => it,
        Some(_) => Path::new("."),
        None => path,
    }
}

fn failed(path: &Path) -> impl Fn(std::io::Error) -> Error {
    let path = path.to_owned();
    move |source| Error::Io { path: path.clone(), source }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> =
            entries.map(|it| it.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_file_appears_whole_or_not_at_all_and_replaces_nothing() {
        let dir = tempfile::tempdir().unwrap();
        let place = dir.path().join("a.json");
        let make = |text: &'static str| {
            let place = place.clone();
            move |part: &Path| {
                assert!(!place.exists(), "it has its name before it is whole");
                fs::write(part, text).map_err(failed(part))
            }
        };
        // What an earlier process left, and what only looks like it.
        for name in ["a.json.1.part", "a.json.1.part-wal", "a.json.x.part", "a.json.1.parts"] {
            fs::write(dir.path().join(name), "half").unwrap();
        }
        let broken = appear(&place, |_| Err(Error::Foreign { path: place.clone() }));
        assert!(matches!(broken, Err(Error::Foreign { .. })));
        assert_eq!(names(dir.path()), ["a.json.1.parts", "a.json.x.part"]);
        appear(&place, make("one")).unwrap();
        let again = appear(&place, |_| panic!("made, though it is there"));
        assert!(matches!(again, Err(Error::Exists { .. })));
        assert_eq!(fs::read(&place).unwrap(), b"one");
        assert_eq!(names(dir.path()), ["a.json", "a.json.1.parts", "a.json.x.part"]);
        let nowhere = dir.path().join("none/a.json");
        let why = appear(&nowhere, |_| Ok(())).unwrap_err().to_string();
        assert!(why.contains("none/a.json:") && !why.contains(PART), "{why}");
    }

    #[test]
    fn a_file_that_comes_meanwhile_is_kept() {
        let dir = tempfile::tempdir().unwrap();
        let place = dir.path().join("a.json");
        let late = appear(&place, |_| fs::write(&place, "mine").map_err(failed(&place)));
        assert!(matches!(late, Err(Error::Exists { .. })));
        assert_eq!(
            (fs::read(&place).unwrap(), names(dir.path())),
            (b"mine".into(), vec!["a.json".into()])
        );
        // Where there are no second names.
        let part = dir.path().join("part");
        fs::write(&part, "new").unwrap();
        assert_eq!(take_name(&part, &place).unwrap_err().kind(), ErrorKind::AlreadyExists);
        assert_eq!(fs::read(&place).unwrap(), b"mine");
        fs::remove_file(&place).unwrap();
        take_name(&part, &place).unwrap();
        assert_eq!((fs::read(&place).unwrap(), part.exists()), (b"new".into(), false));
    }

    #[test]
    fn folders_are_made_where_none_are() {
        let dir = tempfile::tempdir().unwrap();
        let deep = dir.path().join("a/b/c");
        make_folder(&deep).unwrap();
        make_folder(&deep).unwrap();
        assert!(deep.is_dir());
        fs::write(dir.path().join("file"), "").unwrap();
        for bad in ["file", "file/a"] {
            let why = make_folder(&dir.path().join(bad)).unwrap_err();
            assert!(matches!(why, Error::Io { .. }), "{bad}: {why}");
        }
    }
}
