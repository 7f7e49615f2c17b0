//! What holds of every sweep file: no panic, and points that are a sweep or refusals that say what is
//! wrong. The fuzz target and the replay of its corpus share this file.

use domain::sweep::check_points;
use domain::sweep_text::parse;

/// Reads one text; bytes that are no UTF-8 never reach the reader of sweeps.
///
/// # Panics
/// When what must hold does not.
pub(crate) fn holds(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    match parse(text) {
        Ok(sweep) => {
            assert!(check_points(&sweep.points).is_ok(), "{:?}", sweep.points);
            for remark in &sweep.remarks {
                assert!(!remark.text.is_empty());
            }
        }
        Err(faults) => {
            assert!(!faults.is_empty(), "a refusal without a reason");
            let lines = text.lines().count().max(text.split(['\n', '\r']).count());
            for fault in &faults {
                assert!(!fault.message.is_empty(), "{fault:?}");
                let line = fault.line.map_or(1, |it| it as usize);
                assert!((1..=lines.max(1)).contains(&line), "{fault:?} of {lines} lines");
            }
        }
    }
}
