//! An error as lines on standard error.

use export::harmless;

use crate::Error;

/// The error; for an import, a parts list or a sweep each fault first: `file:line: key: message; accepted: …`.
#[must_use]
pub fn error(error: &Error) -> String {
    let mut text = String::new();
    if let Error::Import { .. } | Error::Parts { .. } | Error::Sweep { .. } = error {
        for it in error.faults() {
            // A fault of the whole has no place.
            let place = if it.r#where.is_empty() { String::new() } else { it.r#where + ": " };
            let accepted = match it.accepted.as_str() {
                "" => String::new(),
                it => format!("; accepted: {it}"),
            };
            text.push_str(&harmless(&format!("{place}{}{accepted}", it.message)));
            text.push('\n');
        }
    }
    text.push_str(&harmless(&format!("boxworth: {error}")));
    text.push('\n');
    text
}
