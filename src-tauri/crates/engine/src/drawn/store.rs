//! Draws kept in a file between two starts of the window.
//!
//! Each product's draws stand under a hash of all that they follow from: the program, the plugins, the rules of the rubric, the
//! seed, the findings and their scores. What is not found under its hash is drawn anew, so a file that is old, of another
//! catalogue or damaged costs time and nothing else. The command line keeps none: what it prints is computed.

use std::{
    collections::HashMap,
    fmt::{self, Write as _},
    fs, io,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
    thread::JoinHandle,
    time::UNIX_EPOCH,
};

use host::Sha256Sum;
use sha2::{Digest, Sha256};

use super::Drawn;
use crate::{cores::on_all_cores, scoring::Scored};

/// What a file begins with; it changes with the form of what follows.
const MAGIC: &[u8; 8] = b"bwdraws1";
/// A larger file would take longer to read than it saves.
const LARGEST: usize = 256 << 20;
const HASH: usize = 32;

/// A hash of all that the draws of a product follow from.
pub(crate) type Key = [u8; HASH];

/// The file of one catalogue.
#[derive(Debug)]
pub(crate) struct Store {
    file: PathBuf,
    /// Whether it was read: what is drawn later is kept in memory.
    is_read: Mutex<bool>,
    writing: Mutex<Option<JoinHandle<()>>>,
}

impl Store {
    /// The file in a folder that belongs to a catalogue.
    pub(crate) fn new(folder: &Path, catalogue: &Path) -> Self {
        let whole = fs::canonicalize(catalogue).unwrap_or_else(|_| catalogue.to_owned());
        let name = Sha256Sum::of(whole.as_os_str().as_encoded_bytes());
        Store {
            file: folder.join(format!("{name}.draws")),
            is_read: Mutex::new(false),
            writing: Mutex::new(None),
        }
    }

    /// The draws of these keys that the file has, the first time that it is asked; afterwards nothing, and no key is made.
    pub(crate) fn read(&self, keys: impl FnOnce() -> Vec<Key>) -> Vec<Option<Arc<Drawn>>> {
        let mut is_read = self.is_read.lock().unwrap_or_else(PoisonError::into_inner);
        if std::mem::replace(&mut *is_read, true) {
            return Vec::new();
        }
        let bytes = fs::read(&self.file).unwrap_or_default();
        let entries = entries(&bytes).unwrap_or_default();
        if entries.is_empty() {
            return Vec::new();
        }
        on_all_cores(keys(), |key| {
            entries.get(&key).and_then(|it| postcard::from_bytes(it).ok()).map(Arc::new)
        })
    }

    /// Writes the file anew, while the program goes on. What cannot be written is drawn again at the next start.
    pub(crate) fn write(&self, draws: Vec<(Key, Arc<Drawn>)>) {
        let mut writing = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
        finish(writing.take());
        let file = self.file.clone();
        *writing = Some(std::thread::spawn(move || {
            let _ = written(&file, &draws);
        }));
    }
}

impl Drop for Store {
    fn drop(&mut self) {
        finish(self.writing.lock().unwrap_or_else(PoisonError::into_inner).take());
    }
}

fn finish(writing: Option<JoinHandle<()>>) {
    if let Some(it) = writing {
        // A panic there left no file behind.
        let _ = it.join();
    }
}

/// What lies under which key; `None` when the file is of another form or not whole.
fn entries(bytes: &[u8]) -> Option<HashMap<Key, &[u8]>> {
    let (body, sum) = bytes.split_last_chunk::<HASH>()?;
    let mut rest = body.strip_prefix(MAGIC)?;
    if Sha256::digest(body)[..] != sum[..] {
        return None;
    }
    let mut entries = HashMap::new();
    while let Some((key, after)) = rest.split_first_chunk::<HASH>() {
        let (length, after) = after.split_first_chunk()?;
        let (draws, after) =
            after.split_at_checked(usize::try_from(u64::from_le_bytes(*length)).ok()?)?;
        entries.insert(*key, draws);
        rest = after;
    }
    Some(entries)
}

fn written(file: &Path, draws: &[(Key, Arc<Drawn>)]) -> io::Result<()> {
    let mut bytes = MAGIC.to_vec();
    for (key, drawn) in draws {
        let drawn = postcard::to_allocvec(&**drawn).map_err(io::Error::other)?;
        bytes.extend_from_slice(key);
        bytes.extend_from_slice(
            &u64::try_from(drawn.len()).map_err(io::Error::other)?.to_le_bytes(),
        );
        bytes.extend_from_slice(&drawn);
        if bytes.len() > LARGEST {
            return Ok(());
        }
    }
    let sum = Sha256::digest(&bytes);
    bytes.extend_from_slice(&sum);
    let folder = file.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    // Two windows may write at once: each its own file, and the later name stands.
    let new = file.with_extension(format!("draws-{}", std::process::id()));
    fs::write(&new, bytes)?;
    fs::rename(&new, file).inspect_err(|_| {
        let _ = fs::remove_file(&new);
    })
}

/// The keys of some products, by their places in [`Scored::products`].
pub(crate) fn keys(scored: &Scored, which: &[usize], seed: u32) -> Vec<Key> {
    let mut rules = Text(Sha256::new());
    let plugins: Vec<_> = scored.plugins.iter().map(|it| (&it.id, &it.sha256)).collect();
    // What is formatted here is made of numbers, words and lists in their order; a number is written so that it reads back as
    // itself.
    let written = write!(
        rules,
        "{} {:?} {seed} {} {plugins:?} {:?} {:?} {:?}",
        env!("CARGO_PKG_VERSION"),
        program(),
        super::FINDING_DRAWS,
        scored.rubric,
        scored.subsystems,
        scored.spreads,
    );
    debug_assert!(written.is_ok(), "a hash takes all");
    on_all_cores(which, |&at| {
        let product = &scored.products[at];
        let mut text = Text(rules.0.clone());
        let written = write!(text, "{:?} {:?}", product.dossier, product.subsystems);
        debug_assert!(written.is_ok(), "a hash takes all");
        text.0.finalize().into()
    })
}

/// Which build this is: its size and the moment that it was written.
fn program() -> Option<(u64, u128)> {
    let file = fs::metadata(std::env::current_exe().ok()?).ok()?;
    let written = file.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
    Some((file.len(), written.as_nanos()))
}

/// Hashes what is written to it.
struct Text(Sha256);

impl fmt::Write for Text {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.0.update(text.as_bytes());
        Ok(())
    }
}

#[cfg(test)]
mod tests;
