//! What undo and redo would do, said before they do it.

use catalog::{Action, Step};
use domain::dictionary::Dictionary;

use crate::{dto::BenchStep, error::count, history, naming::named};

/// What undo would take back.
pub(super) fn undo(it: Step, dictionary: &Dictionary) -> BenchStep {
    step(it, "Undo", dictionary)
}

/// What redo would do again.
pub(super) fn redo(it: Step, dictionary: &Dictionary) -> BenchStep {
    step(it, "Redo", dictionary)
}

fn step(it: Step, verb: &str, dictionary: &Dictionary) -> BenchStep {
    let changes: Vec<_> = it.changes.iter().map(history::change).collect();
    let product = it.changes.first().map(|it| it.product.clone());
    let is_import = it.action == Action::Import;
    let text = match &changes[..] {
        _ if is_import => format!(
            "The last change is the import of {} with {}; `boxworth undo` takes it back as a whole.",
            it.at,
            count(usize::try_from(it.facts).unwrap_or(usize::MAX), "fact")
        ),
        [] => format!("{verb} {}", count(usize::try_from(it.facts).unwrap_or(usize::MAX), "fact")),
        [first, ..] => {
            let what = named(dictionary, &first.what);
            let now = first.before.as_deref().unwrap_or("nothing");
            let then = first.after.as_deref().unwrap_or("nothing");
            format!("{verb} {what}: {now} becomes {then}")
        }
    };
    BenchStep { action: it.action.word().into(), product, text, changes, allowed: !is_import }
}
