//! What holds of every text as the manifest of a plugin: no panic; a refusal says what is wrong; what is accepted has weights
//! and ranges that are numbers. The fuzz target and the replay of its corpus share this file.

use bw_sdk::manifest::Manifest;

/// Reads one text; says whether it is a manifest.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn holds(data: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(data) else { return false };
    match Manifest::parse(text) {
        Ok(it) => {
            assert!(!it.id.is_empty() && !it.criteria.is_empty(), "{it:?}");
            assert!(it.criteria.iter().all(|it| it.weight.is_finite()), "{it:?}");
            true
        }
        Err(why) => {
            assert!(!why.to_string().is_empty(), "{why:?}");
            false
        }
    }
}
