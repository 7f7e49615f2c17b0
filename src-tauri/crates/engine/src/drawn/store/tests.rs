//! What was written is read once and whole, and nothing else is.

use super::*;
use crate::drawn::{Gap, Part, Pull};
use standing::rank::Interval;

fn drawn(points: f64) -> Arc<Drawn> {
    let gap = Gap {
        criterion: Some(2),
        share: 0.25,
        within: Interval::new(10.0, 90.0).unwrap(),
        at: vec![0.5, f64::from_bits(0x3fb9_9999_9999_999a)],
        missing: vec!["woofer.fs".into()],
    };
    let known = vec![points, -0.0, f64::MIN_POSITIVE];
    let parts = vec![Part::Absent, Part::Present { known, gaps: vec![gap] }];
    let pull = Pull { source: "woofer.re".into(), soft: true, by_part: vec![0.0, 1.5] };
    Arc::new(Drawn { parts, pulls: vec![pull] })
}

fn written_in(folder: &Path) -> PathBuf {
    let store = Store::new(folder, Path::new("shelf.boxworth"));
    store.write(vec![([1; HASH], drawn(61.5)), ([2; HASH], drawn(17.0))]);
    store.file.clone()
}

fn read_in(folder: &Path, keys: &[Key]) -> Vec<Option<Arc<Drawn>>> {
    Store::new(folder, Path::new("shelf.boxworth")).read(|| keys.to_vec())
}

#[test]
fn what_was_written_is_read_at_the_next_start_and_once() {
    let folder = tempfile::tempdir().unwrap();
    assert!(read_in(folder.path(), &[[1; HASH]]).is_empty());
    written_in(folder.path());
    let store = Store::new(folder.path(), Path::new("shelf.boxworth"));
    let read = store.read(|| vec![[2; HASH], [3; HASH], [1; HASH]]);
    assert_eq!(read, [Some(drawn(17.0)), None, Some(drawn(61.5))]);
    assert!(store.read(|| vec![[1; HASH]]).is_empty());
    let of_another = Store::new(folder.path(), Path::new("other.boxworth"));
    assert!(of_another.read(|| vec![[1; HASH]]).is_empty());
}

#[test]
fn a_damaged_file_is_as_none_at_each_of_its_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let file = written_in(folder.path());
    let whole = fs::read(&file).unwrap();
    for at in 0..whole.len() {
        let mut bytes = whole.clone();
        bytes[at] ^= 0x10;
        fs::write(&file, &bytes).unwrap();
        assert!(read_in(folder.path(), &[[1; HASH], [2; HASH]]).is_empty(), "byte {at}");
        fs::write(&file, &whole[..at]).unwrap();
        assert!(read_in(folder.path(), &[[1; HASH]]).is_empty(), "cut at {at}");
    }
}

#[test]
fn a_folder_that_cannot_be_written_leaves_nothing_and_breaks_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let taken = folder.path().join("taken");
    fs::write(&taken, "a file where the folder should be").unwrap();
    written_in(&taken);
    assert!(read_in(&taken, &[[1; HASH]]).is_empty());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}
