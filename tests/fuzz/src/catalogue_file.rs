//! What holds of every file that is opened as a catalogue: no panic; it is refused with a sentence, or read and written without
//! a fact lost; a file that is refused is left as it was. The fuzz target and the replay of its corpus share this file.
//!
//! The first byte tells how the rest is meant: even, the file itself; odd, changes of a sound catalogue, five bytes each:
//! where (three bytes, from the end where the place is behind it) and which two bytes to put there.

use std::{fs, path::Path, sync::OnceLock};

use catalog::{Catalog, Error, Info, Reader, RubricChange, backup};
use domain::dictionary::Dictionary;

/// Bytes of a change.
const CHANGE: usize = 5;
/// Changes that are made at most.
const MOST: usize = 32;

/// Opens one file; says whether it was taken for a catalogue.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn holds(data: &[u8]) -> bool {
    let [how, rest @ ..] = data else { return false };
    let bytes = if how % 2 == 0 { rest.to_vec() } else { changed(sound(), rest) };
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("a.boxworth");
    fs::write(&path, &bytes).expect("a file");
    let is_read = read(&path);
    let before = fs::read(&path).expect("a file");
    match Catalog::open(&path) {
        Ok(mut it) => {
            let wrote = it.change_rubric(&change("2026-11-30T00:00:00Z"));
            let kept = it.reader().rubric_changes();
            if let (Ok(()), Ok(kept)) = (&wrote, &kept) {
                assert!(
                    kept.iter().any(|it| it.reason == "invented"),
                    "an acknowledged change is gone"
                );
            }
            said(wrote.err());
            said(kept.err());
            drop(it);
            said(backup::back_up(&path, backup::Occasion::Asked, "x").err());
        }
        Err(why) => {
            said(Some(why));
            assert!(
                fs::read(&path).expect("a file") == before,
                "a file that was refused was changed"
            );
        }
    }
    is_read
}

fn read(path: &Path) -> bool {
    let reader = match Reader::open(path) {
        Ok(it) => it,
        Err(why) => {
            said(Some(why));
            return false;
        }
    };
    let dictionary = Dictionary::standard();
    said(reader.info().err());
    said(reader.dossiers(&dictionary).err());
    said(reader.changes_since(0, &dictionary).err());
    said(reader.steps(&dictionary).err());
    said(reader.editions().err());
    said(reader.integrity_faults().err());
    said(reader.lost_rows().err());
    true
}

fn said(why: Option<Error>) {
    if let Some(why) = why {
        assert!(why.to_string().len() > 10, "{why:?}");
    }
}

fn change(at: &str) -> RubricChange {
    RubricChange {
        plugin: None,
        path: "subsystem.cabinet".into(),
        value: Some("30".into()),
        reason: "invented".into(),
        recorded_at: at.into(),
    }
}

/// The bytes of a catalogue with something in it.
fn sound() -> &'static [u8] {
    static BYTES: OnceLock<Vec<u8>> = OnceLock::new();
    BYTES.get_or_init(|| {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.boxworth");
        let info = Info {
            title: "Invented".into(),
            currency: "USD".into(),
            base_month: "2026-06".into(),
            note: String::new(),
        };
        let mut it = Catalog::create(&path, &info).expect("a catalogue");
        for at in ["2026-11-28T00:00:00Z", "2026-11-29T00:00:00Z"] {
            it.change_rubric(&RubricChange { reason: "earlier".into(), ..change(at) })
                .expect("written");
        }
        drop(it);
        fs::read(path).expect("a file")
    })
}

fn changed(sound: &[u8], changes: &[u8]) -> Vec<u8> {
    let mut bytes = sound.to_vec();
    for it in changes.chunks_exact(CHANGE).take(MOST) {
        let place = usize::from(it[0]) << 16 | usize::from(it[1]) << 8 | usize::from(it[2]);
        let place = place % (bytes.len() - 1);
        bytes[place..place + 2].copy_from_slice(&it[3..]);
    }
    bytes
}
