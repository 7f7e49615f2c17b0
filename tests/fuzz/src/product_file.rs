//! What holds of every product file: no panic; a refusal names the file and says what is wrong; what is accepted can be taken
//! into a catalogue, and comes out of it as it went in. The fuzz target and the replay of its corpus share this file.

use std::fs;

use catalog::{Catalog, Info, plain, unwatched};
use domain::dictionary::Dictionary;

/// Reads one file; says whether it is a product.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn holds(data: &[u8]) -> bool {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("b.toml");
    fs::write(&file, data).expect("a file");
    let dictionary = Dictionary::standard();
    let read = match plain::read(&[file], &dictionary, &mut unwatched) {
        Ok(it) => it,
        Err(plain::Unread::Stopped) => panic!("nobody stopped it"),
        Err(plain::Unread::Faulty(faults)) => {
            assert!(!faults.is_empty() && faults.len() <= plain::MAX_FAULTS);
            assert!(
                faults.iter().all(|it| !it.message.is_empty() && !it.file.is_empty()),
                "{faults:?}"
            );
            return false;
        }
    };
    let info = Info {
        title: "Invented".into(),
        currency: "USD".into(),
        base_month: "2026-06".into(),
        note: String::new(),
    };
    let mut it = Catalog::create(&folder.path().join("a.boxworth"), &info).expect("a catalogue");
    it.import(&read.dossiers, None, "2026-11-30T00:00:00Z", false, &mut unwatched)
        .expect("taken in");
    assert_eq!(it.reader().integrity_faults().expect("readable"), [""; 0]);
    let again = it.import(&read.dossiers, None, "2026-11-30T00:00:00Z", false, &mut unwatched);
    let again = again.expect("taken in");
    assert_eq!((again.added, again.corrected), (0, 0), "a second import changed something");
    true
}
