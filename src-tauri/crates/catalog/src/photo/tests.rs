//! A photo is entered, described anew, taken out and brought back; its file outlasts all of that.

use std::fs;

use domain::{
    Date,
    dictionary::Dictionary,
    key::ProductKey,
    part::{Part, Role},
};
use tempfile::TempDir;

use super::*;
use crate::{Fact, Info, backup};

const AT: &str = "2026-11-20T10:00:00Z";

fn shelf() -> (TempDir, Catalog, ProductKey) {
    let folder = tempfile::tempdir().unwrap();
    let info = Info {
        title: "t".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    let it = Catalog::create(&folder.path().join("a.boxworth"), &info).unwrap();
    it.reader
        .connection
        .execute_batch(
            "INSERT INTO product VALUES (1, 'a/b', 'A', 'B', 'stand-mount', 2, 0, 2024, '');
             INSERT INTO specimen (id, product_id, label, acquired, serial) VALUES (1, 1, 'A', 'retail', '');
             INSERT INTO teardown (id, specimen_id, day, note) VALUES (1, 1, '2026-11-20', '');",
        )
        .unwrap();
    (folder, it, ProductKey::parse("a/b").unwrap())
}

fn photo(sha256: PhotoHash, caption: &str) -> Photo {
    Photo {
        of: PhotoOf::Teardown {
            specimen: "A".into(),
            date: "2026-11-20".parse::<Date>().unwrap(),
            part: Part::first(Role::Woofer),
            key: "basket".into(),
        },
        sha256,
        format: PhotoFormat::Jpeg,
        width: 4000,
        height: 3000,
        bytes: 5,
        caption: caption.into(),
        removed: vec!["location".into(), "camera and lens".into()],
    }
}

#[test]
fn a_photo_reads_back_is_described_anew_taken_out_and_brought_back() {
    let (_folder, mut it, key) = shelf();
    let path = it.reader.path().to_owned();
    let first = photo(files::keep(&path, b"first", PhotoFormat::Jpeg).unwrap(), "");
    assert!(it.record_photo(&key, &first, "", AT).unwrap());
    assert!(!it.record_photo(&key, &first, "", AT).unwrap(), "the same again is no change");
    assert_eq!(it.reader().photos(&key).unwrap(), std::slice::from_ref(&first));
    let named = Photo { caption: "stamped steel".into(), ..first.clone() };
    assert!(it.record_photo(&key, &named, "", AT).unwrap());
    assert_eq!(it.reader().photos(&key).unwrap(), std::slice::from_ref(&named));
    assert!(it.withdraw_photo(&key, &first.sha256, "blurred", AT).unwrap());
    assert!(!it.withdraw_photo(&key, &first.sha256, "", AT).unwrap());
    assert_eq!(it.reader().photos(&key).unwrap(), []);

    let _ = it.undo(AT).unwrap().unwrap();
    assert_eq!(it.reader().photos(&key).unwrap(), std::slice::from_ref(&named));
    let _ = it.undo(AT).unwrap().unwrap();
    assert_eq!(it.reader().photos(&key).unwrap(), std::slice::from_ref(&first));
    let _ = it.redo(AT).unwrap().unwrap();
    assert_eq!(it.reader().photos(&key).unwrap(), std::slice::from_ref(&named));
    let history = it.reader().changes(&key, &Dictionary::standard()).unwrap();
    assert_eq!(history.len(), 6);
    assert_eq!(history[1].changes[0].before, Some(Fact::Photo(first.clone())));
    assert_eq!(history[1].changes[0].after, Some(Fact::Photo(named)));

    // The product as such, and a photo that comes back after it was taken out.
    let _ = it.withdraw_photo(&key, &first.sha256, "", AT).unwrap();
    let of_product = Photo { of: PhotoOf::Product, ..first };
    assert!(it.record_photo(&key, &of_product, "", AT).unwrap());
    assert_eq!(it.reader().photos(&key).unwrap(), std::slice::from_ref(&of_product));
    let second = photo(files::keep(&path, b"second", PhotoFormat::Jpeg).unwrap(), "");
    assert!(it.record_photo(&key, &second, "", AT).unwrap());
    let told = Photo { caption: "front".into(), ..of_product };
    assert!(it.record_photo(&key, &told, "", AT).unwrap());
    assert_eq!(it.reader().photos(&key).unwrap(), [told, second]);
}

#[test]
fn a_photo_of_a_teardown_that_is_not_there_is_refused() {
    let (_folder, mut it, key) = shelf();
    let mut bad = photo(files::hash(b"x"), "");
    bad.of = PhotoOf::Teardown {
        specimen: "Z".into(),
        date: "2026-11-20".parse().unwrap(),
        part: Part::first(Role::Woofer),
        key: String::new(),
    };
    assert!(it.record_photo(&key, &bad, "", AT).is_err());
    assert_eq!(it.reader().photos(&key).unwrap(), []);
}

#[test]
fn a_row_is_neither_changed_nor_deleted_and_names_no_path() {
    let (_folder, mut it, key) = shelf();
    let _ = it.record_photo(&key, &photo(files::hash(b"x"), ""), "", AT).unwrap();
    let sql = &it.reader.connection;
    assert!(sql.execute("UPDATE photo SET caption = 'x'", []).is_err());
    assert!(sql.execute("DELETE FROM photo", []).is_err());
    let path = format!("../{}", "a".repeat(61));
    let bad = "INSERT INTO photo SELECT 9, product_id, teardown_id, part, key, ?1, format, width, height, bytes, caption,
               removed, recorded_at, NULL FROM photo";
    assert!(sql.execute(bad, [path]).is_err());
}

#[test]
fn files_lie_under_their_hash_and_are_held_against_the_rows() {
    let (folder, mut it, key) = shelf();
    let path = it.reader.path().to_owned();
    let keep = |bytes: &[u8]| files::keep(&path, bytes, PhotoFormat::Jpeg).unwrap();
    // FIPS 180-4, the example of one block: the digest of "abc".
    let abc = keep(b"abc");
    assert_eq!(abc.as_str(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    let at = |of: &PhotoHash| files::path(&path, of, PhotoFormat::Jpeg);
    assert_eq!(at(&abc), folder.path().join("a.boxworth.photos").join(format!("{abc}.jpg")));
    for bytes in [&b"abc"[..], b"gone", b"bent"] {
        let of = keep(bytes);
        let _ = it.record_photo(&key, &photo(of, ""), "", AT).unwrap();
    }
    let (gone, bent) = (files::hash(b"gone"), files::hash(b"bent"));
    let audit = |it: &Catalog| files::audit(&path, &it.reader().photo_files().unwrap()).unwrap();
    let sound = audit(&it);
    assert_eq!((sound.files, sound.bytes), (3, 11));
    assert_eq!(files::Audit { files: 3, bytes: 11, ..files::Audit::default() }, sound);

    fs::remove_file(at(&gone)).unwrap();
    fs::write(at(&bent), "other").unwrap();
    let orphan = keep(b"orphan");
    fs::write(folder.path().join("a.boxworth.photos/notes.txt"), "mine").unwrap();
    let found = audit(&it);
    assert_eq!(found.missing, [gone]);
    assert_eq!(found.changed, [at(&bent)]);
    assert_eq!(found.orphans, [at(&orphan)]);
    assert!(matches!(
        files::read(&path, &bent, PhotoFormat::Jpeg),
        Err(Error::ChangedPhoto { .. })
    ));
    // Kept again, it is whole again.
    assert_eq!(keep(b"bent"), bent);
    assert_eq!(audit(&it).changed, Vec::<std::path::PathBuf>::new());
}

#[test]
fn only_what_neither_catalogue_nor_copy_names_is_deleted() {
    let (folder, mut it, key) = shelf();
    let path = it.reader.path().to_owned();
    let out = files::keep(&path, b"out", PhotoFormat::Jpeg).unwrap();
    let _ = it.record_photo(&key, &photo(out.clone(), ""), "", AT).unwrap();
    let _ = it.withdraw_photo(&key, &out, "", AT).unwrap();
    let orphan = files::keep(&path, b"orphan", PhotoFormat::Jpeg).unwrap();
    let named = it.reader().photo_files().unwrap();
    let at = |of: &PhotoHash| files::path(&path, of, PhotoFormat::Jpeg);
    assert_eq!(files::clean(&path, &named, false).unwrap(), [at(&orphan)]);
    assert!(at(&out).exists(), "undo may ask for it");
    // A copy that names a photo keeps its file, whatever became of the catalogue.
    let later = files::keep(&path, b"later", PhotoFormat::Jpeg).unwrap();
    let _ = it.record_photo(&key, &photo(later.clone(), ""), "", AT).unwrap();
    let copy = backup::back_up(&path, backup::Occasion::Asked, "2026-11-20T10-00-00Z").unwrap();
    let before = named;
    assert_eq!(files::clean(&path, &before, false).unwrap(), Vec::<std::path::PathBuf>::new());
    assert!(at(&later).exists());
    fs::remove_file(copy.path).unwrap();
    let now = it.reader().photo_files().unwrap();
    assert_eq!(files::clean(&path, &now, true).unwrap(), [at(&out)]);
    assert!(at(&later).exists() && !at(&out).exists());
    drop(folder);
}
