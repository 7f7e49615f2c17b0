//! What holds for the dictionary as a whole.

use std::collections::BTreeSet;

use super::*;

#[test]
fn keys_are_unique_within_a_role() {
    let mut seen = BTreeSet::new();
    for entry in entries() {
        for role in entry.roles {
            assert!(seen.insert((*role, entry.key)), "{}.{} stands twice", role.word(), entry.key);
        }
    }
    assert!(seen.len() > 100, "{} addresses", seen.len());
}

#[test]
fn each_entry_is_complete() {
    for entry in entries() {
        let key = entry.key;
        assert!(
            !entry.roles.is_empty() && !entry.label.is_empty() && !entry.why.is_empty(),
            "{key}"
        );
        assert!(key.matches('.').count() < 2, "{key} could be one of a plugin");
        assert!(
            key.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b"._".contains(&b)),
            "{key}"
        );
        for it in entry.typical {
            assert!(it.low < it.high || it.low.total_cmp(&it.high).is_eq(), "{key}: {it:?}");
            assert!(it.role.is_none_or(|role| entry.roles.contains(&role)), "{key}: {it:?}");
        }
        if let Kind::Number(dimension, unit) | Kind::Numbers(dimension, unit) = entry.kind {
            assert!(
                dimension == Dimension::One || unit == "AWG" || dimension.unit(unit).is_some(),
                "{key}: {unit} is no {}",
                dimension.name()
            );
        }
    }
}
