//! Files that nobody meant to be a catalogue.

use proptest::prelude::*;

use super::*;

/// Reads a folder whose three files hold these bytes; that it comes back at all is the check.
fn survives(catalogue: &[u8], product: &[u8], sweep: &[u8]) -> Result<Folder, Vec<Fault>> {
    let dir = good_folder();
    for (path, bytes) in [("catalogue.toml", catalogue), (PRODUCT, product), (SWEEP, sweep)] {
        fs::write(dir.path().join(path), bytes).unwrap();
    }
    let found = read(&[dir.path().to_owned()], &Dictionary::standard());
    if let Err(faults) = &found {
        assert!(!faults.is_empty() && faults.len() <= MAX_FAULTS);
        assert!(
            faults.iter().all(|it| !it.message.is_empty() && !it.file.is_empty()),
            "{faults:?}"
        );
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn random_bytes_are_refused_without_a_panic(bytes in proptest::collection::vec(any::<u8>(), 1..400)) {
        prop_assert!(survives(&bytes, &bytes, &bytes).is_err());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Pieces of the good file in the wrong places get deeper than random bytes do.
    #[test]
    fn a_mutated_file_never_panics(
        cuts in proptest::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0_u8..5, any::<char>()), 1..4),
    ) {
        let mut text: Vec<char> = GOOD.chars().collect();
        for (a, b, how, c) in cuts {
            let (a, b) = (a.index(text.len()), b.index(text.len()));
            match how {
                0 => text[a] = c,
                1 => text.insert(a, c),
                2 => drop(text.drain(a..(a + 1 + b % 30).min(text.len()))),
                3 => text.swap(a, b),
                _ => {
                    let piece: Vec<char> = text[a..(a + 40).min(text.len())].to_vec();
                    text.splice(b..b, piece);
                }
            }
        }
        let text: String = text.into_iter().collect();
        let sweep: String = sweep();
        if let Ok(found) = survives(CATALOGUE_FILE.as_bytes(), text.as_bytes(), sweep.as_bytes()) {
            prop_assert_eq!(found.dossiers.len(), 1);
        }
    }
}
