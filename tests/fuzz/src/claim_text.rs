//! What holds of every text as a claim: no panic; what reads is written in one form that reads the same again; a refusal says what is
//! wrong. The fuzz target and the replay of its corpus share this file.

use domain::claim::Claim;

/// Reads one text; bytes that are no UTF-8 never reach the reader of claims.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn holds(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    match Claim::parse(text) {
        Ok(claim) => {
            let written = claim.to_string();
            let read = Claim::parse(&written);
            assert!(read.as_ref() == Ok(&claim), "{text:?} was written as {written:?}: {read:?}");
            assert!(!written.contains(['\n', '\r']), "{written:?}");
        }
        Err(why) => {
            assert!(!why.why.is_empty() && !why.accepted.is_empty(), "{why:?}");
            assert!(why.text.len() <= 320, "{why:?}");
        }
    }
}
