//! What a category, a count or a yes/no may be instead of what was seen.

use domain::{
    dictionary::Kind,
    finding::{Finding, Value, entry_for},
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
/// more and one less of a count, the other of yes and no. None for anything else, and for what a product is.
pub(super) fn neighbours(finding: &Finding, recorded: &Value) -> Vec<Reading> {
    if WHAT_IT_IS.contains(&(finding.part.role, finding.key.as_str())) {
        return Vec::new();
    }
    match recorded {
        Value::Choice(word) => {
            let Ok(entry) = entry_for(finding.part, &finding.key) else { return Vec::new() };
            let Kind::Choice(words) = entry.kind else { return Vec::new() };
            let Some(place) = words.iter().position(|it| it == word) else { return Vec::new() };
            let near = [place.checked_sub(1), place.checked_add(1)];
            let near = near.into_iter().flatten().filter_map(|it| words.get(it));
            near.map(|it| Reading::Choice(it)).collect()
        }
        Value::Count(n) => {
            let near = [n.checked_sub(1), n.checked_add(1)];
            near.into_iter().flatten().map(Reading::Count).collect()
        }
        Value::Flag(it) => vec![Reading::Flag(!it)],
        _ => Vec::new(),
    }
}

impl Reading {
    /// As a finding's value.
    pub(super) fn value(self) -> Value {
        match self {
            Reading::Choice(it) => Value::Choice(it.to_owned()),
            Reading::Count(it) => Value::Count(it),
            Reading::Flag(it) => Value::Flag(it),
        }
    }
}
