//! The pictures, in a folder beside the catalogue, each under the SHA-256 of its bytes.
//!
//! A file is written under another name, and gets its own only when it is whole; it never changes after that. It is
//! written before the row that names it, so that a crash between the two leaves a file that nobody names and no row without
//! its file. Nothing here deletes a file that the catalogue or one of its copies names; see [`clean`].
//! Small pictures can be made anew from the large ones at any time, and are not counted.

use std::{
    collections::BTreeSet,
    fs,
    io::ErrorKind,
    path::{Path, PathBuf},
};

use domain::photo::{PhotoFormat, PhotoHash};
use sha2::{Digest, Sha256};

use super::PhotoFiles;
use crate::{
    Error, backup,
    durable::{self, PART},
};

/// The folder of small pictures, inside that of the photos.
const SMALL: &str = "small";

/// The folder of a catalogue's photos: `shelf.boxworth.photos` beside `shelf.boxworth`. The name of the file stands in it
/// whole, so that no two catalogues share a folder.
#[must_use]
pub fn folder(catalogue: &Path) -> PathBuf {
    let mut name = catalogue.as_os_str().to_owned();
    name.push(".photos");
    name.into()
}

/// The hash of some bytes.
#[must_use]
pub fn hash(bytes: &[u8]) -> PhotoHash {
    let digest: [u8; 32] = Sha256::digest(bytes).into();
    digest.into()
}

/// Where a photo lies.
#[must_use]
pub fn path(catalogue: &Path, of: &PhotoHash, format: PhotoFormat) -> PathBuf {
    folder(catalogue).join(format!("{of}.{}", format.word()))
}

/// Where its small picture lies, a JPEG.
#[must_use]
pub fn small_path(catalogue: &Path, of: &PhotoHash) -> PathBuf {
    folder(catalogue).join(SMALL).join(format!("{of}.jpg"))
}

/// Keeps a photo; gives its hash. What is there already stays, unless its bytes are no more those of its name.
///
/// # Errors
/// [`Error::Io`] when it cannot be written; nothing of it stays under its name then.
pub fn keep(catalogue: &Path, bytes: &[u8], format: PhotoFormat) -> Result<PhotoHash, Error> {
    let of = hash(bytes);
    let path = path(catalogue, &of, format);
    if fs::read(&path).is_ok_and(|it| it == bytes) {
        return Ok(of);
    }
    write(&path, bytes)?;
    Ok(of)
}

/// Keeps the small picture of a photo.
///
/// # Errors
/// As [`keep`].
pub fn keep_small(catalogue: &Path, of: &PhotoHash, bytes: &[u8]) -> Result<(), Error> {
    write(&small_path(catalogue, of), bytes)
}

/// A photo, if its bytes are still those of its name.
///
/// # Errors
/// [`Error::Io`] when it cannot be read; [`Error::ChangedPhoto`].
pub fn read(catalogue: &Path, of: &PhotoHash, format: PhotoFormat) -> Result<Vec<u8>, Error> {
    let path = path(catalogue, of, format);
    let bytes = fs::read(&path).map_err(|source| Error::Io { path: path.clone(), source })?;
    if hash(&bytes) == *of { Ok(bytes) } else { Err(Error::ChangedPhoto { path }) }
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let folder = durable::around(path);
    durable::make_folder(folder)?;
    // Two programs that keep the same photo at once write the same bytes.
    let part = path.with_extension(format!("{}.{PART}", std::process::id()));
    durable::replace(&part, path, bytes)?;
    durable::settle(folder)
}

/// How many photos lie in the folder, and the bytes that they take; what cannot be read counts not.
#[must_use]
pub fn kept(catalogue: &Path) -> (usize, u64) {
    let files = listed(&folder(catalogue)).unwrap_or_default();
    let photos = files.iter().filter(|(path, _)| parsed(path).is_some());
    photos.fold((0, 0), |(files, bytes), it| (files + 1, bytes + it.1))
}

/// What is wrong with the folder.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Audit {
    /// Photos that a product has, and that are not in the folder.
    pub missing: Vec<PhotoHash>,
    /// Files whose bytes are not those of their name.
    pub changed: Vec<PathBuf>,
    /// Files of photos that neither the catalogue nor a copy of it names.
    pub orphans: Vec<PathBuf>,
    /// Files of photos that were taken out: only undo, or a copy, would ask for them.
    pub idle: Vec<PathBuf>,
    /// Whole photos in the folder.
    pub files: usize,
    /// What they take, in bytes.
    pub bytes: u64,
}

/// Holds the folder against what the catalogue and its copies name.
///
/// # Errors
/// [`Error::Io`] when the folder or a copy cannot be read.
pub fn audit(catalogue: &Path, of: &PhotoFiles) -> Result<Audit, Error> {
    let mut named = of.named.clone();
    for copy in backup::copies(catalogue)? {
        named.extend(backup::photo_files(&copy.path)?.named);
    }
    let mut found = Audit::default();
    let mut there = BTreeSet::new();
    for (path, bytes) in listed(&folder(catalogue))? {
        let Some(file) = parsed(&path) else {
            // Other names are none of ours, and left alone.
            if is_unfinished(&path) {
                found.orphans.push(path);
            }
            continue;
        };
        if read(catalogue, &file.0, file.1).is_err() {
            found.changed.push(path);
            // It is there, and says nothing; the fault is told once.
            there.insert(file);
            continue;
        }
        found.files += 1;
        found.bytes += bytes;
        if !named.contains(&file) {
            found.orphans.push(path);
        } else if !of.held.contains(&file) {
            found.idle.push(path);
        }
        there.insert(file);
    }
    found.missing = of.held.difference(&there).map(|it| it.0.clone()).collect();
    Ok(found)
}

/// Deletes files of photos that neither the catalogue nor a copy of it names; with `idle` also those that were taken out,
/// so that undo no longer brings their picture back. Gives what was deleted.
///
/// # Errors
/// As [`audit`], and when a file cannot be deleted.
pub fn clean(catalogue: &Path, of: &PhotoFiles, idle: bool) -> Result<Vec<PathBuf>, Error> {
    let found = audit(catalogue, of)?;
    let mut gone = found.orphans;
    if idle {
        gone.extend(found.idle);
    }
    for path in &gone {
        fs::remove_file(path).map_err(|source| Error::Io { path: path.clone(), source })?;
        if let Some((hash, _)) = parsed(path) {
            // It can be made anew at any time, so that it may be missing.
            drop(fs::remove_file(small_path(catalogue, &hash)));
        }
    }
    Ok(gone)
}

/// The files of a folder with their sizes, by name; none where there is no folder.
fn listed(folder: &Path) -> Result<Vec<(PathBuf, u64)>, Error> {
    let io = |source| Error::Io { path: folder.to_owned(), source };
    let entries = match fs::read_dir(folder) {
        Ok(it) => it,
        Err(why) if why.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        Err(source) => return Err(io(source)),
    };
    let mut files = Vec::new();
    for entry in entries {
        let entry = entry.map_err(io)?;
        let about = entry.metadata().map_err(io)?;
        if about.is_file() {
            files.push((entry.path(), about.len()));
        }
    }
    files.sort();
    Ok(files)
}

fn parsed(path: &Path) -> Option<(PhotoHash, PhotoFormat)> {
    let (name, ending) = path.file_name()?.to_str()?.split_once('.')?;
    Some((name.parse().ok()?, PhotoFormat::parse(ending).ok()?))
}

/// Whether it is what a crash left of a photo.
fn is_unfinished(path: &Path) -> bool {
    let name = path.file_name().and_then(|it| it.to_str()).and_then(|it| it.split_once('.'));
    name.is_some_and(|(hash, rest)| hash.parse::<PhotoHash>().is_ok() && rest.ends_with(PART))
}
