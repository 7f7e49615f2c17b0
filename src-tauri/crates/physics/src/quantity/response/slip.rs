//! What a category, a count or a yes/no may be instead of what was seen.

use domain::{
    dictionary::{Kind, find},
    finding::{Finding, Value},
    part::Role,
};

use crate::quantity::bench::Reading;

/// What a product is, which nobody mistakes who had it open: these do not slip.
const WHAT_IT_IS: &[(Role, &str)] = &[
    (Role::Cabinet, "box_type"),
    (Role::Cabinet, "port_n"),
    (Role::Crossover, "present"),
    (Role::Woofer, "qty"),
    (Role::Midrange, "qty"),
    (Role::Tweeter, "qty"),
];

/// The neighbours of what was recorded, all equally likely: the words before and after a choice in the dictionary, one
/// more and one less of a count, the other of yes and no. None for anything else, for what a product is, and for what
/// nobody declares.
pub(super) fn neighbours(finding: &Finding, recorded: &Value) -> Vec<Value> {
    let Some(entry) = finding.entry() else { return Vec::new() };
    if WHAT_IT_IS.contains(&(finding.part.role, finding.key.as_str())) {
        return Vec::new();
    }
    match (recorded, entry.kind) {
        (Value::Choice(word), Kind::Choice(words)) => {
            let Some(place) = words.position(word) else { return Vec::new() };
            let near = [place.checked_sub(1), place.checked_add(1)];
            let near = near.into_iter().flatten().filter_map(|it| words.get(it));
            near.map(|it| Value::Choice(it.to_owned())).collect()
        }
        (Value::Count(n), _) => {
            let near = [n.checked_sub(1), n.checked_add(1)];
            near.into_iter().flatten().map(Value::Count).collect()
        }
        (Value::Flag(it), _) => vec![Value::Flag(!it)],
        _ => Vec::new(),
    }
}

/// A value of a standard finding as quantities read it.
pub(super) fn reading(finding: &Finding, value: &Value) -> Option<Reading> {
    match value {
        Value::Choice(word) => {
            let Kind::Choice(words) = find(finding.part.role, &finding.key)?.kind else {
                return None;
            };
            words.iter().find(|it| it == word).map(Reading::Choice)
        }
        Value::Count(it) => Some(Reading::Count(*it)),
        Value::Flag(it) => Some(Reading::Flag(*it)),
        Value::Number { .. } | Value::Numbers(_) | Value::Text(_) => None,
    }
}
