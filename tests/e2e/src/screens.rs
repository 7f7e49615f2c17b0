//! The table of screens as the page has it, so that a new screen is tested without being named in a test.

use crate::{Outcome, programs};

/// An invented product of the seed catalogue that was opened and has gaps.
pub const OPENED: &str = "thistlequern/grist-5";

/// A name for pictures and the address of each screen. Those that show a product are given one.
///
/// # Errors
/// When the page's table cannot be read.
pub fn screens() -> Outcome<Vec<(String, String)>> {
    let path = programs::root()?.join("ui/src/lib/screen-ids.ts");
    let source = std::fs::read_to_string(&path)?;
    let (_, rest) = source.split_once("SCREEN_IDS = [").ok_or("the table of screens")?;
    let (list, _) = rest.split_once(']').ok_or("the end of the table of screens")?;
    let ids = list.split(',').map(|it| it.trim().trim_matches('"')).filter(|it| !it.is_empty());
    let mut all: Vec<(String, String)> = ids
        .map(|id| match id {
            "product" => (id.into(), format!("#/product/{OPENED}")),
            _ => (id.into(), format!("#/{id}")),
        })
        .collect();
    // The bench without a product is only the choice of one.
    all.push(("bench-work".into(), format!("#/bench/{OPENED}")));
    Ok(all)
}
